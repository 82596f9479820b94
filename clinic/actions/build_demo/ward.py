"""The ward of the diary: who comes, what is ordered and given in each round, who leaves."""

from collections import defaultdict
from datetime import date
from decimal import Decimal
from pathlib import Path

from clinic.actions import animals, appeals, care, evenings, follow_ups, groups, observations, orders, photos, stays
from clinic.actions.build_demo.diary import Diary, key, minor
from clinic.actions.build_demo.paths import Paths
from clinic.actions.build_demo.setting import Scene
from clinic.forms.observed import WoundSaid
from clinic.formulas import rounds, sheet_keys
from clinic.models import Order, Stay
from config import uploads

HOURS = {"morning": 7, "midday": 12, "evening": 18, "night": 22}
# Who has which rounds, and writes them down together when the last of them is done.
SHIFTS = (("pilar", ("morning", "midday")), ("teo", ("evening", "night")))


class Ward:
    def __init__(self, diary: Diary, scene: Scene, *, folder: Path) -> None:
        self.diary, self.scene, self.folder = diary, scene, folder
        self.comes: dict[date, list[dict]] = defaultdict(list)
        self.leaves: dict[date, list[dict]] = defaultdict(list)
        self.begins: dict[date, list[tuple[dict, dict]]] = defaultdict(list)
        self.facts: dict[date, list[tuple[dict, str, dict]]] = defaultdict(list)
        for animal in diary.says["animal"]:
            self._enter(animal)
        self.stays: dict[str, Stay] = {}
        self.gone: set[str] = set()
        self.to_sign: set[date] = set()  # the days that made a night or gave anything
        self.orders: list[tuple[Order, frozenset[date]]] = []
        self.paths = Paths(diary, scene)

    def _enter(self, animal: dict) -> None:
        self.comes[self.diary.day(animal["from"])].append(animal)
        if "left" in animal:
            self.leaves[self.diary.day(animal["left"])].append(animal)
        for order in animal.get("orders", ()):
            self.begins[self.diary.day(order["from"])].append((animal, order))
        for kind in ("care", "procedures", "notes", "wounds", "answers", "photos", "appeals"):
            for fact in animal.get(kind, ()):
                self.facts[self.diary.day(fact["day"])].append((animal, kind, fact))

    def live(self, day: date, *, until_round: str = "") -> None:
        """Live one day of the ward, and see everybody; or live it up to a round that is only begun."""
        for animal in self.comes[day]:
            self._admit(animal, day)
        for animal, order in self.begins[day]:
            self._order(animal, order, day)
        for group in self.diary.says["group"]:
            if self.diary.day(group["day"]) == day:
                self._together(group, day)
        self.paths.live(day)
        for animal, kind, fact in self.facts[day]:
            getattr(self, f"_{kind}")(animal, fact, day)
        given = [kind for _, kind, _ in self.facts[day] if kind in {"care", "procedures"}]
        lived = rounds.until(until_round or "night")
        ticked = [
            self._shift(day, who, [name for name in names if name in lived], begun=until_round) for who, names in SHIFTS
        ]
        if self.stays.keys() - self.gone and not until_round:
            evenings.confirm(on=day, by=self.scene.people["teo"], today=day, at=self.diary.moment(day, 21, 10))
        for animal in self.leaves[day]:
            self._leave(animal, day)
        if given or any(ticked) or self.comes[day] or self.stays.keys() - self.gone:
            self.to_sign.add(day)

    def _admit(self, animal: dict, day: date) -> None:
        stay = animals.admit(
            key=key(f"animal {animal['name']}"),
            name=animal["name"],
            species=animal["species"],
            sex=animal.get("sex", "unknown"),
            born_on=self.diary.day(animal["born"]) if "born" in animal else None,
            partner=self.scene.partners.get(animal.get("partner")),
            partner_number=animal.get("partner_number", ""),
            chip=animal.get("chip", ""),
            about=animal["about"],
            warning=animal.get("warning", ""),
            admitted_on=day,
            place=self.scene.places[animal["place"]],
            level=self.scene.levels[animal["level"]],
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 7),
        )
        self.stays[animal["name"]] = stay
        self.scene.animals[animal["name"]] = stay.animal

    def _together(self, said: dict, day: date) -> None:
        """Make a group, and order for all of it; as it is made today, nobody has been on that round yet."""
        by = {"by": self.scene.people["noor"], "at": self.diary.moment(day, 7, 25)}
        members = [self.scene.animals[name] for name in said["members"]]
        group = groups.form(key=key(f"group {said['name']}"), name=said["name"], members=members, today=day, **by)
        for order in said["orders"]:
            groups.order(
                key=key(f"order {said['name']} {order['service']}"),
                group=group,
                on=day,
                service=self.scene.services[order["service"]],
                rounds=order["rounds"],
                starts_on=day,
                **by,
            )

    def _order(self, animal: dict, said: dict, day: date) -> None:
        order = orders.give(
            key=key(f"order {animal['name']} {said['service']} {day}"),
            animal=self.scene.animals[animal["name"]],
            service=self.scene.services[said["service"]],
            rounds=said["rounds"],
            every_days=said.get("every", 1),
            starts_on=day,
            until_on=self.diary.day(said["until"]) if "until" in said else None,
            by=self.scene.people["noor"],
            at=self.diary.moment(day, 7, 20),
        )
        self.orders.append((order, frozenset(self.diary.day(offset) for offset in said.get("missed", ()))))

    def _shift(self, day: date, who: str, names: list[str], *, begun: str) -> bool:
        """Give what is due in a shift's rounds and write it down, all at once; say whether there was any."""
        facts = [
            care.Given(
                key=sheet_keys.tick(day, order_key=order.key, round_name=name, turn=0),
                animal=order.animal,
                on=day,
                service=order.service,
                order=order,
                round=name,
            )
            for name in names
            for order, missed in self.orders
            if name in order.rounds
            and order.is_due_on(day)
            and day not in missed
            and (name != begun or self._is_reached(order))
        ]
        if facts:
            at = self.diary.moment(day, HOURS[names[-1]], 40)
            care.record_all(facts=facts, by=self.scene.people[who], today=day, at=at)
        return bool(facts)

    def _is_reached(self, order: Order) -> bool:
        """A round that is only begun has come as far as these places."""
        return self.stays[order.animal.name].place.code in {"A1", "A3", "I1"}

    def _care(self, animal: dict, fact: dict, day: date) -> None:
        care.record(
            key=key(f"care {animal['name']} {fact['service']} {day}"),
            animal=self.scene.animals[animal["name"]],
            on=day,
            service=self.scene.services[fact["service"]],
            quantity=Decimal(fact.get("quantity", "1")),
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 9),
        )

    def _procedures(self, animal: dict, fact: dict, day: date) -> None:
        item = care.record(
            key=key(f"procedure {animal['name']} {fact['service']} {day}"),
            animal=self.scene.animals[animal["name"]],
            on=day,
            service=self.scene.services[fact["service"]],
            emergency=fact.get("emergency", False),
            path_key=self.paths.key_of(animal["name"]) if fact.get("on_path") else "",
            by=self.scene.people["noor"],
            today=day,
            at=self.diary.moment(day, 10),
        )
        care.operate(
            item=item, asa_class=fact["asa"], vet=self.scene.people["noor"], anesthesia_minutes=fact["minutes"]
        )

    def _notes(self, animal: dict, fact: dict, day: date) -> None:
        care.observe(
            key=key(f"{fact.get('kind', 'note')} {animal['name']} {day}"),
            animal=self.scene.animals[animal["name"]],
            on=day,
            kind=fact.get("kind", "note"),
            words=fact.get("words", ""),
            value=Decimal(fact["value"]) if "value" in fact else None,
            maximum=Decimal(fact["of"]) if "of" in fact else None,
            unit=fact.get("unit", ""),
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 8, 12),
        )

    def _wounds(self, animal: dict, fact: dict, day: date) -> None:
        figures = {"length_mm": Decimal(fact["length"]), "width_mm": Decimal(fact["width"])}
        observations.read_wound(
            key=key(f"wound {animal['name']} {day}"),
            animal=self.scene.animals[animal["name"]],
            said=WoundSaid(wound=fact["wound"], method="axes", **figures),
            on=day,
            by=self.scene.people["noor"],
            today=day,
            at=self.diary.moment(day, 8, 14),
        )

    def _answers(self, animal: dict, said: dict, day: date) -> None:
        asked = self.scene.animals[animal["name"]].follow_ups.get(words=said["asked"], result="")
        follow_ups.done(
            follow_up=asked,
            result=said["result"],
            words=said.get("words", ""),
            done_on=day,
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 11),
        )

    def _appeals(self, animal: dict, said: dict, day: date) -> None:
        appeals.ask(
            key=key(f"appeal {animal['name']} {day}"),
            animal=self.scene.animals[animal["name"]],
            fund_id=self.scene.funds[said["fund"]],
            words=said["words"],
            need_minor=minor(said["need"]),
            reserve_minor=minor(said["reserve"]),
            by=self.scene.people["greta"],
            on=day,
            at=self.diary.moment(day, 15),
        )

    def _photos(self, animal: dict, said: dict, day: date) -> None:
        photo = photos.add(
            key=key(f"photo {said['file']}"),
            animal=self.scene.animals[animal["name"]],
            file=uploads.keep((self.folder / said["file"]).read_bytes(), pictures_only=True),
            taken_on=day,
            words=said["words"],
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 9, 30),
        )
        if "agreed" in said:
            photos.consent(
                key=key(f"consent {said['file']}"),
                photo=photo,
                uses=said["agreed"],
                owner_said=said["by"],
                people="",
                nobody_in_it=True,
                from_on=day,
                until_on=None,
                by=self.scene.people["greta"],
                today=day,
                at=self.diary.moment(day, 13),
            )

    def _leave(self, animal: dict, day: date) -> None:
        stays.discharge(
            stay=self.stays[animal["name"]],
            discharged_on=day,
            left_to=animal["left_to"],
            why=animal.get("why", ""),
            left_with=animal.get("left_with", ""),
            ask=(animal["ask_after"], animal["ask"]) if "ask" in animal else None,
            by=self.scene.people["noor"],
            today=day,
            at=self.diary.moment(day, 16),
        )
        self.gone.add(animal["name"])
        gone = self.scene.animals[animal["name"]].pk
        self.orders = [(order, missed) for order, missed in self.orders if order.animal_id != gone]
