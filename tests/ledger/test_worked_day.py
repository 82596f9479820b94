"""One day of care worked to the cent, and a correction a week later.

Worked by hand. Before: General 200.00, Brindle Yard fund 1.00; donated bandage 10.00; gift G of 30.00 (fee 1.20) for
Bracken's leg; check H of 50.00 for dressings. The agreement pays 40 % of what gifts naming the animal leave over.

    October 13          cost   usual   asked   leg     agreed  wound  partner  general  given   goods
    boarding            21.40  42.00   24.00   24.00                                    18.00
    padded dressing      9.85  26.00    9.56    4.80    1.90    2.86                    14.44    2.00
    tablets x 2          3.20  10.00    4.00            1.60           1.00     1.40     6.00
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from ledger.actions import charges
from ledger.audit import audit
from ledger.formulas.money import to_minor
from ledger.models import Inflow, Posting, Share, Use
from ledger.queries.sharing import preview
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct

pytestmark = pytest.mark.django_db


@pytest.fixture
def before():
    make.books()
    make.opened(make.general(), 200_00)
    yard = make.fund("Brindle Yard fund", "partner", party_key=BRINDLE_YARD)
    make.opened(yard, 1_00)
    make.bandage(10_00)
    leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
    make.gift(leg, 30_00, oct(2), "G", fee_minor=1_20, way="giving_site")
    make.paid_out({leg.id: 28_80}, oct(5))
    wound = make.fund("Wound fund", "purpose", purpose={"dressing"})
    make.gift(wound, 50_00, oct(6), "H")
    make.agreed(40)


def sheet():
    shared = {"party_key": BRINDLE_YARD, "care_on": oct(13)}
    asked = to_minor(12 * Fraction(985 - 200, 985), "USD")
    return [
        make.slip("boarding", traits=frozenset({"boarding", "species:dog"}), **shared),
        make.slip(
            "dressing",
            kind="supplies",
            traits=frozenset({"dressing", "species:dog"}),
            words="Padded dressing",
            unit="each",
            cost_minor=9_85,
            usual_minor=26_00,
            asked_minor=asked,
            goods_minor=2_00,
            **shared,
        ),
        make.slip(
            "tablets",
            kind="supplies",
            traits=frozenset({"medication", "species:dog"}),
            words="Tablets",
            quantity=Decimal(2),
            unit="tablet",
            cost_minor=3_20,
            usual_minor=10_00,
            asked_minor=4_00,
            **shared,
        ),
    ]


@pytest.fixture
def signed(before):
    return charges.post_day(slips=sheet(), by=make.MANAGER, today=oct(14), at=make.at(oct(14)))


def test_asks_for_nothing_that_nobody_paid():
    assert [slip.asked_minor for slip in sheet()] == [24_00, 9_56, 4_00]


def test_posts_every_line_as_worked(signed):
    boarding, dressing, tablets = (make.legs(number) for number in signed.entry_numbers)

    assert boarding == [
        ("boarding", "due_to_practice", 24_00, "Bracken's leg"),
        ("boarding", "donated_services", 18_00, "Given by the clinic"),
    ]
    assert dressing == [
        ("supplies", "due_to_practice", 4_80, "Bracken's leg"),
        ("due_from_partners", "partner_payments", 1_90, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 1_90, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 2_86, "Wound fund"),
        ("supplies", "donated_services", 14_44, "Given by the clinic"),
        ("supplies", "goods_on_hand", 2_00, "Donated goods"),
    ]
    assert tablets == [
        ("due_from_partners", "partner_payments", 1_60, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 1_60, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 1_00, "Brindle Yard fund"),
        ("supplies", "due_to_practice", 1_40, "General"),
        ("supplies", "donated_services", 6_00, "Given by the clinic"),
    ]
    assert [line.on for line in signed.lines] == [oct(13)] * 3


def test_uses_the_gifts_as_worked(signed):
    used = {}
    for use in Use.objects.filter(inflow__gift__isnull=False).select_related("inflow"):
        used.setdefault(use.inflow.amount_minor, []).append(use.amount_minor)

    assert used == {30_00: [1_20, 24_00, 4_80], 50_00: [2_86], 10_00: [2_00]}


def test_leaves_the_balances_as_worked(signed):
    assert make.by_name() == {
        "General": 198_60,
        "Brindle Yard fund": 0,
        "Bracken's leg": 0,
        "Wound fund": 47_14,
        "Brindle Yard agreement": 0,
        "Given by the clinic": 0,
        "Donated goods": 8_00,
    }
    assert make.account("due_to_practice") == -37_56
    assert make.account("due_from_partners") == 3_50
    assert make.account("clearing") == 0
    assert audit().findings == ()


def test_each_line_spends_its_usual_fee(signed):
    spent = [
        sum(leg.amount_minor for leg in Posting.objects.filter(entry=number, debit__kind="expense"))
        for number in signed.entry_numbers
    ]

    assert spent == [42_00, 26_00, 10_00]


def test_preview_says_what_signing_off_posts(before):
    shown = preview(slips=sheet(), today=oct(14))
    day = charges.post_day(slips=sheet(), by=make.MANAGER, today=oct(14), at=make.at(oct(14)))

    kept = [
        [
            (share.payer, share.fund_id, share.amount_minor)
            for share in Share.objects.filter(entry=number).order_by("id")
        ]
        for number in day.entry_numbers
    ]
    assert [[(s.payer, s.fund_id, s.amount_minor) for s in line.shares] for line in shown] == kept
    assert [line.on for line in shown] == [line.on for line in day.lines]


@pytest.fixture
def corrected(signed):
    wrong = signed.lines[2]
    one = make.slip(
        "one tablet",
        kind="supplies",
        traits=frozenset({"medication", "species:dog"}),
        party_key=BRINDLE_YARD,
        care_on=oct(13),
        words="Tablets",
        quantity=Decimal(1),
        unit="tablet",
        cost_minor=1_60,
        usual_minor=5_00,
        asked_minor=2_00,
    )
    return charges.correct(
        key=make.key("it was one"),
        charge_id=wrong.charge_id,
        slip=one,
        by=make.MANAGER,
        today=oct(20),
        at=make.at(oct(20)),
        why="It was one tablet, not two.",
    )


def test_a_correction_is_a_reversal_and_a_new_line(corrected):
    assert make.legs(corrected.reversal.id) == [
        ("due_to_practice", "supplies", 1_60, "Brindle Yard agreement"),
        ("due_to_practice", "supplies", 1_00, "Brindle Yard fund"),
        ("due_to_practice", "supplies", 1_40, "General"),
        ("donated_services", "supplies", 6_00, "Given by the clinic"),
        ("partner_payments", "due_from_partners", 1_60, "Brindle Yard agreement"),
    ]
    assert make.legs(corrected.line.entry_number) == [
        ("due_from_partners", "partner_payments", 80, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 80, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 1_00, "Brindle Yard fund"),
        ("supplies", "due_to_practice", 20, "General"),
        ("supplies", "donated_services", 3_00, "Given by the clinic"),
    ]
    assert (corrected.reversal.on, corrected.line.on) == (oct(20), oct(20))


def test_a_correction_leaves_the_balances_as_worked(corrected):
    assert make.by_name()["General"] == 199_80
    assert make.by_name()["Brindle Yard fund"] == 0
    assert make.account("due_to_practice") == -35_56
    assert make.account("due_from_partners") == 2_70
    assert Inflow.objects.get(fund__name="General").left_minor == 199_80
    assert audit().findings == ()
