"""Backups: a folder each, with the books, the media files and a manifest; checked before it counts."""
