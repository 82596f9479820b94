"""Policies are dated rows that say who set them and why; a day keeps the policy that it had (H3, D3)."""

import pytest

from ledger.actions.policies import AnswerRefused, PolicyBackdated, ReasonMissing
from ledger.audit import audit
from ledger.formulas import policies as catalog
from ledger.models import Policy
from ledger.posting import KeyUsedBefore
from ledger.queries.policies import policies, policy, policy_story
from tests.ledger import make
from tests.ledger.make import oct

pytestmark = pytest.mark.usefixtures("books")


def in_force(code: str, on):
    return next(found for found in policies(on=on) if found.code == code)


def test_before_anybody_set_one_the_answer_of_the_beginning_counts():
    assert policy(code="general_ceiling", on=oct(14)) is True
    assert policy(code="fees_from_general", on=oct(14)) is False
    assert policy(code="large_gift_minor", on=oct(14)) is None
    assert policy(code="supplies_cost", on=oct(14)) == "first_in_first_out"
    line = in_force("general_ceiling", oct(14)).now
    assert (line.words, line.from_on, line.by, line.why) == ("yes", None, "", "as the house began")


def test_a_day_has_the_policy_that_began_last():
    make.policy("general_ceiling", False, oct(5), today=oct(2))
    make.policy("general_ceiling", True, oct(20), today=oct(6))

    assert [policy(code="general_ceiling", on=oct(day)) for day in (4, 5, 19, 20, 31)] == [
        True,
        False,
        False,
        True,
        True,
    ]
    found = in_force("general_ceiling", oct(10))
    assert (found.now.words, found.now.from_on) == ("no", oct(5))
    assert (found.next.words, found.next.from_on) == ("yes", oct(20))
    assert in_force("general_ceiling", oct(20)).next is None


def test_of_two_for_one_day_the_later_counts_and_both_are_kept():
    make.policy("large_gift_minor", 500_00, oct(5), today=oct(2))
    make.policy("large_gift_minor", 700_00, oct(5), today=oct(3), why="Too low.")

    assert policy(code="large_gift_minor", on=oct(5)) == 700_00
    lines = policy_story(code="large_gift_minor", on=oct(5)).lines
    assert [(line.words, line.replaced) for line in lines] == [("700.00", False), ("500.00", True), ("none", False)]


@pytest.mark.parametrize(
    ("facts", "refusal", "sentence"),
    [
        ({"value": True, "from_on": oct(13)}, PolicyBackdated, "2026-10-13 has passed"),
        ({"value": "perhaps"}, AnswerRefused, "is no answer to"),
        ({"value": 12}, AnswerRefused, "is no answer to"),
        ({"value": None}, AnswerRefused, "is no answer to"),
        ({"value": True, "why": "  "}, ReasonMissing, "Write why"),
    ],
)
def test_is_refused(facts, refusal, sentence):
    defaults = {"code": "general_ceiling", "value": False, "from_on": oct(14), "today": oct(14)}

    with pytest.raises(refusal, match=sentence):
        make.policy(**{**defaults, **facts})

    assert not Policy.objects.exists()


@pytest.mark.parametrize("amount", [0, -5, 10**12 + 1])
def test_an_amount_that_cannot_be_is_refused(amount):
    with pytest.raises(AnswerRefused):
        make.policy("large_gift_minor", amount)


def test_the_same_form_twice_is_one_row_and_with_other_words_refused():
    first = make.policy("general_ceiling", False, name="form")

    assert make.policy("general_ceiling", False, name="form") == first
    with pytest.raises(KeyUsedBefore):
        make.policy("general_ceiling", True, name="form")
    assert Policy.objects.count() == 1
    assert audit().findings == ()


def test_there_is_no_other_policy():
    assert policy_story(code="weather", on=oct(14)) is None
    with pytest.raises(catalog.PolicyUnknown):
        policy(code="weather", on=oct(14))


def test_every_policy_can_answer_with_its_default():
    for code, known in catalog.CATALOG.items():
        assert known.code == code
        assert catalog.write(code, catalog.read(code, known.default)) == known.default
