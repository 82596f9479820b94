"""What holds a payer back: limits, the ceiling of general money, money set aside; and decisions that stand."""

import pytest

from ledger.actions import charges, commitments, limits, policies, returns, standing_decisions, unpaid_care
from ledger.audit import audit
from ledger.models import Commitment, Fund, LimitUse, Share, StandingDecision
from ledger.queries import fund_limits
from ledger.queries.sharing import preview
from tests.ledger import make
from tests.ledger.make import BALLAST, BRACKEN, BRINDLE_YARD, oct

pytestmark = pytest.mark.django_db
PATH = "c" * 32


@pytest.fixture
def books():
    make.books()
    make.opened(make.general(), 500_00)


def care(name: str, asked_minor: int, day: int = 13, **facts):
    facts.setdefault("party_key", BRINDLE_YARD)
    facts.setdefault("traits", frozenset({"dressing"}))
    return make.slip(name, asked_minor=asked_minor, usual_minor=asked_minor, cost_minor=0, care_on=oct(day), **facts)


def post(*slips, today: int = 14):
    return charges.post_day(slips=list(slips), by=make.MANAGER, today=oct(today), at=make.at(oct(today)))


def paid(posted):
    """Each line's shares as (payer's name or nobody, amount, reason)."""
    return [
        [
            (share.fund.name if share.fund else "nobody", share.amount_minor, share.reason)
            for share in Share.objects.filter(entry=line.entry_number).select_related("fund").order_by("id")
        ]
        for line in posted.lines
    ]


def wound_fund(amount_minor: int = 300_00) -> Fund:
    fund = make.fund("Wound fund", "purpose", purpose={"dressing"})
    make.gift(fund, amount_minor, oct(2))
    return fund


def limited(fund: Fund, per: str, most_minor: int, **facts):
    return limits.limit(
        key=make.key(f"{fund.name} {per} {most_minor}"),
        fund_id=fund.id,
        per=per,
        most_minor=most_minor,
        by=make.MANAGER,
        **{"from_on": oct(1), **facts},
    )


def test_a_fund_pays_at_most_its_limit_per_animal(books):
    """D2."""
    limited(wound_fund(), "animal", 40_00)

    posted = post(care("one", 30_00), care("two", 30_00), care("other animal", 30_00, subject_key=BALLAST))

    assert paid(posted) == [
        [("Wound fund", 30_00, "purpose_fits")],
        [("Wound fund", 10_00, "purpose_fits+limit_animal"), ("General", 20_00, "general_money")],
        [("Wound fund", 30_00, "purpose_fits")],
    ]
    assert audit().findings == ()


def test_a_preview_says_which_limit_is_reached(books):
    limited(wound_fund(), "animal", 40_00)
    shown = preview(slips=[care("one", 40_00), care("two", 30_00)], today=oct(14))

    assert shown[1].notes == ("its limit for this animal is reached",)
    assert shown[0].shares[0].reason == "purpose fits; its limit for this animal is reached"


def test_months_count_by_day_of_care(books):
    """D2: September's care, signed in October, leaves October's limit whole."""
    limited(wound_fund(), "month", 40_00, from_on=oct(1).replace(month=9))

    posted = post(
        make.slip(
            "september",
            asked_minor=40_00,
            usual_minor=40_00,
            cost_minor=0,
            traits=frozenset({"dressing"}),
            care_on=oct(30).replace(month=9),
        ),
        care("october", 40_00),
    )

    assert paid(posted) == [[("Wound fund", 40_00, "purpose_fits+limit_month")]] * 2
    assert {row.key[-7:]: row.used_minor for row in LimitUse.objects.all()} == {"2026-09": 40_00, "2026-10": 40_00}


def test_what_was_paid_before_a_limit_counts(books):
    fund = wound_fund()
    post(care("before", 30_00))
    limited(fund, "animal", 40_00)

    posted = post(care("after", 30_00))

    assert paid(posted)[0][0] == ("Wound fund", 10_00, "purpose_fits+limit_animal")
    assert audit().findings == ()


def test_a_limit_below_what_is_paid_takes_nothing_more(books):
    fund = wound_fund()
    post(care("before", 30_00))
    limited(fund, "animal", 20_00)

    assert paid(post(care("after", 10_00))) == [[("General", 10_00, "general_money")]]
    assert audit().findings == ()


def test_a_reversed_line_frees_its_limit(books):
    limited(wound_fund(), "animal", 40_00)
    line = post(care("one", 40_00)).lines[0]

    charges.correct(
        key=make.key("wrong"), charge_id=line.charge_id, slip=None, by=1, today=oct(15), at=make.at(oct(15)), why="no"
    )

    assert LimitUse.objects.get().used_minor == 0
    assert paid(post(care("two", 40_00), today=15))[0][0][:2] == ("Wound fund", 40_00)
    assert audit().findings == ()


def test_an_agreement_has_limits_too(books):
    """F1: 50 % of 100.00 would be 50.00; 30.00 are left this month."""
    agreement = make.agreed(50)
    limited(agreement.fund, "month", 30_00)

    assert paid(post(care("one", 100_00))) == [
        [("Brindle Yard agreement", 30_00, "agreement+limit_month"), ("General", 70_00, "general_money")]
    ]
    assert audit().findings == ()


def test_a_limit_shows_what_was_used_before_it(books):
    fund = wound_fund()
    post(care("before", 30_00), care("other animal", 12_00, subject_key=BALLAST))
    for per in ("animal", "month"):
        limited(fund, per, 40_00)

    lines = fund_limits.fund_limits(fund_id=fund.id, today=oct(14)).lines

    assert {line.per_words: line.used_minor for line in lines} == {"per animal": 30_00, "per month": 42_00}


def test_two_limits_of_a_kind_never_stand_at_once(books):
    fund = wound_fund()
    first = limited(fund, "animal", 40_00)
    with pytest.raises(limits.LimitStandsAlready, match="There is a limit of this kind in these days already"):
        limited(fund, "animal", 50_00, from_on=oct(10))

    limits.end(limit_id=first.id, until_on=oct(12))
    limited(fund, "animal", 50_00, from_on=oct(13))
    assert paid(post(care("one", 60_00)))[0][0] == ("Wound fund", 50_00, "purpose_fits+limit_animal")


# D3


def ceiling(most_minor: int = 100_00):
    return limits.set_ceiling(plan_key=PATH, subject_key=BRACKEN, most_minor=most_minor, on=oct(1), by=make.MANAGER)


def test_general_money_pays_at_most_what_the_single_procedure_would_have_cost(books):
    ceiling()

    posted = post(care("one", 70_00, plan_key=PATH), care("two", 70_00, plan_key=PATH), care("not on the path", 70_00))

    assert paid(posted) == [
        [("General", 70_00, "general_money")],
        [("General", 30_00, "general_money+ceiling"), ("nobody", 40_00, "nobody_paid")],
        [("General", 70_00, "general_money")],
    ]
    assert audit().findings == ()


def test_a_ceiling_that_is_not_reached_is_no_reason(books):
    ceiling(900_00)

    assert paid(post(care("all there is", 600_00, plan_key=PATH))) == [
        [("General", 500_00, "general_money"), ("nobody", 100_00, "nobody_paid")]
    ]


def test_restricted_money_goes_on_above_the_ceiling(books):
    ceiling(0)
    make.gift(make.fund("Bracken's leg", "animal", subject_key=BRACKEN), 50_00, oct(2))

    posted = post(care("one", 70_00, plan_key=PATH))

    assert paid(posted) == [[("Bracken's leg", 50_00, "names_animal"), ("nobody", 20_00, "nobody_paid+ceiling")]]


def test_the_manager_may_lift_a_ceiling_by_name_and_with_a_reason(books):
    ceiling(0)
    limits.lift_ceiling(plan_key=PATH, on=oct(12), by=make.MANAGER, why="The board agreed on October 11.")

    assert paid(post(care("one", 70_00, plan_key=PATH))) == [[("General", 70_00, "general_money")]]
    with pytest.raises(limits.CeilingLifted, match="no ceiling that stands"):
        limits.lift_ceiling(plan_key=PATH, on=oct(12), by=make.MANAGER, why="again")
    assert audit().findings == ()


def test_the_house_may_switch_the_ceiling_off(books):
    ceiling(0)
    policies.set_policy(
        key=make.key("off"),
        code="general_ceiling",
        value="no",
        from_on=oct(14),
        today=oct(14),
        by=make.MANAGER,
        at=make.at(oct(14)),
        why="The board decided.",
    )

    assert paid(post(care("one", 70_00, plan_key=PATH))) == [[("General", 70_00, "general_money")]]


# D4


def set_aside(fund: Fund, amount_minor: int, subject_key: str = BRACKEN, **facts):
    return commitments.commit(
        key=make.key(f"{fund.name} {subject_key}"),
        subject_key=subject_key,
        amounts={fund.id: amount_minor},
        on=oct(2),
        by=make.MANAGER,
        party_key=BRINDLE_YARD,
        **facts,
    )


def test_a_commitment_keeps_money_for_its_animal_and_shrinks_as_it_is_spent(books):
    """D4: of 500.00 general money 480.00 are set aside for Bracken; another animal finds 20.00."""
    set_aside(make.general(), 480_00)

    posted = post(care("other", 50_00, subject_key=BALLAST), care("own", 100_00))

    assert paid(posted) == [
        [("General", 20_00, "general_money+set_aside"), ("nobody", 30_00, "nobody_paid")],
        [("General", 100_00, "general_money")],
    ]
    assert Commitment.objects.get().left_minor == 380_00
    assert audit().findings == ()


def test_a_correction_restores_a_commitment_exactly(books):
    set_aside(make.general(), 60_00)
    line = post(care("own", 100_00)).lines[0]
    assert Commitment.objects.get().left_minor == 0

    charges.correct(
        key=make.key("wrong"), charge_id=line.charge_id, slip=None, by=1, today=oct(15), at=make.at(oct(15)), why="no"
    )

    assert Commitment.objects.get().left_minor == 60_00
    assert audit().findings == ()


def test_a_returned_gift_leaves_a_plan_what_it_had(books):
    """The gift's 100.00 paid Bracken's care out of what was set aside; general money pays it again, out of the plan."""
    given = make.gift(make.general(), 300_00, oct(3))
    set_aside(make.general(), 600_00)
    post(care("own", 550_00))
    assert Commitment.objects.get().left_minor == 50_00

    returns.give_back(
        key=make.key("back"), gift_id=given.id, how="refund", by=1, today=oct(20), at=make.at(oct(20)), why="asked"
    )

    assert Commitment.objects.get().left_minor == 100_00
    assert Share.objects.filter(payer="nobody").get().amount_minor == 50_00
    assert audit().findings == ()


@pytest.mark.parametrize("trait", ["emergency", "pain_relief"])
def test_emergency_care_and_pain_relief_may_use_what_is_set_aside(books, trait):
    """D4."""
    set_aside(make.general(), 500_00)

    posted = post(care("urgent", 50_00, subject_key=BALLAST, traits=frozenset({trait})))

    assert paid(posted) == [[("General", 50_00, "general_money")]]
    assert Commitment.objects.get().left_minor == 500_00


def test_a_restricted_commitment_never_yields_to_another_purpose(books):
    """D4: not even in an emergency; only general money and the animal's own partner's fund do."""
    set_aside(wound_fund(300_00), 300_00)

    posted = post(care("urgent", 50_00, subject_key=BALLAST, traits=frozenset({"emergency", "dressing"})))

    assert paid(posted) == [[("General", 50_00, "general_money")]]


def test_a_freed_commitment_keeps_nothing(books):
    set_aside(make.general(), 500_00, plan_key=PATH)

    assert commitments.free(plan_key=PATH, on=oct(13), by=make.MANAGER, why="the path ended") == 1
    assert paid(post(care("other", 50_00, subject_key=BALLAST))) == [[("General", 50_00, "general_money")]]


def test_another_animals_fund_sets_nothing_aside(books):
    leg = make.fund("Bracken's leg", "animal", subject_key=BRACKEN)
    make.gift(leg, 50_00, oct(2))

    with pytest.raises(commitments.FundForSomethingElse, match="Bracken's leg was given for something else"):
        set_aside(leg, 10_00, BALLAST)
    with pytest.raises(commitments.NothingToSetAside, match="above zero"):
        set_aside(make.general(), 0)
    assert not Commitment.objects.exists()


# D5


def decided(take: str, **facts):
    return standing_decisions.decide(
        key=make.key(f"{take} {facts}"),
        subject_key=BRACKEN,
        take=take,
        by=make.MANAGER,
        at=make.at(oct(10)),
        why="We promised her this season.",
        **{"from_on": oct(10), **facts},
    )


@pytest.fixture
def poor():
    make.books()


def test_a_standing_decision_takes_what_nobody_pays(poor):
    """D5: from here on the clinic gives."""
    decision = decided("given")

    posted = post(care("before it", 30_00, day=9), care("after", 40_00))

    assert paid(posted) == [
        [("nobody", 30_00, "nobody_paid")],
        [("Given by the clinic", 40_00, f"standing:{decision.id}")],
    ]
    assert StandingDecision.objects.get().used_minor == 40_00
    assert audit().findings == ()


def test_the_partner_is_asked_up_to_an_amount(poor):
    """D5: ask the partner, up to 400.00."""
    make.agreed(10)
    decision = decided("agreement", most_minor=400_00)

    posted = post(care("one", 500_00))

    assert paid(posted) == [
        [
            ("Brindle Yard agreement", 50_00, "agreement"),
            ("Brindle Yard agreement", 400_00, f"standing:{decision.id}"),
            ("nobody", 50_00, "nobody_paid"),
        ]
    ]
    assert audit().findings == ()


def test_a_reversal_gives_a_standing_decision_its_room_back(poor):
    decided("given", most_minor=50_00)
    line = post(care("one", 50_00)).lines[0]

    charges.correct(
        key=make.key("wrong"), charge_id=line.charge_id, slip=None, by=1, today=oct(15), at=make.at(oct(15)), why="no"
    )

    assert StandingDecision.objects.get().used_minor == 0
    assert audit().findings == ()


def test_a_decision_ends(poor):
    found = decided("given")
    standing_decisions.end(decision_id=found.id, until_on=oct(12))

    assert paid(post(care("after", 40_00))) == [[("nobody", 40_00, "nobody_paid")]]
    with pytest.raises(standing_decisions.NothingToEnd, match="has ended already"):
        standing_decisions.end(decision_id=found.id, until_on=oct(12))


@pytest.mark.parametrize("wrong", [{"why": " "}, {"take": "anybody"}, {"until_on": oct(9)}, {"most_minor": 0}])
def test_a_decision_says_who_why_and_until_when(poor, wrong):
    said = {"take": "given", "from_on": oct(10), "why": "promised", **wrong}
    with pytest.raises(standing_decisions.DecisionUnclear, match="Nothing was decided"):
        standing_decisions.decide(key=make.key("d"), subject_key=BRACKEN, by=1, at=make.at(oct(10)), **said)
    assert not StandingDecision.objects.exists()


def test_what_somebody_takes_over_by_name_counts_against_no_limit(books):
    fund = wound_fund()
    limited(fund, "animal", 0)
    limits.set_ceiling(plan_key=PATH, subject_key=BRACKEN, most_minor=0, on=oct(1), by=1)
    post(care("one", 40_00, plan_key=PATH))

    unpaid_care.take_over(
        key=make.key("take"),
        subject_key=BRACKEN,
        payer="fund",
        fund_id=fund.id,
        by=1,
        today=oct(15),
        at=make.at(oct(15)),
        why="The board agreed.",
    )

    assert all(row.used_minor == 0 for row in LimitUse.objects.all())
    assert audit().findings == ()
