"""A process that draws pages with WeasyPrint alone; it imports nothing of Django before it is asked to begin."""

import time
from datetime import timedelta
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


def beside(run_id: int, lease: timedelta, pages: list[str]) -> tuple[float, float, int]:
    """Make papers as a worker does, then draw their very pages alone; return both times, and the memory in pages."""
    from clinic.management import paper_worker

    start = time.perf_counter()
    paper_worker.work_in_a_process(run_id, lease, len(pages))
    between = time.perf_counter()
    draw_all(pages)
    memory = int(Path("/proc/self/statm").read_text().split()[1])
    return between - start, time.perf_counter() - between, memory
