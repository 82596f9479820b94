"""Django's SQLite engine, with writers who wait for their turn."""
