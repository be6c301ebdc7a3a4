"""CP-SAT in a process of its own: it brings a HiGHS that cannot live beside the one of highspy.

Reads pickled programmes and a limit of seconds for each from standard input; writes the seconds that all of
them took, and the answers.
"""

from __future__ import annotations

import math
import pickle
import sys
import time

from ortools.sat.python import cp_model

from backreef.planning.programme import Programme, Solved

FINE = 1000
"""Coefficients are whole thousandths."""


def solve(programme: Programme, limit_s: float) -> Solved:
    """The programme in whole numbers, on one thread."""
    model = cp_model.CpModel()
    at = {one.name: model.new_int_var(int(one.low), int(one.high), one.name) for one in programme.variables}
    for row in programme.rows:
        total = sum(round(value * FINE) * at[name] for name, value in row.terms.items())
        if not math.isinf(row.high):
            model.add(total <= round(row.high * FINE))
        if not math.isinf(row.low):
            model.add(total >= round(row.low * FINE))
    model.maximize(sum(round(value) * at[name] for name, value in programme.aim.items()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = limit_s
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Solved(status="infeasible", value=math.nan, bound=-math.inf, chosen={})
    return Solved(
        status="optimal" if status == cp_model.OPTIMAL else "feasible",
        value=solver.objective_value,
        bound=solver.best_objective_bound,
        chosen={name: float(solver.value(variable)) for name, variable in at.items()},
    )


def main() -> None:
    """Solve what comes in."""
    programmes, limit_s = pickle.load(sys.stdin.buffer)  # noqa: S301  it comes from bench.planner
    started = time.process_time()
    answers = [solve(programme, limit_s) for programme in programmes]
    pickle.dump((time.process_time() - started, answers), sys.stdout.buffer)


if __name__ == "__main__":
    main()
