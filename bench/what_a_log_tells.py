"""How much a log can tell of a young tank's nitrate, whatever fits it: `python -m bench.what_a_log_tells`.

Many tanks of the model are drawn and logged as the twins of the tests are. A straight-line rule from what was
known to the outlook is learned from three quarters of them and judged by the others; its error is one that a
fit can be held against, and falls with what else is known.
"""

from __future__ import annotations

import argparse
import sys

import numpy as np
import numpy.typing as npt

from backreef.calibration.evidence import at_moments, course_of, rows_needed
from backreef.calibration.fit import march_lived
from backreef.calibration.luck import LearnedDraws
from backreef.calibration.tables import number
from backreef.logbook.kits import kit_trust
from tests.twins import KITS, LOGGED_DAYS, life, rms

Array = npt.NDArray[np.float64]
ALGAE = ("A_F", "A_D", "A_T", "A_N")
HIDDEN = ("D_rock", "hand ration")
NITRATE = "nitrate_mg_n_per_l"
BLOCK, FIRST_SEED = 256, 6000
EVENING = 19 / 24
FOUR_TIMES = np.array([20.0, 40.0, 60.0, 80.0])
SMOOTHED = (3.0, 30.0, 300.0, 1000.0)
"""How far a rule is held back from following luck; the best of them is taken."""


class Tanks:
    """Many tanks: the course of each quantity, (days, tanks), and what is hidden in them."""

    def __init__(self, kind: str, count: int) -> None:
        lived = life(kind)
        layout = lived.prepared.layout
        others = (*ALGAE, "S_O2")
        rows = rows_needed(layout) | {layout.address(name) for name in others}
        courses: dict[str, list[Array]] = {}
        hidden: dict[str, list[Array]] = {}
        for seed in range(FIRST_SEED, FIRST_SEED + count // BLOCK):
            draws = LearnedDraws(seed, BLOCK)
            marched = march_lived(lived, draws, frozenset(rows))
            for name in KITS:
                courses.setdefault(name, []).append(course_of(name, layout, marched))
            for name in others:
                courses.setdefault(name, []).append(marched.row(layout.address(name)))
            for name, values in draws.learned.items():
                hidden.setdefault(name, []).append(values)
        self.courses = {name: np.concatenate(found, axis=1) for name, found in courses.items()}
        self.hidden = {name: np.concatenate(found) for name, found in hidden.items()}
        self._rng = np.random.default_rng(3)

    def even(self, series: str, values: Array) -> Array:
        """Nutrients as logarithms of the value and what the kit cannot tell from nothing."""
        if series.startswith("alkalinity"):
            return values
        trust = kit_trust(series, KITS[series])
        assert trust is not None
        return np.asarray(np.log(np.maximum(values, 0.0) + trust.error_at(0.0)))

    def read(self, at_d: Array, kits: dict[str, str] = KITS, *, errs: bool = True) -> list[Array]:
        """What kits show on some days, in rows."""
        found = []
        for series, kit in kits.items():
            trust = kit_trust(series, kit)
            assert trust is not None
            values = at_moments(self.courses[series], at_d)
            common = number("kit_common_frac")
            luck = self._rng.standard_normal(values.shape[1]) * common**0.5
            luck = luck + self._rng.standard_normal(values.shape) * (1 - common) ** 0.5
            if errs:
                values = values + np.hypot(trust.relative_error_frac * values, trust.absolute_error) * luck
                values = np.maximum(0.0, np.round(values / trust.resolution) * trust.resolution)
            found.append(self.even(series, values))
        return found

    def seen(self, names: tuple[str, ...], error: float = 0.0) -> list[Array]:
        """States that were seen four times, within an error of their logarithm."""
        found = [np.log(at_moments(self.courses[name], FOUR_TIMES) + 1e-3) for name in names]
        return [one + error * self._rng.standard_normal(one.shape) for one in found]

    def left(self, known: list[Array]) -> float:
        """Root mean square error of the rule at the end, in tanks that it was not learned from."""
        end = self.even(NITRATE, self.courses[NITRATE][-1])
        facts = np.concatenate([np.atleast_2d(one) for one in known]).T
        facts = (facts - facts.mean(axis=0)) / (facts.std(axis=0) + 1e-9)
        learned = len(end) * 3 // 4
        of, to = facts[:learned], end[:learned] - end[:learned].mean()
        errors = []
        for held in SMOOTHED:
            rule = np.linalg.solve(of.T @ of + held * np.eye(of.shape[1]), of.T @ to)
            errors.append(rms(list(facts[learned:] @ rule + end[:learned].mean() - end[learned:])))
        return min(errors)

    def of_the_plan(self) -> float:
        """The error of the middle of all tanks."""
        end = self.even(NITRATE, self.courses[NITRATE][-1])
        learned = len(end) * 3 // 4
        return rms(list(np.median(end[:learned]) - end[learned:]))


def main() -> None:
    """Print what is left of the plan's error, for each thing that may be known."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--tanks", type=int, default=4096)
    parser.add_argument("--kind", choices=("seeded", "established"), default="seeded")
    wanted = parser.parse_args()
    tanks = Tanks(wanted.kind, wanted.tanks)
    weekly = np.arange(5.0, LOGGED_DAYS, 7.0) + EVENING
    kept = tanks.read(weekly)
    table = {
        "nothing: the plan alone": tanks.of_the_plan(),
        "three kits once a week": tanks.left(kept),
        "twice a week": tanks.left(tanks.read(np.arange(3.0, LOGGED_DAYS, 3.5) + EVENING)),
        "nitrate by photometer": tanks.left(tanks.read(weekly, KITS | {NITRATE: "photometer"})),
        "once a week without error": tanks.left(tanks.read(weekly, errs=False)),
        "every day without error": tanks.left(tanks.read(np.arange(2.0, LOGGED_DAYS) + EVENING, errs=False)),
        "kits, and algae four times": tanks.left(kept + tanks.seen(ALGAE)),
        "kits, and algae within a factor of 1.5": tanks.left(kept + tanks.seen(ALGAE, 0.4)),
        "kits, and oxygen at midnight four times": tanks.left(kept + tanks.seen(("S_O2",))),
        **{f"kits, and {name}": tanks.left([*kept, tanks.hidden[name]]) for name in HIDDEN},
        "kits, and every hidden number": tanks.left([*kept, *tanks.hidden.values()]),
    }
    for known, error in table.items():
        sys.stdout.write(f"{known:42} {error:.2f}\n")


if __name__ == "__main__":
    main()
