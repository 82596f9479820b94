"""A small clinic for tests, arranged through the same actions that people use."""

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from clinic.actions import animals, care, counts, evenings, lots, orders, prices, services, sign_off
from clinic.models import Animal, BoardingLevel, CareItem, House, Order, Partner, RoleHeld, Service, Stay, User
from clinic.queries import sign_off as sign_off_query
from config.roles import Role
from ledger.actions import agreements, funds, gifts, holder

DAY = date(2026, 10, 13)
TODAY = date(2026, 10, 14)
AT = datetime(2026, 10, 14, 12, 0, tzinfo=UTC)


def person(name: str, *roles: Role, partner: Partner | None = None) -> User:
    """Make somebody who can sign in as their first name in small letters."""
    sign_in = name.split()[0].lower()
    initials = "".join(word[0] for word in name.split())
    user = User(sign_in=sign_in, name=name, initials=initials, partner=partner, joined_on=date(2026, 10, 1))
    user.set_password("a-long-password")
    user.save()
    RoleHeld.objects.bulk_create(RoleHeld(user=user, role=role) for role in roles)
    return user


@dataclass
class Clinic:
    """What `open_clinic` made."""

    nurse: User
    vet: User
    manager: User
    bookkeeper: User
    reader: User
    contact: User
    partner: Partner
    standard: BoardingLevel
    dressing: Service
    tablets: Service
    surgery: Service

    def admit(
        self, name: str = "Bracken", *, on: date = DAY - timedelta(days=10), partner: bool = True, **more
    ) -> Stay:
        return animals.admit(
            key=uuid.uuid4(),
            name=name,
            species=more.pop("species", "dog"),
            sex="unknown",
            admitted_on=on,
            level=more.pop("level", self.standard),
            partner=self.partner if partner else None,
            by=self.nurse,
            today=TODAY,
            at=AT,
            **more,
        )

    def give(self, animal: Animal, service: Service, *, on: date = DAY, quantity: str = "1", **more) -> CareItem:
        return care.record(
            key=more.pop("key", uuid.uuid4()),
            animal=animal,
            on=on,
            service=service,
            quantity=Decimal(quantity),
            by=self.nurse,
            today=more.pop("today", on),
            at=AT,
            **more,
        )

    def order(self, animal: Animal, service: Service, rounds: list[str], *, starts_on: date = TODAY) -> Order:
        return orders.give(
            key=uuid.uuid4(), animal=animal, service=service, rounds=rounds, starts_on=starts_on, by=self.vet, at=AT
        )

    def see_all(self, on: date = DAY):
        return evenings.confirm(on=on, by=self.nurse, today=on, at=AT)

    def preview(self, on: date = DAY, today: date = TODAY) -> sign_off_query.Preview:
        return sign_off_query.sign_off(on=on, today=today)

    def sign(self, on: date = DAY, today: date = TODAY) -> sign_off.Signed:
        return sign_off.sign(
            key=uuid.uuid4(),
            on=on,
            digest=self.preview(on, today).digest,
            by=self.manager,
            today=today,
            at=AT,
        )

    def gift(self, fund, amount_minor: int, *, donor_id: int | None = None, on: date = date(2026, 10, 2), **more):
        return gifts.receive(
            key=uuid.uuid4(),
            donor_id=donor_id,
            fund_id=fund.pk,
            amount_minor=amount_minor,
            received_on=on,
            by=self.bookkeeper.pk,
            today=TODAY,
            at=AT,
            **more,
        )


def fund(clinic: Clinic, kind: str, name: str, *, restricted: bool = True, **more):
    return funds.open(
        key=uuid.uuid4(),
        kind=kind,
        name=name,
        is_restricted=restricted,
        leftover="What is not needed goes to general money." if restricted else "",
        on=date(2026, 10, 1),
        by=clinic.bookkeeper.pk,
        **more,
    )


def open_clinic(*, percent: int | None = 40) -> Clinic:
    """Open the books and the ward: people, one partner, three services with prices, one agreement."""
    House.objects.create(pk=1, name="Larkweir Veterinary Practice", opening_on=date(2026, 10, 1), time_zone="UTC")
    partner = services.add_partner(name="Brindle Yard Rescue", short_name="Brindle Yard", since_on=date(2026, 1, 1))
    manager = person("Amos Yelland", Role.MANAGER)
    holder.set_up(
        kind="own_charity",
        name="Larkweir Animal Fund",
        number="12-3456789",
        country="US",
        currency="USD",
        fiscal_year_starts=1,
        on=date(2026, 10, 1),
        by=manager.pk,
    )
    if percent:
        agreements.agree(
            key=uuid.uuid4(),
            party_key=partner.key,
            name="Brindle Yard agreement",
            percent=Decimal(percent),
            from_on=date(2026, 10, 1),
            by=manager.pk,
        )
    standard = services.add_boarding_level(code="boarding-standard", name="Standard", position=1, standard_minutes=15)
    dressing = services.add_service(code="padded-dressing", name="Padded dressing", kind="dressing", unit="dressing")
    tablets = services.add_service(code="tablets", name="Tablets", kind="medication", unit="tablet")
    surgery = services.add_service(
        code="amputation", name="Amputation of a hind limb", kind="procedure", unit="operation"
    )
    for service, cost, usual, asked in (
        (standard.service, "21.40", "42", "24"),
        (dressing, "9.85", "26", "12"),
        (tablets, "1.60", "5", "2"),
        (surgery, "820", "2600", "1200"),
    ):
        prices.set_price(
            service=service,
            starts_on=date(2026, 7, 1),
            cost=Decimal(cost),
            usual_fee=Decimal(usual),
            asked=Decimal(asked),
            by=manager,
            at=AT,
        )
    return Clinic(
        nurse=person("Pilar Quist", Role.WARD),
        vet=person("Noor Halvorsen", Role.VET),
        manager=manager,
        bookkeeper=person("Greta Lindqvist", Role.BOOKKEEPER),
        reader=person("Tove Marsh", Role.READER),
        contact=person("Bea Larkin", Role.PARTNER, partner=partner),
        partner=partner,
        standard=standard,
        dressing=dressing,
        tablets=tablets,
        surgery=surgery,
    )


def shelf(clinic: Clinic, supply, quantity: str = "10", *, cost: int = 1000, on: date = date(2026, 10, 1), **more):
    """Put a bought lot of a supply on the shelf; `donated` puts a given one there instead, at this fair value."""
    said = {
        "key": more.pop("key", uuid.uuid4()), "supply": supply, "quantity": Decimal(quantity), "arrived_on": on,
        "unit": more.pop("unit", supply.unit), "by": clinic.bookkeeper, "today": more.pop("today", TODAY), "at": AT,
    }  # fmt: skip
    if more.pop("donated", False):
        return lots.receive_donated(**said, fair_value_minor=cost, donor_id=None, **more)
    return lots.receive(**said, cost_minor=cost, **more)


def count(clinic: Clinic, supply, found: str, *, why: str = "", key: uuid.UUID | None = None, today: date = TODAY):
    return counts.count(
        key=key or uuid.uuid4(), supply=supply, found=Decimal(found), why=why, by=clinic.nurse, today=today, at=AT
    )
