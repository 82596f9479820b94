"""A real shelter's 13,431 stays through the application's own import: counts, refusals and nights.

Source: City of Long Beach animal shelter, open data, as packaged under the MIT license in the R package
"animalshelter" (tests/reference/stays/README.md). The counts and sums were computed from the file by another program
(recomputed).
"""

import json
import lzma
from collections import defaultdict
from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from clinic.forms import import_stays as form
from clinic.formulas.import_stays import judge
from clinic.formulas.stays import Span, boarding_days, nights
from clinic.models import Animal, ImportedFile, Stay

PACKED = Path(__file__).parent / "stays" / "stays-2017-2019.csv.xz"
SHA256 = "58c12f1790874e18f4b1209aa249f3cac852292415362e57e1417d9047ee3b69"


@pytest.fixture(scope="module")
def stays_file(tmp_path_factory):
    file = tmp_path_factory.mktemp("stays") / "stays-2017-2019.csv"
    file.write_bytes(lzma.decompress(PACKED.read_bytes()))
    return file


@pytest.fixture(scope="module")
def read(stays_file):
    return form.read_file(path=stays_file, today=date(2026, 10, 14))


@pytest.fixture(scope="module")
def accepted(read):
    return judge(rows=read.rows, known={}, species={}).accepted


def of_year(year):
    return {"first": date(year, 1, 1), "last": date(year, 12, 31)}


def spans(rows):
    return [Span(admitted_on=row.admitted_on, discharged_on=row.discharged_on) for row in rows]


@pytest.mark.parametrize(("year", "of_all", "of_accepted"), [(2017, 56_716, 56_646), (2019, 80_672, 80_425)])
def test_nights_of_a_year(read, accepted, year, of_all, of_accepted):
    assert nights(spans=spans(read.rows), **of_year(year)) == of_all
    assert nights(spans=spans(accepted), **of_year(year)) == of_accepted


@pytest.mark.parametrize(("year", "days"), [(2017, 57_991), (2018, 59_791), (2019, 81_455)])
def test_boarding_days_of_a_year(accepted, year, days):
    by_animal = defaultdict(list)
    for row in accepted:
        by_animal[row.animal_number].append(row)

    assert sum(boarding_days(spans=spans(rows), **of_year(year)) for rows in by_animal.values()) == days


def test_stays_in_and_out_on_one_day(read):
    in_and_out = [row for row in read.rows if row.admitted_on == row.discharged_on]

    assert len(in_and_out) == 3_663
    assert nights(spans=spans(in_and_out), first=date(2017, 1, 1), last=date(2026, 10, 14)) == 0


@pytest.fixture
def import_stays(settings, tmp_path, stays_file):
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.AS_OF = "2026-10-14"

    def run(*arguments):
        out, err = StringIO(), StringIO()
        status = 0
        try:
            call_command("import_stays", stays_file, "--json", *arguments, stdout=out, stderr=err)
        except SystemExit as end:
            status = end.code
        return status, json.loads(out.getvalue()), err.getvalue()

    return run


@pytest.mark.django_db(transaction=True)
def test_the_whole_file_twice(import_stays, settings):
    status, first, _ = import_stays("--keep-good")
    again_status, again, _ = import_stays("--keep-good")

    by_year = {"2017": 56_646, "2018": 58_504, "2019": 80_425, "2020": 10_188, "2021": 3_106, "2022": 1_508}
    refused_file = Path(first.pop("refused_file"))
    assert (status, first) == (
        1,
        {
            "rows": 13_431,
            "animals": 13_117,
            "accepted": 13_421,
            "already_there": 0,
            "refused": 10,
            "warnings": 81,
            "nights": by_year,
            "written": 13_421,
        },
    )
    again.pop("refused_file")
    assert (again_status, again) == (1, {**first, "accepted": 0, "already_there": 13_421, "written": 0})
    assert (Stay.objects.count(), ImportedFile.objects.count()) == (13_421, 1)
    assert Animal.objects.filter(stays__isnull=False).distinct().count() == Animal.objects.count()
    lines = refused_file.read_text().splitlines()
    assert len(lines) == 11
    assert "A599572 from 2017-11-02 to 2017-12-20 overlaps its stay from 2017-11-02 to 2017-12-16." in lines[1]
    kept = ImportedFile.objects.get()
    assert kept.sha256 == SHA256
    assert len((settings.MEDIA_ROOT / kept.copy).read_bytes()) == kept.size == 1_083_456


@pytest.mark.django_db
def test_without_keep_good_ten_refused_rows_keep_all_out(import_stays):
    status, report, said = import_stays()

    assert (status, report["accepted"], report["refused"], report["written"]) == (1, 13_421, 10, 0)
    assert not Stay.objects.exists()
    assert not Animal.objects.exists()
    assert "Line 4394: A599572 from 2017-11-02" in said
