"""The treatment path of the diary: planned, decided, and each operation's result."""

from collections import defaultdict
from datetime import date
from decimal import Decimal

from clinic.actions import approvals, medical_lines, path_decisions, path_results, path_reviews, paths
from clinic.actions import earlier_paths as earlier
from clinic.actions.build_demo.diary import Diary, key, minor
from clinic.actions.build_demo.setting import Scene
from clinic.forms.path_steps import EarlierOperation
from clinic.models import PathStep, TreatmentPath
from clinic.queries import path_course


class Paths:
    def __init__(self, diary: Diary, scene: Scene) -> None:
        self.diary, self.scene = diary, scene
        self.plans: dict[date, list[dict]] = defaultdict(list)
        for animal in diary.says["animal"]:
            if "path" in animal:
                self.plans[diary.day(animal["path"]["day"])].append(animal)
        self.made: dict[str, TreatmentPath] = {}

    def key_of(self, name: str) -> str:
        return self.made[name].key if name in self.made else ""

    def live(self, day: date) -> None:
        """Plan what is planned today, then decide, then write down how the operation before it came out."""
        for animal in self.plans[day]:
            self._plan(animal, day)
        for animal in self.diary.says["animal"]:
            if animal["name"] in self.made:
                self._results(animal, day)
                self._decisions(animal, day)
                self._approvals(animal, day)
                self._reviews(animal, day)
                self._end(animal, day)
                self._lines(animal, day)

    def _plan(self, animal: dict, day: date) -> None:
        said = animal["path"]
        self.made[animal["name"]] = paths.plan(
            key=key(f"path {animal['name']}"),
            animal=self.scene.animals[animal["name"]],
            name=said["name"],
            keeps=said["keeps"],
            operations=[
                paths.OperationSaid(
                    **self._step(operation),
                    chance=Decimal(operation["chance"]),
                    chance_source="vet",
                    chance_words=operation["words"],
                    chance_low=Decimal(operation["least"]) if "least" in operation else None,
                    chance_high=Decimal(operation["most"]) if "most" in operation else None,
                    days_low=operation.get("days_least"),
                    days_high=operation.get("days_most"),
                )
                for operation in said["operations"]
            ],
            after_success=paths.StepSaid(**self._step(said["after_success"])),
            fallback=paths.StepSaid(**self._step(said["fallback"])),
            single=paths.SingleSaid(
                **self._step(said["single"]),
                complication_chance=Decimal(said["single"]["complication"]),
                complication_cost=Decimal(said["single"]["complication_cost"]),
            ),
            by=self.scene.people["noor"],
            on=day,
            at=self.diary.moment(day, 8),
        )

    def _step(self, said: dict) -> dict:
        return {
            "service": self.scene.services.get(said.get("service", "")),
            "days": said["days"],
            "level": self.scene.levels[said["level"]],
            "daily_service": self.scene.services.get(said.get("daily", "")),
        }

    def _results(self, animal: dict, day: date) -> None:
        """What came of an operation is known on its day, or else on the day of the decision after it."""
        decided = [self.diary.day(decision["day"]) for decision in animal["path"]["decisions"]]
        for number, operation in enumerate(animal["path"]["operations"], start=1):
            if "done" not in operation:
                continue
            done = self.diary.day(operation["done"])
            after = next((on for on in decided if on > done), self.diary.day(-1))
            known = self.diary.day(operation["known"]) if "known" in operation else after
            if day == known:
                path_results.record_result(
                    step=PathStep.objects.get(path=self.made[animal["name"]], part="operation", position=number),
                    result=operation["result"],
                    complication="",
                    on=done,
                    by=self.scene.people["noor"],
                    today=day,
                    at=self.diary.moment(day, 8, 20),
                )

    def _decisions(self, animal: dict, day: date) -> None:
        for decision in animal["path"]["decisions"]:
            if self.diary.day(decision["day"]) == day:
                path_decisions.decide(
                    key=key(f"decision {animal['name']} {day}"),
                    path=self.made[animal["name"]],
                    choice=decision["choice"],
                    why=decision["why"],
                    vet=self.scene.people["noor"],
                    manager=self.scene.people["amos"],
                    on=day,
                    by=self.scene.people["noor"],
                    today=day,
                    at=self.diary.moment(day, 8, 30),
                )

    def _end(self, animal: dict, day: date) -> None:
        said = animal["path"]
        if "ended" in said and self.diary.day(said["ended"]) == day:
            path_results.end(
                path=self.made[animal["name"]],
                ending=said["ending"],
                on=day,
                by=self.scene.people["noor"],
                today=day,
                at=self.diary.moment(day, 10),
            )

    def _lines(self, animal: dict, day: date) -> None:
        """What donors read of how it went, as the vet approved it that evening."""
        for said in animal["path"].get("lines", ()):
            if self.diary.day(said["day"]) == day:
                path = self.made[animal["name"]]
                course = path_course.course(path=path)
                medical_lines.approve(
                    key=key(f"medical line {animal['name']} {day}"),
                    path=path,
                    state=course.states[-1].code if course else "",
                    words=said["words"],
                    by=self.scene.people["noor"],
                    at=self.diary.moment(day, 17),
                )

    def _reviews(self, animal: dict, day: date) -> None:
        for number, said in enumerate(animal["path"].get("reviews", ())):
            if self.diary.day(said["day"]) == day:
                path_reviews.set_point(
                    key=key(f"review {animal['name']} {number}"),
                    path=self.made[animal["name"]],
                    kind=said["kind"],
                    on=self.diary.day(said["on"]) if "on" in said else None,
                    limit_minor=minor(said["limit"]) if "limit" in said else None,
                    finding=said.get("finding", ""),
                    by=self.scene.people["noor"],
                    today=day,
                    at=self.diary.moment(day, 9, 10),
                )

    def _approvals(self, animal: dict, day: date) -> None:
        """The owner's yes to the plan, as the manager wrote it down."""
        for said in animal["path"].get("approvals", ()):
            if self.diary.day(said["day"]) == day:
                approvals.approve(
                    key=key(f"approval {animal['name']} {day}"),
                    animal=self.scene.animals[animal["name"]],
                    path=self.made[animal["name"]],
                    words=said["words"],
                    amount_minor=minor(said["amount"]),
                    given_by=said["by"],
                    given_on=day,
                    how=said["how"],
                    by=self.scene.people["amos"],
                    today=day,
                    at=self.diary.moment(day, 9),
                )


def earlier_paths(diary: Diary, scene: Scene) -> None:
    """The clinic's own cases from before the opening, as the vet wrote them down on the first day."""
    for said in diary.says["earlier_path"]:
        earlier.remember(
            key=key(f"earlier path {said['animal']}"),
            animal=said["animal"],
            species=said["species"],
            name=said["name"],
            parted_on=diary.day(said["chosen"]),
            ended_on=diary.day(said["ended"]),
            ending=said["ending"],
            operations=[
                EarlierOperation(
                    service=scene.services[one["service"]], done_on=diary.day(one["day"]), result=one["result"]
                )
                for one in said["operations"]
            ],
            by=scene.people["noor"],
            at=diary.moment(diary.first, 9),
        )
