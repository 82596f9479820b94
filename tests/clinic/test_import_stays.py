"""`manage.py import_stays`: rows in, stays out, and one sentence for whatever cannot be read."""

import csv
import json
from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.core.management import call_command

from clinic.actions import import_stays as action
from clinic.forms import import_stays as form
from clinic.models import Animal, ImportedFile, Stay

HEADER = "animal_id,animal_type,sex,dob,intake_date,intake_condition,intake_type,outcome_date,outcome_type\n"
DOG = "L1,dog,Spayed,2023-01-01,2025-05-01,normal,stray,2025-05-04,adoption\n"
CAT = "L2,cat,Male,,2025-05-02,injured  mild,stray,2025-05-02,died\n"

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.AS_OF = "2026-10-14"

    def run(content, *arguments):
        file = tmp_path / "stays.csv"
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        out, err = StringIO(), StringIO()
        status = 0
        try:
            call_command("import_stays", file, *arguments, stdout=out, stderr=err)
        except SystemExit as end:
            status = end.code
        return status, out.getvalue(), err.getvalue()

    return run


@pytest.fixture
def report(run):
    def report(content, *arguments):
        status, out, _ = run(content, "--json", *arguments)
        return status, json.loads(out)

    return report


def counts(report):
    return {name: report[name] for name in ("accepted", "already_there", "refused", "warnings", "written")}


def nothing_written(settings):
    return (Stay.objects.count(), Animal.objects.count(), ImportedFile.objects.count()) == (0, 0, 0) and not (
        settings.MEDIA_ROOT.exists()
    )


def test_a_good_file_becomes_animals_and_stays(report):
    status, said = report(HEADER + DOG + CAT)

    assert status == 0
    assert said == {
        "rows": 2,
        "animals": 2,
        "accepted": 2,
        "already_there": 0,
        "refused": 0,
        "warnings": 0,
        "nights": {"2025": 3},
        "written": 2,
    }
    assert list(Animal.objects.order_by("number").values_list("number", "species", "sex", "born_on")) == [
        ("L1", "dog", "female spayed", date(2023, 1, 1)),
        ("L2", "cat", "male", None),
    ]
    assert list(
        Stay.objects.order_by("animal__number").values_list("admitted_on", "discharged_on", "condition", "left_to")
    ) == [
        (date(2025, 5, 1), date(2025, 5, 4), "normal", "adoption"),
        (date(2025, 5, 2), date(2025, 5, 2), "injured  mild", "died"),
    ]


def test_twice_adds_nothing(report):
    report(HEADER + DOG + CAT)

    status, again = report(HEADER + DOG + CAT)

    assert status == 0
    assert counts(again) == {"accepted": 0, "already_there": 2, "refused": 0, "warnings": 0, "written": 0}
    assert (Stay.objects.count(), ImportedFile.objects.count()) == (2, 1)


def test_check_says_the_same_and_changes_nothing(report, settings):
    status, said = report(HEADER + DOG + CAT, "--check")

    assert (status, said["accepted"], said["written"]) == (0, 2, 0)
    assert nothing_written(settings)


OVERLAPPING = DOG.replace("2025-05-01", "2025-05-03").replace("2025-05-04", "2025-05-09")


def test_one_refused_row_keeps_all_out(run, settings):
    status, out, err = run(HEADER + OVERLAPPING + DOG + CAT)

    assert status == 1
    assert "Nothing was written." in out
    assert err == "Line 2: L1 from 2025-05-03 to 2025-05-09 overlaps its stay from 2025-05-01 to 2025-05-04.\n"
    assert nothing_written(settings)


def test_keep_good_writes_the_refused_rows_with_their_sentences(report, tmp_path):
    refused = tmp_path / "refused.csv"
    status, said = report(HEADER + OVERLAPPING + DOG + CAT, "--keep-good", "--refused-to", str(refused))

    assert (status, said["written"], said["refused"], said["refused_file"]) == (1, 2, 1, str(refused))
    rows = list(csv.reader(refused.read_text().splitlines()))
    assert rows[1][:3] == [
        "2",
        "L1 from 2025-05-03 to 2025-05-09 overlaps its stay from 2025-05-01 to 2025-05-04.",
        "L1",
    ]


def test_a_mended_row_is_added_by_the_next_run(report):
    report(HEADER + OVERLAPPING + DOG, "--keep-good")

    status, said = report(HEADER + OVERLAPPING.replace("2025-05-03", "2025-05-04") + DOG)

    assert status == 0
    assert counts(said) == {"accepted": 1, "already_there": 1, "refused": 0, "warnings": 0, "written": 1}


def test_the_action_itself_refuses_a_file_with_a_refused_row(run):
    """Whoever calls it: all or nothing, judged where it is written."""
    file = form.read_content(content=(HEADER + OVERLAPPING + DOG).encode(), name="stays.csv", today=date(2026, 10, 14))

    with pytest.raises(action.RowsRefused, match="1 of 2 rows are refused, so nothing was written"):
        action.import_stays(file=file, copy="", keep_good=False, at=datetime(2026, 10, 14, tzinfo=UTC))

    assert (Stay.objects.count(), Animal.objects.count()) == (0, 0)


@pytest.mark.parametrize(
    ("first", "second", "refused"),
    [
        (("2025-05-01", "2025-05-04"), ("2025-05-04", "2025-05-09"), 0),
        (("2025-05-01", "2025-05-04"), ("2025-05-03", "2025-05-04"), 1),
        (("2025-05-01", ""), ("2025-06-01", "2025-06-02"), 1),
        (("2025-05-01", "2025-05-04"), ("2025-05-04", ""), 0),
        (("2025-05-01", "2025-05-04"), ("2025-05-02", "2025-05-02"), 1),
        (("2025-05-01", "2025-05-04"), ("2025-05-01", "2025-05-01"), 0),
        (("2025-05-01", "2025-05-04"), ("2025-05-04", "2025-05-04"), 0),
        (("2025-05-01", "2025-05-04"), ("2025-05-01", "2025-05-04"), 0),
    ],
)
def test_half_open_stays_against_rows_and_against_what_is_there(report, first, second, refused):
    one, other = (f"L1,dog,,,{came},,,{left},\n" for came, left in (first, second))

    _, together = report(HEADER + one + other, "--check")
    report(HEADER + one)
    _, later = report(HEADER + other, "--check")

    assert (together["refused"], later["refused"]) == (refused, refused)


def test_a_stay_of_the_ward_itself_counts_too(report):
    dog = Animal.objects.create(number="L1", species="dog")
    Stay.objects.create(animal=dog, admitted_on=date(2025, 5, 2))

    status, said = report(HEADER + DOG)

    assert (status, said["refused"], said["written"]) == (1, 1, 0)
    assert Stay.objects.count() == 1


def test_another_species_under_the_same_number_is_refused(run):
    Animal.objects.create(number="L1", species="rabbit")

    status, _, err = run(HEADER + DOG)

    assert status == 1
    assert "L1 is a different animal elsewhere: rabbit, here dog." in err


@pytest.mark.parametrize(
    ("birth", "sentence"),
    [
        ("2025-05-02", "the birth date 2025-05-02 lies after its admission on 2025-05-01 and was set aside."),
        ("2023-02-30", "the birth date 2023-02-30 is no date and was set aside."),
    ],
)
def test_an_impossible_birth_date_is_set_aside(run, birth, sentence):
    status, _, err = run(HEADER + DOG.replace("2023-01-01", birth))

    assert status == 0
    assert sentence in err
    assert Animal.objects.get().born_on is None
    assert Stay.objects.count() == 1


def test_columns_may_stand_in_another_order_and_among_others(report):
    header = "notes," + ",".join(reversed(HEADER.strip().split(","))) + "\n"
    row = "quiet," + ",".join(reversed(DOG.strip().split(","))) + "\n"

    status, said = report("\ufeff" + header + row)

    assert (status, said["written"]) == (0, 1)
    assert Animal.objects.get().number == "L1"


BAD_FILES = [
    (b"", "the columns animal_id, animal_type, sex"),
    (b"\x89PNG\r\n\x1a\n\0\0", "NUL bytes"),
    (HEADER.encode() + b"L1,dog\0\n", "NUL bytes"),
    (HEADER.encode("utf-16"), "NUL bytes"),
    (HEADER.encode() + "L1,dog,,,2025-05-01,fiévreux,,,\n".encode("latin-1"), "not text in UTF-8"),
    (HEADER.replace(",", ";").encode() + DOG.replace(",", ";").encode(), "missing in its first line"),
    (HEADER.replace("intake_date", "came").encode() + DOG.encode(), "the column intake_date is missing"),
    (HEADER.replace("dob", "sex").encode() + DOG.encode(), "the column dob is missing"),
    ((HEADER.strip() + ",sex\n").encode() + DOG.encode(), "The column sex is there twice"),
    (HEADER.encode() + b'L1,"dog,,,2025-05-01,,,,\n', "The file is not CSV at line"),
    (HEADER.encode() + b'L1,"' + b"x" * 200_000 + b'",,,2025-05-01,,,,\n', "The file is not CSV at line 2"),
    (b'{"rows": []}', "missing in its first line"),
]


@pytest.mark.parametrize(("content", "sentence"), BAD_FILES, ids=range(len(BAD_FILES)))
@pytest.mark.parametrize("arguments", [(), ("--check",), ("--keep-good",)])
def test_a_file_that_cannot_be_read_is_refused_in_one_sentence(run, settings, content, sentence, arguments):
    status, out, err = run(content, *arguments)

    assert (status, out) == (2, "")
    assert sentence in err
    assert err.count("\n") == 1
    assert nothing_written(settings)


BAD_ROWS = [
    (DOG.replace("2025-05-01", "2025-13-01"), "intake_date is no date such as 2017-01-31: 2025-13-01."),
    (DOG.replace("2025-05-01", "05/01/2025"), "intake_date is no date such as 2017-01-31: 05/01/2025."),
    (DOG.replace("2025-05-01", ""), "intake_date is no date such as 2017-01-31: empty."),
    (DOG.replace("2025-05-01", "0001-01-01"), "intake_date is no date such as 2017-01-31: 0001-01-01."),
    (DOG.replace("2025-05-04", "2025-04-30"), "It leaves on 2025-04-30, before it came on 2025-05-01."),
    (DOG.replace("2025-05-04", "2026-10-15"), "outcome_date lies in the future: 2026-10-15."),
    (DOG.replace("2025-05-04", "2026-W10-1"), "outcome_date is no date such as 2017-01-31: 2026-W10-1."),
    (DOG.replace("L1", ""), "animal_id is empty."),
    (DOG.replace("L1", "L" * 25), "animal_id is not a word or two: LLLL"),
    (DOG.replace("dog", ""), "animal_type is empty."),
    (DOG.replace("stray", "st\x07ray"), "intake_type is not a word or two: st?ray."),
    (DOG.replace("Spayed", "both"), "sex is none that is known: both."),
    (DOG.strip() + ",more\n", "The row has 10 cells, other than the first line."),
    ("L1,dog\n", "The row has 2 cells, other than the first line."),
]


@pytest.mark.parametrize(("row", "sentence"), BAD_ROWS, ids=[sentence for _, sentence in BAD_ROWS])
def test_a_row_that_cannot_be_read_keeps_all_out(run, settings, row, sentence):
    status, out, err = run(HEADER + CAT + row)

    assert (status, out) == (2, "")
    assert err.startswith(f"Line 3: {sentence}")
    assert err.count("\n") == 1
    assert nothing_written(settings)


@pytest.mark.parametrize(("row", "sentence"), BAD_ROWS, ids=[sentence for _, sentence in BAD_ROWS])
def test_or_is_refused_beside_the_good_ones(run, row, sentence):
    status, out, err = run(HEADER + CAT + row, "--keep-good", "--json")

    assert status == 1
    assert counts(json.loads(out)) == {"accepted": 1, "already_there": 0, "refused": 1, "warnings": 0, "written": 1}
    assert err.startswith(f"Line 3: {sentence}")


def test_a_file_of_two_gigabytes_is_refused_by_its_size(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"
    file = tmp_path / "large.csv"
    with file.open("wb") as opened:
        opened.truncate(2 * 1024**3)
    err = StringIO()

    with pytest.raises(SystemExit) as end:
        call_command("import_stays", file, stderr=err)

    assert end.value.code == 2
    assert "has 2,147,483,648 bytes" in err.getvalue()
    assert nothing_written(settings)


@pytest.mark.parametrize("name", ["not-there.csv", "."])
def test_a_file_that_is_not_there_is_refused(settings, tmp_path, name):
    settings.MEDIA_ROOT = tmp_path / "media"
    err = StringIO()

    with pytest.raises(SystemExit) as end:
        call_command("import_stays", tmp_path / name, stderr=err)

    assert end.value.code == 2
    assert err.getvalue().count("\n") == 1
    assert nothing_written(settings)


def test_a_place_that_cannot_be_written_adds_nothing(run, settings, tmp_path):
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder should be")
    settings.MEDIA_ROOT = blocked

    status, out, err = run(HEADER + DOG)

    assert (status, out) == (2, "")
    assert err.count("\n") == 1
    assert Stay.objects.count() == 0


def test_a_cell_that_a_spreadsheet_would_compute_is_written_as_text(run, tmp_path):
    refused = tmp_path / "refused.csv"

    run(HEADER + DOG.replace("L1", "=1+1").replace("Spayed", "both"), "--keep-good", "--refused-to", str(refused))

    assert list(csv.reader(refused.read_text().splitlines()))[1][2] == "'=1+1"
