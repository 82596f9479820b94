"""`manage.py compare_paths`: a plan in a file in, figures out, and one sentence for whatever is wrong.

No test here may touch a database, so none asks for one: the command works without.
"""

import copy
import json
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

PLAN = {
    "currency": "USD",
    "spent_so_far": "0.00",
    "daily_cost": "0.00",
    "staged": {
        "attempts": [
            {"cost": "1200.00", "success": 0.60, "days": 21},
            {"cost": "1500.00", "success": 0.45, "days": 21},
            {"cost": "1500.00", "success": 0.25, "days": 21},
        ],
        "after_success": {"cost": "0.00", "days": 0},
    },
    "fallback": {"cost": "2600.00", "days": 4},
    "single": {"cost": "2600.00", "days": 4, "complication": {"probability": 0.0, "cost": "0.00"}},
}
MISSING = object()


def changed(path, value):
    """The plan with one field changed, or left out."""
    plan = copy.deepcopy(PLAN)
    *way, last = path
    place = plan
    for step in way:
        place = place[step]
    if value is MISSING:
        del place[last]
    else:
        place[last] = value
    return plan


@pytest.fixture
def run(tmp_path):
    def run(content, *arguments):
        file = tmp_path / "plan.json"
        file.write_bytes(content if isinstance(content, bytes) else json.dumps(content).encode())
        out, err = StringIO(), StringIO()
        try:
            call_command("compare_paths", file, *arguments, stdout=out, stderr=err)
        except SystemExit as end:
            return end.code, out.getvalue(), err.getvalue()
        return 0, out.getvalue(), err.getvalue()

    return run


@pytest.fixture
def answer(run):
    def answer(plan):
        status, out, err = run(plan, "--json")
        assert (status, err) == (0, "")
        return json.loads(out)

    return answer


def test_answers_in_full(answer):
    figures = answer(changed(("spent_so_far",), "100.00"))

    cautions = figures.pop("cautions")
    assert figures.pop("all_attempts")["percentiles"] == {"10": "1200.00", "50": "1200.00", "90": "6800.00"}
    assert 0 < figures.pop("break_even_success") < 1
    assert figures == {
        "continue": {
            "expected_cost": "2240.00",
            "expected_total": "2340.00",
            "expected_days": 22.6,
            "attempts_mean": 1,
            "attempts_sd": 0.0,
            "probability_kept": 0.6,
            "distribution": [
                {"cost": "1200.00", "days": 21, "probability": 0.6},
                {"cost": "3800.00", "days": 25, "probability": 0.4},
            ],
            "percentiles": {"10": "1200.00", "50": "1200.00", "90": "3800.00"},
        },
        "convert_now": {"expected_cost": "2600.00", "expected_total": "2700.00", "expected_days": 4},
        "advice": ["attempt", "convert", "convert"],
    }
    assert "Cost is one input: welfare, pain and prognosis come first." in cautions
    assert "The figures assume that the animal survives each anesthetic." in cautions


def test_all_attempts_cost_what_the_chain_says(answer):
    assert answer(PLAN)["all_attempts"]["expected_cost"] == "2559.00"


def test_what_is_spent_moves_the_totals_and_nothing_else(answer):
    before, after = answer(PLAN), answer(changed(("spent_so_far",), "98765.43"))

    for name in ("continue", "all_attempts", "convert_now"):
        assert before[name].pop("expected_total") != after[name].pop("expected_total")
    spent_sentence = "What is spent already is in the totals and changes nothing about what is still to come."
    after["cautions"].remove(spent_sentence)
    assert before == after


def test_an_operation_dearer_than_the_single_procedure_has_no_break_even(answer):
    figures = answer(changed(("staged", "attempts", 0, "cost"), "2600.01"))

    assert figures["break_even_success"] is None
    assert (
        "There is no chance at which both ways cost the same: an operation costs more than the single procedure."
        in figures["cautions"]
    )


def test_a_day_costs_the_same_on_every_path(answer):
    figures = answer(changed(("daily_cost",), "10.00"))

    assert figures["convert_now"]["expected_cost"] == "2640.00"
    assert figures["continue"]["distribution"] == [
        {"cost": "1410.00", "days": 21, "probability": 0.6},
        {"cost": "4050.00", "days": 25, "probability": 0.4},
    ]


def test_a_complication_falls_on_the_single_procedure_only(answer):
    figures = answer(changed(("single", "complication"), {"probability": 0.1, "cost": "500.00"}))

    assert figures["convert_now"]["expected_cost"] == "2650.00"
    assert figures["continue"]["distribution"][1]["cost"] == "3800.00"


def test_chances_are_read_as_they_are_written(answer):
    """0.60 is 3/5: 1,200 x 3/5 has no cent to round, and in binary it would have."""
    plan = changed(("staged", "attempts"), [{"cost": "0.05", "success": 0.1, "days": 0}])
    plan["staged"]["after_success"]["cost"] = "0.05"
    plan["fallback"] = {"cost": "0.00", "days": 0}

    assert answer(plan)["continue"]["expected_cost"] == "0.06"  # 0.055 exactly, rounded half up


@pytest.mark.parametrize(("currency", "text"), [("JPY", "2240"), ("USD", "2240.00"), ("KWD", "2240.000")])
def test_money_goes_out_in_the_currencys_own_digits(answer, currency, text):
    assert answer(changed(("currency",), currency))["continue"]["expected_cost"] == text


def test_a_byte_order_mark_is_no_fault(run):
    assert run(b"\xef\xbb\xbf" + json.dumps(PLAN).encode(), "--json")[0] == 0


def test_a_field_that_is_not_known_is_said(answer):
    cautions = answer(changed(("discount",), 0.06))["cautions"]

    assert 'The field "discount" is not known and was left out of the computation.' in cautions


def test_a_person_gets_a_table(run):
    status, out, _ = run(PLAN)

    assert status == 0
    assert "Convert now                                        2600.00" in out
    assert "1. try, 2. convert, 3. convert" in out


BAD_FIELDS = [
    (("currency",), MISSING, '"currency" is missing'),
    (("currency",), "EURO", '"currency" must be the code of a currency'),
    (("currency",), "XXX", '"currency" must be the code of a currency'),
    (("currency",), 7, '"currency" must be the code of a currency'),
    (("currency",), ["USD"], '"currency" must be the code of a currency'),
    (("spent_so_far",), MISSING, '"spent_so_far" is missing'),
    (("spent_so_far",), "-0.01", '"spent_so_far" is below zero'),
    (("daily_cost",), MISSING, '"daily_cost" is missing'),
    (("daily_cost",), -1, '"daily_cost" is below zero'),
    (("staged",), MISSING, '"staged" is missing'),
    (("staged",), [], '"staged" must be an object'),
    (("staged", "attempts"), MISSING, '"staged.attempts" is missing'),
    (("staged", "attempts"), {}, '"staged.attempts" must be a list'),
    (("staged", "attempts"), [], '"staged.attempts" is empty'),
    (("staged", "attempts"), [{"cost": 1, "success": 1, "days": 1}] * 101, '"staged.attempts" has more than 100'),
    (("staged", "attempts", 1), None, '"staged.attempts[2]" must be an object'),
    (("staged", "attempts", 1, "cost"), MISSING, '"staged.attempts[2].cost" is missing'),
    (("staged", "attempts", 0, "cost"), "1,200.00", '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), " 1200 ", '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), "١٢", '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), True, '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), None, '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), {}, '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), float("nan"), '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), float("inf"), '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), "Infinity", '"staged.attempts[1].cost" must be a number'),
    (("staged", "attempts", 0, "cost"), 10**13, '"staged.attempts[1].cost" is larger than any cost'),
    (("staged", "attempts", 0, "cost"), "-1", '"staged.attempts[1].cost" is below zero'),
    (("staged", "attempts", 2, "success"), MISSING, '"staged.attempts[3].success" is missing'),
    (("staged", "attempts", 2, "success"), 1.0001, '"staged.attempts[3].success" is a chance'),
    (("staged", "attempts", 2, "success"), -0.1, '"staged.attempts[3].success" is a chance'),
    (("staged", "attempts", 2, "success"), True, '"staged.attempts[3].success" must be a number'),
    (("staged", "attempts", 2, "success"), "high", '"staged.attempts[3].success" must be a number'),
    (("staged", "attempts", 0, "days"), -1, '"staged.attempts[1].days" is below zero'),
    (("staged", "attempts", 0, "days"), MISSING, '"staged.attempts[1].days" is missing'),
    (("staged", "after_success"), MISSING, '"staged.after_success" is missing'),
    (("staged", "after_success", "days"), MISSING, '"staged.after_success.days" is missing'),
    (("fallback",), MISSING, '"fallback" is missing'),
    (("fallback", "cost"), -5, '"fallback.cost" is below zero'),
    (("single",), MISSING, '"single" is missing'),
    (("single", "days"), False, '"single.days" must be a number'),
    (("single", "complication"), MISSING, '"single.complication" is missing'),
    (("single", "complication", "probability"), 2, '"single.complication.probability" is a chance'),
    (("single", "complication", "cost"), "-3", '"single.complication.cost" is below zero'),
]


@pytest.mark.parametrize(("path", "value", "sentence"), BAD_FIELDS, ids=[sentence for *_, sentence in BAD_FIELDS])
def test_a_field_that_is_wrong_is_named(run, path, value, sentence):
    status, out, err = run(changed(path, value), "--json")

    assert (status, out) == (2, "")
    assert sentence in err
    assert err.count("\n") == 1


BAD_FILES = [
    (b"", "The file is not JSON: line 1, column 1."),
    (b"cost;success\n1;2\n", "The file is not JSON: line 1, column 1."),
    (b"[]", "must hold one JSON object"),
    (b"null", "must hold one JSON object"),
    (b'{"currency": "USD", "currency": "EUR"}', '"currency" is given twice'),
    (b"\xff\xfe{\x00}\x00", "not text in UTF-8"),
    (b"[" * 200_000, "nested too deep"),
    (b'{"a": ' * 100_000, "nested too deep"),
    (json.dumps(PLAN).encode() + b" " * 1_000_001, "larger than 1,000,000 bytes"),
    (json.dumps(PLAN).replace('"1200.00"', "1e999999999999").encode(), '"staged.attempts[1].cost" must be a number'),
    (json.dumps(PLAN).replace('"1200.00"', "9" * 5000).encode(), '"staged.attempts[1].cost" must be a number'),
    (json.dumps(PLAN).replace('"1200.00"', "1e-9999999").encode(), '"staged.attempts[1].cost" must be a number'),
]


@pytest.mark.parametrize(("content", "sentence"), BAD_FILES, ids=[sentence for _, sentence in BAD_FILES])
def test_a_file_that_is_no_plan_is_refused_in_one_sentence(run, content, sentence):
    status, out, err = run(content)

    assert (status, out) == (2, "")
    assert sentence in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("name", ["not-there.json", ".", "nul\0name"])
def test_a_file_that_cannot_be_read_is_refused(name, tmp_path):
    err = StringIO()

    with pytest.raises(SystemExit) as end:
        call_command("compare_paths", tmp_path / name, stderr=err)

    assert end.value.code == 2
    assert err.getvalue().count("\n") == 1


def test_works_where_no_database_can_be_reached(tmp_path):
    """As a person runs it, with an address of a database that is not there."""
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(PLAN))
    bad = tmp_path / "bad.json"
    bad.write_text("{}")
    place = Path(__file__).resolve().parents[2]
    surroundings = {
        **os.environ,
        "DATABASE_URL": f"sqlite:////{tmp_path}/no/such/folder.sqlite3",
        "SECRET_KEY": "for this test only, and long enough to please the checks",
    }

    good, refused = (
        subprocess.run(
            [sys.executable, "manage.py", "compare_paths", str(plan), "--json"],
            cwd=place,
            env=surroundings,
            capture_output=True,
            text=True,
        )
        for plan in (file, bad)
    )

    assert (good.returncode, good.stderr) == (0, "")
    assert json.loads(good.stdout)["advice"] == ["attempt", "convert", "convert"]
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr == 'The field "currency" is missing.\n'
