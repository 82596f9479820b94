"""What the demo costs beside its bare postings, and a statement beside the drawing of its paper alone."""

import statistics
import time
from collections.abc import Callable
from contextlib import ExitStack
from datetime import date
from pathlib import Path
from unittest import mock

import weasyprint
from django.conf import settings
from django.db import connection, transaction
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from clinic.actions import build_demo
from clinic.models import User
from config import render
from ledger.actions import (
    agreements,
    bills,
    carrying,
    charges,
    commitments,
    conditional_gifts,
    donors,
    funds,
    gifts,
    holder,
    limits,
    opening,
    partner_money,
    payouts,
    periods,
    practice,
    spending,
    transfers,
)
from ledger.models import Donor, Entry
from tests.benchmarks import bench

AS_OF = date(2026, 10, 14)
POSTS = (
    (agreements, "agree"), (charges, "post_day"), (donors, "add"), (funds, "open"), (gifts, "receive"),
    (holder, "set_up"), (opening, "balance"), (payouts, "pay_out"), (transfers, "transfer"), (spending, "spend"),
    (practice, "pay"), (partner_money, "pay"), (conditional_gifts, "receive"), (bills, "pay"),
    (periods, "close"), (carrying, "carry"), (limits, "set_ceiling"), (commitments, "free"), (commitments, "commit"),
)  # fmt: skip


def demo() -> list[tuple[str, float, float]]:
    """Live the demo, writing down each call that reached the ledger; then make the same calls in an empty database."""
    calls: list[tuple[Callable, dict]] = []
    with _listening(calls):
        _timed(_live)
    entries = Entry.objects.count()
    ratios = []
    for turn in range(3):
        _begin_anew(f"lived {turn}")
        lived = _timed(_live)
        _begin_anew(f"prepared {turn}")
        ratios.append(lived / _timed(lambda: [call(**said) for call, said in calls]))
        if Entry.objects.count() != entries:
            raise AssertionError("the prepared postings are not those of the demo")
    return [(f"build_demo against its {entries:,} entries from prepared slips", statistics.median(ratios), 2)]


def _begin_anew(name: str) -> None:
    bench.fresh(Path(connection.settings_dict["NAME"]).with_name(f"{name}.sqlite3"))


def _live() -> None:
    build_demo.build(folder=settings.BASE_DIR / "fixtures", as_of=AS_OF)


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    with transaction.atomic(durable=True):
        work()
    return time.perf_counter() - start


def _listening(calls: list[tuple[Callable, dict]]) -> ExitStack:
    """Let each call through and keep what it said."""
    stack = ExitStack()
    for module, name in POSTS:
        call = getattr(module, name)

        def kept(*, _call=call, **said):
            calls.append((_call, said))
            return _call(**said)

        stack.enter_context(mock.patch.object(module, name, kept))
    return stack


def statement() -> list[tuple[str, float, float]]:
    """Ask for the paper of the donor with the most gifts; and let WeasyPrint alone draw the very same page."""
    _timed(_live)
    client = Client()
    client.force_login(User.objects.get(sign_in="greta"), "django.contrib.auth.backends.ModelBackend")
    donor = max(Donor.objects.all(), key=lambda donor: donor.gifts.count())
    address = reverse("clinic:impact_statement_pdf", args=[donor.pk])
    pages: list[str] = []
    with mock.patch.object(render, "render_to_string", lambda *said: pages.append(render_to_string(*said)) or pages[0]):
        paper = client.get(address).content
    if paper != _drawn(pages[0]):
        raise AssertionError("the page drawn alone is not the paper")
    whole, alone = [], []
    for _ in range(9):
        whole.append(bench.undisturbed(lambda: client.get(address)))
        alone.append(bench.undisturbed(lambda: _drawn(pages[0])))
    ratio = statistics.median(whole) / statistics.median(alone)
    return [("one impact statement against WeasyPrint alone", ratio, 1.25)]


def _drawn(page: str) -> bytes:
    """Draw a page with WeasyPrint and nothing of ours but the styles, fonts and files that the paper needs."""
    document = weasyprint.HTML(string=page, base_url="paper:///", url_fetcher=render._own_files())
    return document.write_pdf(
        stylesheets=list(render._styles()), font_config=render._fonts(), pdf_variant="pdf/ua-1", uncompressed_pdf=False
    )
