"""Stage 1 of the planner against the number of animals to choose from, and HiGHS beside CP-SAT, in one run.

`python -m bench.planner` needs requirements-bench.txt. The instances are made up (a seed decides them): that
many kinds, a tenth as many wishes, one pair in twenty that fights, responses drawn at random. Each is solved
for eight budgets of minutes, as the frontier of a proposal is. Both solvers get the same rows, coefficients
rounded to thousandths, one thread each, and the same limit of seconds; CP-SAT runs in a process of its own,
whose start is not counted. Seconds are those of the processor, so what else runs matters little, but
the limit is one of the clock; ratios may be quoted.
"""

from __future__ import annotations

import argparse
import math
import pickle
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np

from backreef.catalogue.load import load_catalogue
from backreef.planning.candidates import Candidate, Quarrel
from backreef.planning.choices import Choice
from backreef.planning.facts import MARGIN, Facts
from backreef.planning.programme import Programme, Row, Solved, violated
from backreef.planning.responses import Limit, Measured, Response
from backreef.planning.solver import solve
from backreef.planning.stock import minutes_terms, stock_programme, wish_terms
from backreef.planning.wishes import ReadWish

SIZES = (20, 60, 180, 500)
BUDGETS = 8
FINE = 1000
FIGHTS = 0.05
NITRATE = Limit(
    series="nitrate_mg_no3_per_l", label="nitrate", unit="mg/L NO3", upper=True, bound=50.0, act=25.0, days=60
)


def instance(kinds: int, seed: int) -> Facts:
    """Facts with so many made-up animals."""
    draw = np.random.default_rng(seed)
    template = load_catalogue().species["neon_goby"]
    names = [f"kind{number}" for number in range(kinds)]
    return Facts(
        candidates=tuple(
            Candidate(
                species=replace(template, id=name),
                least_count=int(draw.choice([1, 1, 1, 2, 3, 5])),
                most_count=int(draw.integers(5, 9)),
                cautions=(),
            )
            for name in names
        ),
        quarrels=tuple(
            Quarrel(first=names[one], second=names[other], what="fight", rule="fights")
            for one in range(kinds)
            for other in range(one + 1, kinds)
            if draw.random() < FIGHTS
        ),
        wishes=tuple(
            ReadWish(
                id=f"wish{number}",
                text="",
                weight=float(draw.integers(1, 10)),
                species=frozenset(draw.choice(names, size=3, replace=False).tolist()),
                least_count=int(draw.integers(1, 5)),
                named=True,
            )
            for number in range(max(4, kinds // 10))
        ),
        feedings=(Choice(id="fed", kind="feeding", words="", change=lambda plan: plan),),
        choices=(),
        limits=(NITRATE,),
        base=Measured(
            water={NITRATE.name: np.full(8, 15.0)},
            minutes_per_month=50.0,
            quarter_min_per_month=50.0,
            arrival_min=0.0,
            offered_g_per_d=2.0,
            eaten_g_per_d={},
            eaten_by_all_g_per_d=0.1,
            slowest_per_day=np.full(1095, 50.0 / 30.4),
        ),
        responses={
            name: Response(
                water={NITRATE.name: round(float(draw.uniform(0.0, 2.0)), 3)},
                minutes_per_month=round(float(draw.uniform(0.5, 4.0)), 3),
                quarter_min_per_month=0.0,
                arrival_min=round(float(draw.uniform(30.0, 90.0)), 3),
                eaten_g_per_d=round(float(draw.uniform(0.01, 0.15)), 3),
            )
            for name in names
        },
        food_response=Response(water={NITRATE.name: 20.0}, minutes_per_month=0.0, quarter_min_per_month=0.0),
        eaten_frac=0.7,
        least_steps=1,
        most_steps=40,
        budget_min_per_month=120.0,
        further_frac=0.3,
    )


def programmes(facts: Facts) -> list[Programme]:
    """The programme without margins for each budget, in whole thousandths."""
    whole = stock_programme(facts)
    rows = tuple(_rounded(row) for row in whole.rows if row.rule != "margin")
    variables = tuple(one for one in whole.variables if one.name != MARGIN)
    bare = Programme(variables=variables, rows=rows, aim=dict(wish_terms(facts)))
    terms = {name: _thousandths(value) for name, value in minutes_terms(facts).items()}
    top = facts.budget_min_per_month - facts.base.minutes_per_month
    return [
        bare.aiming(
            bare.aim,
            Row(rule="budget", about=str(part), terms=terms, high=_thousandths(top * part / BUDGETS)),
        )
        for part in range(1, BUDGETS + 1)
    ]


def _thousandths(value: float) -> float:
    return value if math.isinf(value) else round(value * FINE) / FINE


def _rounded(row: Row) -> Row:
    terms = {name: _thousandths(value) for name, value in row.terms.items()}
    return replace(row, terms=terms, low=_thousandths(row.low), high=_thousandths(row.high))


def ours(each: list[Programme], limit_s: float) -> tuple[float, list[Solved]]:
    """Processor seconds and answers of the planner's own door."""
    started = time.process_time()
    answers = [solve(programme, limit_s=limit_s) for programme in each]
    return time.process_time() - started, answers


def theirs(each: list[Programme], limit_s: float) -> tuple[float, list[Solved]]:
    """Processor seconds and answers of CP-SAT, its start left out."""
    done = subprocess.run(
        [sys.executable, "-m", "bench.cp_sat"],
        input=pickle.dumps((each, limit_s)),
        capture_output=True,
        check=True,
    )
    lasted_s, answers = pickle.loads(done.stdout)  # noqa: S301  our own process wrote it
    return lasted_s, answers


def proved(each: list[Programme], answers: list[Solved]) -> int:
    """How many answers are proved; each that was given is checked."""
    for programme, answer in zip(each, answers, strict=True):
        assert not answer.found or violated(programme, answer.chosen) == []
    return sum(answer.status == "optimal" for answer in answers)


def main() -> None:
    """Print one row for each size and solver."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="*", default=SIZES)
    parser.add_argument("--limit", type=float, default=20.0, help="seconds for one budget")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    print("kinds  variables  rows   HiGHS s  proved   CP-SAT s  proved   CP-SAT / HiGHS")
    for kinds in asked.sizes:
        each = programmes(instance(kinds, asked.seed))
        ours_s, answers = ours(each, asked.limit)
        theirs_s, others = theirs(each, asked.limit)
        for one, other in zip(answers, others, strict=True):
            if one.status == other.status == "optimal":
                assert math.isclose(one.value, other.value, abs_tol=1e-6), (one.value, other.value)
        size = f"{kinds:5d}  {len(each[0].variables):9d}  {len(each[0].rows):5d}"
        left = f"{ours_s:8.2f}  {proved(each, answers)}/{BUDGETS}"
        right = f"{theirs_s:8.2f}  {proved(each, others)}/{BUDGETS}"
        print(f"{size}  {left}     {right}     {theirs_s / ours_s:8.2f}", flush=True)


if __name__ == "__main__":
    main()
