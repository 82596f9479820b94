"""Microchip numbers by ISO 11784 (published): 15 digits kept as text, the last 12 at most 274,877,906,943.

Ten digits are an older chip that does not follow the standard, and a 999 prefix is a test chip (common practice).
"""

import pytest

from clinic.formulas import chips
from clinic.formulas.chips import Chip, ChipKind, NotAChip


@pytest.mark.parametrize(
    ("text", "number", "kind"),
    [
        ("040098100111917", "040098100111917", ChipKind.COUNTRY),
        (" 040-098.100 111 917 ", "040098100111917", ChipKind.COUNTRY),
        ("981274877906943", "981274877906943", ChipKind.MAKER),
        ("999000000001498", "999000000001498", ChipKind.TEST),
        ("0006123456", "0006123456", ChipKind.OLDER),
    ],
)
def test_a_number_is_read_and_its_zeros_are_kept(text, number, kind):
    assert chips.read(text=text) == Chip(number=number, kind=kind)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("981274877906944", "larger than any chip can carry"),
        ("04009810011191", "this one has 14"),
        ("0400981001119171", "this one has 16"),
        ("04009810011191O", "digits only"),
        ("٠٤٠٠٩٨١٠٠١١١٩١٧", "digits only"),
        ("", "digits only"),
        ("000098100111917", "stand for no country"),
    ],
)
def test_what_no_chip_can_carry_is_refused(text, sentence):
    with pytest.raises(NotAChip, match=sentence):
        chips.read(text=text)
