"""One day of care worked to the cent, a correction a week later, and a gift returned after it was spent.

Worked by hand. Before: General 200.00, Brindle Yard fund 1.00; donated bandage 10.00; gift G of 30.00 (fee 1.20) for
Bracken's leg; check H of 50.00 for dressings. The agreement pays 40 % of what gifts naming the animal leave over.

    October 13          cost   usual   asked   leg     agreed  wound  partner  general  given   goods
    boarding            21.40  42.00   24.00   24.00                                    18.00
    padded dressing      9.85  26.00    9.56    4.80    1.90    2.86                    14.44    2.00
    tablets x 2          3.20  10.00    4.00            1.60           1.00     1.40     6.00

October 20: it was one tablet. October 25: gift G is charged back; the bank has taken 30.00.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.db.models import Sum

from ledger import posting
from ledger.actions import agreements, charges, donors, returns
from ledger.audit import audit
from ledger.formulas.money import to_minor
from ledger.models import Entry, FundDay, Gift, Inflow, Posting, Share, Use
from ledger.queries import donor_choices
from ledger.queries import donors as donor_list
from ledger.queries.donor_trace import donor_trace
from ledger.queries.sharing import preview
from tests.ledger import make
from tests.ledger.make import BRACKEN, BRINDLE_YARD, oct

pytestmark = pytest.mark.django_db


def donor(name: str) -> int:
    return donors.add(key=make.key(name), name=f"Donor {name}", on=oct(1), by=make.BOOKKEEPER).id


@pytest.fixture
def before():
    make.books()
    make.opened(make.general(), 200_00)
    yard = make.fund("Brindle Yard fund", "partner", party_key=BRINDLE_YARD)
    make.opened(yard, 1_00)
    make.bandage(10_00)
    leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
    make.gift(leg, 30_00, oct(2), "G", fee_minor=1_20, way="giving_site", donor_id=donor("G"))
    make.paid_out({leg.id: 28_80}, oct(5))
    wound = make.fund("Wound fund", "purpose", purpose={"dressing"})
    make.gift(wound, 50_00, oct(6), "H", donor_id=donor("H"))
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


@pytest.fixture
def charged_back(corrected):
    return returned()


def returned(name: str = "G is charged back", **facts):
    defaults = {"how": "chargeback", "by": make.BOOKKEEPER, "today": oct(25), "at": make.at(oct(25)), "why": "the bank"}
    return returns.give_back(key=make.key(name), gift_id=gift_of(30_00).id, **{**defaults, **facts})


def gift_of(amount_minor: int) -> Gift:
    return Gift.objects.get(amount_minor=amount_minor, way__in=("bank", "giving_site"))


def test_a_returned_gift_is_one_entry_money_in_before_money_out(charged_back):
    """E3."""
    assert make.legs(charged_back.entry_id) == [
        ("due_to_practice", "boarding", 24_00, "Bracken's leg"),
        ("due_to_practice", "supplies", 4_80, "Bracken's leg"),
        ("clearing", "fees", 1_20, "Bracken's leg"),
        ("gifts", "bank", 30_00, "Bracken's leg"),
        ("fees", "clearing", 1_20, "General"),
        ("due_from_partners", "partner_payments", 9_60, "Brindle Yard agreement"),
        ("boarding", "due_to_practice", 9_60, "Brindle Yard agreement"),
        ("boarding", "due_to_practice", 14_40, "General"),
        ("due_from_partners", "partner_payments", 1_92, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 1_92, "Brindle Yard agreement"),
        ("supplies", "due_to_practice", 2_88, "Wound fund"),
    ]
    assert Entry.objects.get(id=charged_back.entry_id).on == oct(25)
    assert audit().findings == ()


def test_a_returned_gift_leaves_the_balances_as_worked(charged_back):
    assert make.by_name() == {
        "General": 184_20,
        "Brindle Yard fund": 0,
        "Bracken's leg": 0,
        "Wound fund": 44_26,
        "Brindle Yard agreement": 0,
        "Given by the clinic": 0,
        "Donated goods": 8_00,
    }
    accounts = ("bank", "clearing", "due_from_partners", "due_to_practice", "boarding", "supplies", "fees")
    assert {code: make.account(code) for code in accounts} == {
        "bank": 249_80,
        "clearing": 0,
        "due_from_partners": 14_22,
        "due_to_practice": -35_56,
        "boarding": 42_00,
        "supplies": 31_00,
        "fees": 1_20,
    }


def test_the_fund_of_a_returned_gift_is_never_below_zero(charged_back):
    days = FundDay.objects.filter(fund__name="Bracken's leg").values_list("closing_minor", flat=True)

    assert min(days) == 0


def test_the_papers_of_october(charged_back):
    """H's donor: given 50.00, for Bracken's dressing 5.74, waiting 44.26. G's gift: nothing is paid by it any more."""
    h, g = (donor_trace(donor_id=gift_of(minor).donor_id, from_on=oct(1), to_on=oct(31)) for minor in (5000, 3000))

    assert (h.given_minor, h.waiting_minor) == (50_00, 44_26)
    assert [(line.words, line.care_on, line.amount_minor) for line in h.paid] == [("Padded dressing", oct(13), 5_74)]
    assert (g.gifts, g.given_minor, g.paid, g.fees_minor, g.waiting, g.adds_up) == ((), 0, (), 0, (), True)


def test_a_donors_total_is_what_stayed(charged_back):
    """G's gift went back: nothing was given, on the list of donors and on that of papers."""
    g = gift_of(30_00).donor_id
    assert donor_list.donor(donor_id=g).given_minor == 0
    on_paper = donor_choices.donor_choice(donor_id=g, from_on=oct(1), to_on=oct(31))
    assert (on_paper.gifts, on_paper.given_minor) == (0, 0)


def test_what_a_partner_is_asked_for_october(charged_back):
    shares = Share.objects.filter(charge__party_key=BRINDLE_YARD)
    asked = {
        label: sum(share.amount_minor for share in shares if share.fund and share.fund.name == label)
        for label in ("Brindle Yard agreement", "Brindle Yard fund")
    }

    assert sum(share.amount_minor for share in shares) == 35_56
    assert asked == {"Brindle Yard agreement": 14_22, "Brindle Yard fund": 1_00}


def test_a_partner_is_not_billed_for_a_month_whose_statement_is_issued(corrected):
    """E3: the agreement's parts go on to the next payer."""
    agreements.bill_month(party_key=BRINDLE_YARD, month=oct(1), on=oct(24), by=make.BOOKKEEPER)

    entry = make.legs(returned().entry_id)

    assert [leg for leg in entry if leg[3] == "Brindle Yard agreement"] == []
    assert ("boarding", "due_to_practice", 24_00, "General") in entry
    assert ("supplies", "due_to_practice", 4_80, "Wound fund") in entry
    assert audit().findings == ()


def test_an_agreement_pays_no_part_of_what_comes_free_behind_it(corrected):
    """H's 50.00 for dressings goes back: the agreement has paid its 40 % of what the leg's gifts left over already."""
    before = Share.objects.filter(payer="agreement").aggregate(total=Sum("amount_minor"))

    made = returns.give_back(
        key=make.key("H goes back"),
        gift_id=gift_of(50_00).id,
        how="refund",
        by=1,
        today=oct(25),
        at=make.at(oct(25)),
        why="-",
    )

    assert Share.objects.filter(payer="agreement").aggregate(total=Sum("amount_minor")) == before
    assert ("supplies", "due_to_practice", 2_86, "General") in make.legs(made.entry_id)
    assert audit().findings == ()


def test_a_second_return_of_the_same_gift_is_refused(charged_back):
    before = Entry.objects.count()

    with pytest.raises(returns.ReturnTooLarge, match="More would go back than is left of this gift"):
        returned("again")

    assert Entry.objects.count() == before


def test_a_return_is_not_itself_reversed(charged_back):
    with pytest.raises(posting.ReversalReversed, match="gives something back and is not itself reversed"):
        posting.reverse(entry=charged_back.entry, key=make.key("undo"), on=oct(26), by=1, at=make.at(oct(26)), why="no")
    assert audit().findings == ()


def test_the_same_form_sent_twice_returns_once(charged_back):
    assert returned().entry_id == charged_back.entry_id


def test_a_part_of_a_gift_goes_back_from_its_latest_use(corrected):
    """10.00 of 30.00: the dressing's 4.80 and 5.20 of the boarding are shared again; the fee stays with the gift."""
    made = returned("a part", amount_minor=10_00, how="refund")

    assert make.legs(made.entry_id)[:3] == [
        ("due_to_practice", "boarding", 5_20, "Bracken's leg"),
        ("due_to_practice", "supplies", 4_80, "Bracken's leg"),
        ("gifts", "bank", 10_00, "Bracken's leg"),
    ]
    assert make.account("fees") == 1_20
    assert make.by_name()["Bracken's leg"] == 0
    assert audit().findings == ()
    rest = returned("the rest", how="refund")
    assert rest.amount_minor == 20_00
    assert make.by_name()["General"] == 184_20
    assert audit().findings == ()


def test_a_gift_typed_wrong_leaves_to_where_it_came_from_and_its_fee_never_was(corrected):
    made = returned("typed", how="mistyped")

    assert ("gifts", "clearing", 30_00, "Bracken's leg") in make.legs(made.entry_id)
    assert make.account("fees") == 0
    assert make.account("clearing") == -28_80
    assert audit().findings == ()


def test_what_finds_no_payer_is_care_nobody_has_paid(before):
    """E3: the refund is always recorded, since the bank has taken the money."""
    posted = charges.post_day(
        slips=[
            make.slip(
                "alone", subject_key="z" * 32, party_key="", care_on=oct(13), asked_minor=200_00, usual_minor=200_00
            )
        ],
        by=make.MANAGER,
        today=oct(14),
        at=make.at(oct(14)),
    )
    assert posted.nobody_minor == 0
    opening = make.gift(make.general(), 40_00, oct(14), "late")
    charges.post_day(
        slips=[make.slip("more", subject_key="z" * 32, care_on=oct(14), asked_minor=40_00, usual_minor=40_00)],
        by=make.MANAGER,
        today=oct(14),
        at=make.at(oct(14)),
    )

    made = returns.give_back(
        key=make.key("unpaid"),
        gift_id=opening.id,
        how="chargeback",
        by=1,
        today=oct(25),
        at=make.at(oct(25)),
        why="bank",
    )

    nobody = Share.objects.filter(entry=made.entry_id, payer="nobody")
    assert [share.amount_minor for share in nobody] == [40_00]
    assert make.by_name()["General"] == 0
    assert audit().findings == ()
