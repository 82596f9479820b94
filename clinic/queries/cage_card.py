"""The card at a cage: who lies there, what must be seen first, and a code that opens its row of the ward sheet."""

from dataclasses import dataclass
from datetime import date

from clinic.models import Animal, House
from clinic.queries.animal import age_words
from clinic.queries.groups import family
from clinic.queries.photos import PaperPhoto, newest
from config.qr import Code, code

FULL = 110  # letters


@dataclass(frozen=True)
class CageCard:
    name: str
    number: str
    species: str
    what: str  # "cat, female, about 3 years"
    partner: str
    partner_number: str
    chip: str
    warning: str
    about: str
    since: date | None
    place: str
    with_others: str  # of a group: who lies there too
    photo: PaperPhoto | None
    code: Code
    house: str
    paper: str

    @property
    def is_full(self) -> bool:
        """Say whether so much stands on the card that its letters must be smaller."""
        words = (self.name, self.warning, self.about, self.with_others, self.partner, self.partner_number)
        return sum(map(len, words)) > FULL


def cage_card(*, animal: Animal, on: date, address: str, house: House) -> CageCard:
    """Return the card; `address` is what its code opens. A clinical photo may hang in the ward."""
    stay = animal.stays.filter(discharged_on=None, is_history=False).select_related("place__room").first()
    sex = "" if animal.sex == Animal.Sex.UNKNOWN else animal.get_sex_display()
    others = [one.name for one in family(animal=animal).members if one.id != animal.pk]
    return CageCard(
        name=animal.name or animal.number,
        number=animal.number,
        species=animal.species,
        what=", ".join(part for part in (animal.species, sex, age_words(animal.born_on, on)) if part),
        partner=animal.partner.name if animal.partner else "",
        partner_number=animal.partner_number,
        chip=animal.chip,
        warning=animal.warning,
        about=animal.about,
        since=stay.admitted_on if stay else None,
        place=f"{stay.place.room.name} {stay.place.code}" if stay and stay.place else "",
        with_others=", ".join(others),
        photo=newest(animal=animal),
        code=code(address),
        house=house.name,
        paper=house.paper,
    )


def row_of(*, animal: Animal) -> int | None:
    """Return the animal that stands for this one's row of the ward sheet today; None when it is not in care."""
    here = Animal.objects.filter(stays__discharged_on=None, stays__is_history=False)
    if not here.filter(pk=animal.pk).exists():
        return None
    if animal.group_id is None:
        return animal.pk
    return here.filter(group=animal.group_id).order_by("pk").values_list("pk", flat=True).first()
