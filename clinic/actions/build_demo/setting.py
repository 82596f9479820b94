"""The scene: house, holder, people, partners, rooms, price list, funds and donors."""

from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from django.contrib.auth.hashers import PBKDF2PasswordHasher

from clinic.actions import letterhead, people, prices, services, tablets
from clinic.actions.build_demo import costs
from clinic.actions.build_demo.diary import Diary, key, minor
from clinic.models import Animal, BoardingLevel, House, Partner, Place, Service, User
from config import uploads
from config.roles import Role
from ledger.actions import agreements, donors, funds, holder, opening, policies
from ledger.queries.fund_choices import fund_choices


@dataclass
class Scene:
    people: dict[str, User] = field(default_factory=dict)
    partners: dict[str, Partner] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    levels: dict[str, BoardingLevel] = field(default_factory=dict)
    services: dict[str, Service] = field(default_factory=dict)
    animals: dict[str, Animal] = field(default_factory=dict)
    funds: dict[str, int] = field(default_factory=dict)
    donors: dict[str, int] = field(default_factory=dict)


def set_the_scene(diary: Diary, *, folder: Path, password: str) -> Scene:
    scene = Scene()
    _house(diary, folder)
    for partner in diary.says["partner"]:
        scene.partners[partner["name"]] = services.add_partner(
            name=partner["name"],
            short_name=partner["short"],
            email=partner["email"],
            address=partner["address"],
            since_on=diary.first,
        )
    _people(diary, scene, password)
    by = scene.people["amos"]
    holder.set_up(**diary.says["holder"], on=diary.first, by=by.pk)
    for number, room in enumerate(diary.says["room"]):
        made = services.add_room(name=room["name"], position=number, places=room["places"])
        scene.places |= {place.code: place for place in made.places.all()}
    _price_list(diary, scene)
    _partners_money(diary, scene)
    _funds(diary, scene)
    _policies(diary, by=by)
    costs.set_costs(diary, by=scene.people["greta"])
    for donor in diary.says["donor"]:
        scene.donors[donor["name"]] = donors.add(
            key=key(f"donor {donor['name']}"),
            name=donor["name"],
            kind=donor.get("kind", "person"),
            address=donor.get("address", ""),
            email=donor.get("email", ""),
            wants=donor.get("wants", ""),
            is_unnamed=donor.get("unnamed", False),
            language=donor.get("language", ""),
            on=diary.first,
            by=scene.people["greta"].pk,
        ).pk
    return scene


def _house(diary: Diary, folder: Path) -> None:
    said, signs = diary.says["house"], diary.says["house"]["signs"]
    House.objects.create(
        pk=1,
        name=said["name"],
        address=said["address"],
        time_zone=said["zone"],
        ward_turns_at=said["turns_at"],
        opening_on=diary.first,
    )
    letterhead.change(
        name=said["name"],
        address=said["address"],
        paper="letter",
        signs_name=signs["name"],
        signs_title=signs["title"],
        signature=uploads.keep((folder / signs["file"]).read_bytes(), pictures_only=True),
    )


def _people(diary: Diary, scene: Scene, password: str) -> None:
    hasher = PBKDF2PasswordHasher()  # quick, and one for all: the password is printed for everybody
    kept = hasher.encode(password, hasher.salt(), iterations=1000)
    for person in diary.says["person"]:
        made = people.add(
            name=person["name"],
            initials=person["initials"],
            sign_in=person["sign_in"],
            roles=[Role(role) for role in person["roles"]],
            partner=scene.partners.get(person.get("partner")),
            by=scene.people.get("amos"),
            today=diary.first,
            at=diary.moment(diary.first, 7),
        )
        made.password = kept
        made.save(update_fields=["password"])
        if "code" in person:
            tablets.set_code(person=made, code=person["code"], at=diary.moment(diary.first, 7))
        scene.people[person["sign_in"]] = made


def _price_list(diary: Diary, scene: Scene) -> None:
    """Take the starting price list from the opening day on."""
    prices.take_starting_list(
        listed=diary.prices, starts_on=diary.first, by=scene.people["amos"], at=diary.moment(diary.first, 7, 30)
    )
    scene.levels = {level.name: level for level in BoardingLevel.objects.select_related("service")}
    scene.services = {service.code: service for service in Service.objects.all()}


def _partners_money(diary: Diary, scene: Scene) -> None:
    for partner in diary.says["partner"]:
        if "agreement" in partner:
            agreements.agree(
                key=key(f"agreement {partner['name']}"),
                party_key=scene.partners[partner["name"]].key,
                name=f"{partner['short']} agreement",
                percent=Decimal(partner["agreement"]),
                from_on=diary.first,
                by=scene.people["amos"].pk,
            )


def _policies(diary: Diary, *, by: User) -> None:
    for said in diary.says["policy"]:
        policies.set_policy(
            key=key(f"policy {said['code']}"),
            code=said["code"],
            value=minor(said["amount"]),
            from_on=diary.first,
            why=said["why"],
            by=by.pk,
            today=diary.first,
            at=diary.moment(diary.first, 9),
        )


def _funds(diary: Diary, scene: Scene) -> None:
    """Open the funds of the opening day with what was in them; an animal's fund opens when its day comes."""
    for fund in diary.says["fund"]:
        if "day" not in fund:
            open_fund(diary, scene, fund)
    bookkeeper = scene.people["greta"]
    for fund in diary.says["fund"]:
        if "opening" in fund:
            opening.balance(
                key=key(f"opening {fund['name']}"),
                fund_id=scene.funds[fund["name"]],
                amount_minor=minor(fund["opening"]),
                on=diary.first,
                by=bookkeeper.pk,
                today=diary.first,
                at=diary.moment(diary.first, 9),
                words="carried over from the account book",
            )


def open_fund(diary: Diary, scene: Scene, fund: dict) -> None:
    if "kind" not in fund:
        scene.funds[fund["name"]] = next(choice.id for choice in fund_choices() if choice.name == fund["name"])
        return
    partner = scene.partners.get(fund.get("partner"))
    animal = scene.animals.get(fund.get("animal"))
    scene.funds[fund["name"]] = funds.open(
        key=key(f"fund {fund['name']}"),
        kind=fund["kind"],
        name=fund["name"],
        is_restricted=fund.get("restricted", False),
        purpose=fund.get("purpose", ()),
        party_key=partner.key if partner else "",
        subject_key=animal.key if animal else "",
        given_for=fund["given_for"],
        leftover=fund.get("leftover", ""),
        on=diary.day(fund.get("day", diary.says["opening"])),
        by=scene.people["greta"].pk,
    ).pk
