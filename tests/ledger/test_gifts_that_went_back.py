"""What a gift file says went back: found at its gift, shown, recorded once, in whichever order its rows stand (E3)."""

import pytest
from django.db.models import Sum

from ledger.audit import audit
from ledger.formulas import gift_files as formulas
from ledger.formulas import typed_cells
from ledger.models import Gift, GiftReturn, Inflow, Use
from tests.ledger import gift_lists, make
from tests.ledger.gift_lists import brought, record, seen, written

pytestmark = pytest.mark.django_db

HEADS = ["Date", "Donor", "Gross", "Fee", "Net", "Reference", "Refund of", "Comment", "Type", "Frequency"]
GIFT = ["2026-10-02", "Magda Illesz", "15.00", "0.74", "14.26", "G-2", "", "for the wound fund", "gift", "monthly"]
OTHER = ["2026-10-03", "Orsolya Penhallow", "40.00", "1.46", "38.54", "G-1", "", "", "gift", "one-off"]
WHOLE = ["2026-10-09", "Magda Illesz", "-15.00", "", "", "R-1", "G-2", "", "gift", ""]
TAKEN = ["2026-10-12", "Orsolya Penhallow", "-40.00", "20.00", "-60.00", "G-1", "", "", "Chargeback", ""]


@pytest.fixture
def books(settings, tmp_path):
    return gift_lists.books(settings, tmp_path)


def sentences(file) -> list[tuple[int, str]]:
    return [(one.line, one.sentence) for one in seen(file).wrong]


@pytest.mark.parametrize("rows", [[GIFT, OTHER, WHOLE, TAKEN], [TAKEN, WHOLE, OTHER, GIFT]])
def test_gifts_and_what_went_back_of_them_in_either_order(books, rows):
    file = brought(books, written(HEADS, rows))
    found = seen(file)

    assert (len(found.gifts), found.gross_minor, found.back_minor, found.fee_minor) == (2, 55_00, 55_00, 22_20)
    assert sorted((one.row.back, one.donor_name, one.fund_name) for one in found.back) == [
        ("chargeback", "Orsolya Penhallow", "General"),
        ("refund", "Magda Illesz", "Wound fund"),
    ]
    record(file)
    again = seen(brought(books, written(HEADS, rows)))

    assert (again.new, again.known, again.wrong) == ((), 4, ())
    assert sorted(GiftReturn.objects.values_list("how", "amount_minor")) == [("chargeback", 40_00), ("refund", 15_00)]
    # Both gifts are gone; their fees and what the site asked for the charge back are general money's.
    assert make.by_name()["Wound fund"] == 0
    assert make.by_name()["General"] == -(74 + 1_46 + 20_00)
    assert make.account("clearing") == found.net_minor
    assert audit().findings == ()


def test_a_series_is_kept_with_the_gift(books):
    file = brought(books, written(HEADS, [GIFT, OTHER]))
    record(file)

    assert dict(Gift.objects.values_list("amount_minor", "is_recurring")) == {15_00: True, 40_00: None}
    assert audit().findings == ()


def test_a_part_goes_back_and_never_more_than_is_left(books):
    part = ["2026-10-09", "", "-5.00", "", "", "R-1", "G-2", "", "", ""]
    more = ["2026-10-10", "", "-10.01", "", "", "R-2", "G-2", "", "", ""]
    rest = ["2026-10-11", "", "-10.00", "", "", "R-3", "G-2", "", "", ""]
    gone = ["2026-10-12", "", "-1.00", "", "", "R-4", "G-2", "", "", ""]
    file = brought(books, written(HEADS, [GIFT, part, more, rest, gone]))

    assert sentences(file) == [
        (4, "It says that 10.01 of the gift G-2 went back, of which 10.00 is left."),
        (6, "It says that the gift G-2 went back, and nothing is left of that gift."),
    ]
    record(file)
    assert sorted(GiftReturn.objects.values_list("amount_minor", flat=True)) == [5_00, 10_00]
    assert sentences(file) == [
        (4, "It says that the gift G-2 went back, and nothing is left of that gift."),
        (6, "It says that the gift G-2 went back, and nothing is left of that gift."),
    ]
    assert audit().findings == ()


def test_what_went_back_of_no_gift_says_so(books):
    nobody = ["2026-10-09", "Magda Illesz", "-5.00", "", "", "R-1", "G-9", "", "", ""]
    nameless = ["2026-10-09", "Magda Illesz", "-5.00", "", "", "", "", "", "", ""]
    ahead = ["2026-11-09", "Magda Illesz", "-5.00", "", "", "R-2", "G-2", "", "", ""]
    doubtful = ["2026-10-09", "Magda Illesz", "-5.00", "0.20", "", "R-3", "G-2", "", "", ""]
    file = brought(books, written(HEADS, [GIFT, nobody, nameless, ahead, doubtful]))

    assert sentences(file) == [
        (3, "It says that the gift G-9 went back, and no gift from here has this reference."),
        (4, "It says that a gift went back and names none: record it at that gift."),
        (5, "Its day has not come yet."),
        (6, "It went back with a fee, and no net amount says whether the site asked it or gave it back."),
    ]
    record(file)
    assert not GiftReturn.objects.exists()


@pytest.mark.parametrize(("fee", "net", "borne"), [("-0.74", "-14.26", 0), ("-0.50", "-14.50", 24)])
def test_what_a_site_gives_back_of_its_fee_is_paid_by_nobody(books, fee, net, borne):
    """Another donor's general gift pays what the site keeps of the fee, and nothing of what it gave back."""
    whole = ["2026-10-09", "Magda Illesz", "-15.00", fee, net, "R-1", "G-2", "", "", ""]
    others = [*OTHER[:3], "", "40.00", *OTHER[5:]]
    file = brought(books, written(HEADS, [others, GIFT, whole]))
    record(file)

    assert seen(file).wrong == ()
    assert (make.by_name()["General"], make.by_name()["Wound fund"]) == (40_00 - borne, 0)
    assert (make.account("clearing"), make.account("fees")) == (40_00 - borne, borne)
    spent = Use.objects.filter(inflow__gift__amount_minor=40_00).aggregate(total=Sum("amount_minor"))["total"] or 0
    assert spent == borne
    assert not Inflow.objects.filter(gift=None).exists()
    assert audit().findings == ()


def test_the_words_of_a_source_say_what_a_refund_is(books):
    said = [*GIFT[:5], "G-2", "", "", "gift", ""]
    back = ["2026-10-09", "", "15.00", "", "", "G-2", "", "", "Storno", ""]
    file = brought(books, written(HEADS, [said, back]), back_words={"refund": ["storno"]})

    assert [(one.row.back, one.row.gross_minor) for one in seen(file).rows] == [("", 15_00), ("refund", 15_00)]


def test_the_fee_of_a_return_is_told_by_its_net_amount():
    def fee(*cells: str) -> int:
        columns = {"on": 0, "gross": 1, "fee": 2, "net": 3, "kind": 4}
        reading = typed_cells.Reading(decimal=".", day_first=None)
        row = ["2026-10-09", *cells, "refund"]
        return formulas.gift_row(line=2, cells=row, columns=columns, reading=reading, digits=2).fee_minor

    # As columns of gross, fee and net are usually signed (common practice): net = gross less fee.
    assert fee("-15.00", "0.74", "-15.74") == 74
    assert fee("-15.00", "-0.74", "-14.26") == -74
    assert fee("15.00", "0.74", "14.26") == -74  # written as the gift was
    assert fee("-15.00", "", "-15.00") == 0
    with pytest.raises(typed_cells.CannotStand, match="do not make the net amount"):
        fee("-15.00", "0.74", "-15.00")
