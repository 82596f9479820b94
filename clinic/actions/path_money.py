"""What a decision on a path does with fund money: a ceiling for general money, and money set aside for what comes next.

The first decision freezes what the single procedure would have cost: general money pays no more than that (D3).
Each decision sets aside what its next step asks with its days, from the funds that would pay it today, and frees what
the decision before had set aside (D4). Setting aside too much warns on the page and blocks nothing.
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from clinic.formulas.running_costs import FrozenSingle
from clinic.models import PathDecision, TreatmentPath, User
from clinic.queries import path_funds
from clinic.queries.path_plan import PricedPath, frozen_single
from clinic.queries.plan_keys import plan_key
from ledger.actions import commitments, limits
from ledger.formulas import money

Choice = PathDecision.Choice


def decided(*, key: UUID, path: TreatmentPath, choice: str, priced: PricedPath, on: date, by: User) -> None:
    """Freeze the ceiling at the first decision, and set aside what the decided step asks."""
    plan = plan_key(path)
    if choice == Choice.STAGED:
        most = ceiling_minor(frozen_single(priced=priced))
        limits.set_ceiling(plan_key=plan, subject_key=path.animal.key, most_minor=most, on=on, by=by.pk)
    commitments.free(plan_key=plan, on=on, by=by.pk, why="decided anew")
    if choice == Choice.END:
        return
    step = priced.single if choice == Choice.CONVERT else priced.left[0]
    amounts = path_funds.amounts(priced=priced, step=step, on=on)
    if amounts:
        commitments.commit(
            key=key,
            subject_key=path.animal.key,
            party_key=path.animal.partner.key if path.animal.partner else "",
            plan_key=plan,
            amounts=amounts,
            words=f"{path.animal.name or path.animal.number}: {step.words}, with its days"[:120],
            on=on,
            by=by.pk,
        )


def ended(*, path: TreatmentPath, on: date, by: User) -> None:
    """Every end frees what was set aside (G4)."""
    commitments.free(plan_key=plan_key(path), on=on, by=by.pk, why=f"the path ended: {path.get_ending_display()}")


def ceiling_minor(single: FrozenSingle) -> int:
    """Return what the single procedure would have cost, its days and its complication on average among it."""
    return money.half_up(single.procedure_minor + single.days * single.daily_minor + single.complication_minor)
