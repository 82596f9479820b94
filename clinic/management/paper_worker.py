"""A worker process of a run of papers: sets Django up once, makes so many papers, says how many it took."""

import os
from datetime import timedelta

MOST = 100  # papers of one worker; then another takes its place, so that memory cannot grow


def work_in_a_process(run_id: int, lease: timedelta, most: int = MOST) -> int:
    """Begin in a process of its own, with no connection to the database but the one that it makes itself."""
    import django

    django.setup()
    from clinic.actions.run_papers import work
    from clinic.models import PaperRun
    from config import clock

    run = PaperRun.objects.select_related("started_by").get(pk=run_id)
    return work(run=run, worker=f"process {os.getpid()}", now=clock.real_now, lease=lease, most=most)
