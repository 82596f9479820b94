"""A process that draws pages with WeasyPrint alone; it imports nothing of Django before it is asked to begin."""

import time
from pathlib import Path


def ready(turn: int) -> None:
    """Be imported and warm, and wait for the others, so that nobody's start is counted."""
    import django

    django.setup()
    from clinic.actions import run_papers  # noqa: F401  what a worker of ours begins with
    from config import render

    render.draw("<html lang='en'><title>warm</title><p>warm</p></html>")
    time.sleep(1)


def draw_all(paths: list[str]) -> None:
    from config import render

    for path in paths:
        render.draw(Path(path).read_text())
