"""How long a real shelter's animals stayed, through the application's own import and command.

Source: City of Long Beach animal shelter, open data, as packaged under the MIT license in the R package
"animalshelter" (tests/reference/stays/README.md). The figures of the accepted rows were computed from the file with the
library lifelines 0.30.3 (recomputed): time = leaving less admission in days, 0 kept; left on the cut day = left; open =
counted as open at the cut; the share is after the leavings of the day.
"""

import json
import lzma
from io import StringIO

import pytest
from django.core.management import call_command, execute_from_command_line

from tests.reference.test_stays_2017_2019 import PACKED

pytestmark = pytest.mark.django_db

AFTER = ("7", "14", "30", "60", "90")
# as of: stays, open, then by species: half have left by day, and the share still there after the days of AFTER.
KNOWN = {
    "2018-06-30": (
        7_002,
        186,
        {
            "cat": (6, ".410410 .263350 .129418 .047117 .023122"),
            "dog": (6, ".364995 .224450 .114570 .048412 .027137"),
            "rabbit": (13, None),
        },
    ),
    "2019-12-31": (
        13_421,
        207,
        {
            "cat": (6, ".453762 .307523 .175277 .080292 .043628"),
            "dog": (6, ".377102 .229327 .116148 .050060 .027959"),
            "rabbit": (17, None),
        },
    ),
}


@pytest.fixture
def said(settings, tmp_path):
    """Import the stays, and return what the command says of a day."""
    settings.MEDIA_ROOT, settings.AS_OF = tmp_path / "media", "2026-10-14"
    file = tmp_path / "stays.csv"
    file.write_bytes(lzma.decompress(PACKED.read_bytes()))
    with pytest.raises(SystemExit):
        call_command("import_stays", file, "--keep-good", stdout=StringIO(), stderr=StringIO())

    def ask(as_of: str) -> dict:
        out = StringIO()
        call_command("length_of_stay", "--as-of", as_of, "--json", stdout=out)
        return json.loads(out.getvalue())

    return ask


@pytest.mark.django_db(transaction=True)
def test_length_of_stay_of_a_real_shelter(said):
    for as_of, (stays, still_open, by_species) in KNOWN.items():
        found = said(as_of)

        assert sum(one["n"] for one in found.values()) == stays
        assert sum(one["open"] for one in found.values()) == still_open
        for species, (median, shares) in by_species.items():
            assert found[species]["median_days"] == median
            if shares:
                assert [f"{found[species]['survival'][days]:.6f}"[1:] for days in AFTER] == shares.split()


def test_a_day_that_is_none_is_one_sentence(capsys):
    with pytest.raises(SystemExit) as refused:
        execute_from_command_line(["manage.py", "length_of_stay", "--as-of", "soon"])

    assert refused.value.code == 2
    assert "soon is no day. Write it as 2026-10-14." in capsys.readouterr().err


def test_a_house_without_stays_says_so():
    out = StringIO()
    call_command("length_of_stay", "--as-of", "2026-10-14", stdout=out)

    assert out.getvalue().strip() == "No stay had begun by 2026-10-14."
