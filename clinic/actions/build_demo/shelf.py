"""The shelf of the diary: packs, lots as they arrive, one of them given, and a count that finds less."""

from collections import defaultdict
from datetime import date
from decimal import Decimal

from clinic.actions import counts, lots, supplies
from clinic.actions.build_demo.diary import Diary, key, minor
from clinic.actions.build_demo.setting import Scene
from clinic.models import Supply
from clinic.queries import supplies as shelf


class Shelf:
    def __init__(self, diary: Diary, scene: Scene) -> None:
        self.diary, self.scene = diary, scene
        self.known = {supply.code: supply for supply in Supply.objects.all()}
        self.on: dict[date, list[tuple[str, dict]]] = defaultdict(list)
        for kind in ("lot", "count"):
            for said in diary.says[kind]:
                self.on[diary.day(said["day"])].append((kind, said))
        packs: dict[str, dict[str, Decimal]] = defaultdict(dict)
        for said in diary.says["pack"]:
            packs[said["supply"]][said["name"]] = Decimal(said["holds"])
        for code, held in packs.items():
            supplies.set_packs(supply=self.known[code], packs=held)

    def live(self, day: date) -> None:
        for kind, said in self.on[day]:
            self._arrives(said, day) if kind == "lot" else self._count(said, day)

    def _arrives(self, said: dict, day: date) -> None:
        facts = {
            "key": key(f"lot {said['supply']} {day}"),
            "supply": self.known[said["supply"]],
            "quantity": Decimal(said["quantity"]),
            "unit": said["unit"],
            "arrived_on": day,
            "number": said.get("number", ""),
            "expires_on": self.diary.day(said["expires"]) if "expires" in said else None,
            "by": self.scene.people["greta"],
            "today": day,
            "at": self.diary.moment(day, 12),
        }
        if "donor" in said:
            donor = self.scene.donors[said["donor"]]
            lots.receive_donated(**facts, fair_value_minor=minor(said["value"]), donor_id=donor)
        else:
            lots.receive(**facts, cost_minor=minor(said["cost"]), words=said["from"])

    def _count(self, said: dict, day: date) -> None:
        supply = self.known[said["supply"]]
        line = next(one for one in shelf.supplies(today=day).lines if one.supply_id == supply.pk)
        counts.count(
            key=key(f"count {said['supply']} {day}"),
            supply=supply,
            found=line.shelf - Decimal(said["missing"]),
            why=said["why"],
            by=self.scene.people["pilar"],
            today=day,
            at=self.diary.moment(day, 12, 30),
        )
