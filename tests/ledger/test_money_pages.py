"""Pages for all other ways in which money comes in, moves and goes out: written by form, refused at the field."""

import pytest
from django.urls import reverse

from ledger.models import Entry, Fund, LeftoverAnswer
from tests.ledger import make
from tests.ledger.make import BRACKEN, oct
from tests.ledger.test_attacks import rows
from tests.ledger.test_pages import as_of, bookkeeper, read, send, text  # noqa: F401  fixtures


def last() -> Entry:
    return Entry.objects.order_by("-id").first()


class TestTransfers:
    def test_a_reserve_is_opened_and_feeds_general_money(self, bookkeeper):  # noqa: F811
        send(bookkeeper, "fund_open", name="Barrowby legacy", kind="reserve", on="2026-10-01")
        reserve = Fund.objects.get(name="Barrowby legacy")
        make.gift(reserve, 500_00, oct(21), "estate")

        sent = {"from_fund_id": reserve.id, "to_fund_id": make.general().id, "amount_minor": "120.00"}
        response = send(bookkeeper, "transfer_record", **sent, on="2026-10-22", words="For the winter.")

        assert response["Location"] == reverse("ledger:entry", args=[last().id])
        page = read(bookkeeper, "fund", reserve.id)
        assert "Transfers from and to other funds \u2212120.00" in page
        assert "For the winter." in page

    def test_restricted_money_is_refused_at_the_field(self, bookkeeper):  # noqa: F811
        leg = Fund.objects.get(kind="animal")
        before = rows()

        sent = {"from_fund_id": leg.id, "to_fund_id": make.general().id, "amount_minor": "1.00", "on": "2026-10-22"}
        response = send(bookkeeper, "transfer_record", **sent)

        assert response.status_code == 422
        assert "cannot go to another purpose" in text(response)
        assert rows() == before


@pytest.fixture
def left(posted):
    """4.80 of a gift is left in Bracken's leg, and 6.00 of a giver who never saw the clause."""
    leg = Fund.objects.get(kind="animal", subject_key=BRACKEN)
    make.gift(leg, 6_00, oct(21), "never saw it", clause_unseen=True)
    return leg


class TestLeftovers:
    def test_from_the_judgment_to_the_answer(self, left, bookkeeper):  # noqa: F811
        page = read(bookkeeper, "leftover", left.id).replace(" .", ".")
        assert "Given under the clause 4.80 Of givers who never saw it 6.00 Left 10.80" in page

        sent = {"to_fund_id": make.general().id, "why": "Bracken was adopted."}
        waited = send(bookkeeper, "leftover", left.id, **sent)
        send(bookkeeper, "leftover", left.id, **sent, last_bill="on")

        assert "Wait for the last bill" in text(waited)
        assert "Somebody unknown October 21, 2026 none yet 6.00" in read(bookkeeper, "leftover", left.id)
        gift = Fund.objects.get(id=left.id).inflows.get(gift__clause_unseen=True).gift
        refused = send(bookkeeper, "leftover_answer", left.id, gift.id, answer="refund", why="By letter.")
        assert "Nobody knows who gave this" in text(refused)
        send(bookkeeper, "leftover_answer", left.id, gift.id, answer="move", why="She called on October 30.")
        assert LeftoverAnswer.objects.get().answer == "move"
        assert "Nothing is left of this fund." in read(bookkeeper, "leftover", left.id)
        assert "No giver has to be asked." in read(bookkeeper, "leftovers")

    def test_a_fund_that_nobody_restricted_has_no_such_page(self, left, bookkeeper):  # noqa: F811
        assert bookkeeper.get(reverse("ledger:leftover", args=[make.general().id])).status_code == 404
