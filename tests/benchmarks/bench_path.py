"""The distribution and the best rule of twelve operations, beside a million simulated runs of the same plan."""

import time
from fractions import Fraction

from tests.benchmarks.bench import Row

RUNS, TIMES = 1_000_000, 20


def rows() -> list[Row]:
    from clinic.formulas.staged_path import Operation, Plan, Single, Step, best_stop, worth_trying
    from clinic.formulas.staged_path_prospect import prospect
    from tests.reference.test_staged_path_seen_otherwise import simulated

    plan = Plan(
        operations=tuple(
            Operation(cost=Fraction(120000 + 7000 * n, 3), days=Fraction(14 + n), success=Fraction(60 - 3 * n, 100))
            for n in range(12)
        ),
        after_success=Step(cost=Fraction(20000), days=Fraction(7)),
        fallback=Step(cost=Fraction(260000), days=Fraction(12)),
        single=Single(cost=Fraction(260000), days=Fraction(12)),
        daily_cost=Fraction(3600),
    )
    began = time.perf_counter()
    for _ in range(TIMES):
        prospect(plan=plan, operations=best_stop(answers=worth_trying(plan=plan)))
        prospect(plan=plan, operations=12)
    exact = (time.perf_counter() - began) / TIMES
    began = time.perf_counter()
    simulated(plan, 12, RUNS, 1)
    thrown = time.perf_counter() - began
    return [("path: 12 operations exactly, beside a hundredth of a million runs", 100 * exact / thrown, 1)]
