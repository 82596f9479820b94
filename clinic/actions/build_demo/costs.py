"""What things cost in the demo: grades, minutes, supplies, services with a computed cost, and what all share."""

from decimal import Decimal

from clinic.actions import prices, services, shared_costs, staff, supply_prices
from clinic.actions.build_demo.diary import Diary
from clinic.models import Grade, Service, Supply, User


def set_costs(diary: Diary, *, by: User) -> None:
    """Set all of it from the opening day on; none of it changes what the price list asks."""
    _grades(diary, by=by)
    for one in diary.says["computed"]:
        made = services.add_service(code=one["code"], name=one["name"], kind=one["kind"], unit=one["unit"])
        services.fill_kit(
            service=made,
            supplies=[(code, name, unit, Decimal(each)) for code, name, unit, each in one.get("kit", ())],
        )
    _minutes(diary)
    for code, cost in diary.says["supply_prices"].items():
        supply = Supply.objects.get(code=code)
        supply_prices.set_supply_price(supply=supply, cost=Decimal(cost), starts_on=diary.first, **_signed(diary, by))
    for one in diary.says["computed"]:
        prices.set_price(
            service=Service.objects.get(code=one["code"]),
            starts_on=diary.first,
            usual_fee=Decimal(one["usual"]),
            cost_from="computed",
            asked_from=one["asked_from"],
            asked_percent=Decimal(one["percent"]),
            **_signed(diary, by),
        )
    _shared(diary, by=by)


def _signed(diary: Diary, by: User) -> dict:
    return {"by": by, "at": diary.moment(diary.first, 10)}


def _grades(diary: Diary, *, by: User) -> None:
    for said in diary.says["grade"]:
        year = {name: Decimal(said[name]) for name in ("people", "yearly_cost", "days", "hours_a_day")}
        year["break_minutes_a_day"] = said["break_minutes_a_day"]
        if "day" in said:
            grade = Grade.objects.get(name=said["name"])
            staff.set_cost(grade=grade, starts_on=diary.day(said["day"]), **year, **_signed(diary, by))
        else:
            staff.add_grade(name=said["name"], starts_on=diary.first, **year, **_signed(diary, by))


def _minutes(diary: Diary) -> None:
    grades = {grade.name: grade.pk for grade in Grade.objects.all()}
    said = diary.says["minutes"] | {one["code"]: one["minutes"] for one in diary.says["computed"]}
    for service in Service.objects.filter(code__in=said):
        minutes = {grades[name]: Decimal(each) for name, each in said[service.code].items()}
        staff.set_minutes(service=service, minutes=minutes)
        staff.set_extras(
            service=service,
            room_minutes=service.room_minutes,
            extras=[
                (words, grades[name], Decimal(each)) for words, name, each in diary.says["extras"].get(service.code, ())
            ],
        )


def _shared(diary: Diary, *, by: User) -> None:
    said = diary.says["shared_costs"]
    shared_costs.set_year(
        starts_on=diary.first,
        services=[
            shared_costs.Service(
                name=one["name"],
                cost=Decimal(one["cost"]),
                bases=tuple((name, Decimal(base)) for name, base in one["uses"].items()),
            )
            for one in said["service"]
        ],
        ward_cost=Decimal(said["ward"]),
        theater_cost=Decimal(said["theater"]),
        boarding_days=said["boarding_days"],
        theater_minutes=said["theater_minutes"],
        **_signed(diary, by),
    )
