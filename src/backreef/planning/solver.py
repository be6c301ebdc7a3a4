"""The one door to a solver: an integer programme goes in, what was found and how sure it is comes out."""

from __future__ import annotations

import math

import highspy
import numpy as np

from backreef.planning.programme import WHOLE, Programme, Solved, Status
from backreef.simulation.tables import InItsUnit

FEASIBILITY = 1e-9


def solve(programme: Programme, *, seed: int = 1, limit_s: float = 20.0) -> Solved:
    """Solve a programme to proof, or as far as the seconds allow; equal seeds give equal answers."""
    if not programme.variables:
        return _without_variables(programme)
    highs = highspy.Highs()  # type: ignore[no-untyped-call]  # it ships no annotation for it
    options = {
        "output_flag": False,
        "threads": 1,
        "random_seed": seed,
        "mip_rel_gap": 0.0,
        "mip_feasibility_tolerance": FEASIBILITY,
        "primal_feasibility_tolerance": FEASIBILITY,
        "time_limit": limit_s,
    }
    for name, value in options.items():
        highs.setOptionValue(name, value)
    highs.passModel(_model(programme))
    highs.run()
    return _answer(programme, highs)


def _model(programme: Programme) -> highspy.HighsLp:
    place = {variable.name: number for number, variable in enumerate(programme.variables)}
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(place), len(programme.rows)
    model.sense_ = highspy.ObjSense.kMaximize
    costs = np.zeros(len(place))
    for name, coefficient in programme.aim.items():
        costs[place[name]] = coefficient
    model.col_cost_ = costs
    model.col_lower_ = np.array([_bound(variable.low) for variable in programme.variables])
    model.col_upper_ = np.array([_bound(variable.high) for variable in programme.variables])
    model.integrality_ = [
        highspy.HighsVarType.kInteger if variable.whole else highspy.HighsVarType.kContinuous
        for variable in programme.variables
    ]
    model.row_lower_ = np.array([_bound(row.low) for row in programme.rows])
    model.row_upper_ = np.array([_bound(row.high) for row in programme.rows])
    starts, places, values = [0], [], []
    for row in programme.rows:
        places += [place[name] for name in row.terms]
        values += list(row.terms.values())
        starts.append(len(places))
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.array(starts, dtype=np.int32)
    model.a_matrix_.index_ = np.array(places, dtype=np.int32)
    model.a_matrix_.value_ = np.array(values, dtype=np.float64)
    return model


def _bound(value: InItsUnit) -> InItsUnit:
    return math.copysign(highspy.kHighsInf, value) if math.isinf(value) else float(value)


def _answer(programme: Programme, highs: highspy.Highs) -> Solved:
    status, info = highs.getModelStatus(), highs.getInfo()
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return Solved(status="infeasible", value=math.nan, bound=-math.inf, chosen={})
    feasible = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    if not feasible:
        return Solved(status="unsolved", value=math.nan, bound=math.inf, chosen={})
    values = highs.getSolution().col_value
    chosen = {
        variable.name: float(round(value)) if variable.whole else float(value)
        for variable, value in zip(programme.variables, values, strict=True)
    }
    value = sum(coefficient * chosen[name] for name, coefficient in programme.aim.items())
    proved: Status = "optimal" if status == highspy.HighsModelStatus.kOptimal else "feasible"
    whole = any(variable.whole for variable in programme.variables)
    bound = info.mip_dual_bound if whole else value
    return Solved(
        status=proved, value=value, bound=value if proved == "optimal" else float(bound), chosen=chosen
    )


def _without_variables(programme: Programme) -> Solved:
    """A programme that leaves nothing to decide holds as it is, or not at all."""
    holds = all(row.low <= WHOLE and row.high >= -WHOLE for row in programme.rows)
    if holds:
        return Solved(status="optimal", value=0.0, bound=0.0, chosen={})
    return Solved(status="infeasible", value=math.nan, bound=-math.inf, chosen={})
