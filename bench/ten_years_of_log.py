"""Ten tanks, ten years, three readings a week: how long a log takes to load, to fit, to draw, to go on with.

    python -m bench.ten_years_of_log

The store is SQLite as it ships; entries are written in one go first, which is not counted. Times are of this
process (user and system), so that they mean something on a busy machine.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from dataclasses import astuple, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar

import numpy as np

from backreef.logbook.db.store import DjangoStore
from backreef.logbook.entries import Entry, Reading
from backreef.logbook.store import Wanted
from backreef.reports.reconcile_html import reconcile_html
from backreef.usecases import kept_fits
from backreef.usecases.check import load_plan
from backreef.usecases.kept_fits import reconcile_again

Answer = TypeVar("Answer")
TANKS, YEARS, A_WEEK = 10, 10, 3
PLAN = """\
start_on = 2016-01-04
[tank]
name = "{name}"
display = "200 L"
rock = "20 kg"
sand_area = "0.3 m2"
sand_depth = "5 cm"
start = {{ kind = "established", age = "12 months" }}
[[animals]]
id = "pair"
species = "ocellaris_clown"
count = 2
[[animals]]
id = "snails"
species = "trochus"
count = 4
[[meals]]
id = "pellets"
food = "pellet_small"
amount = "0.3 g"
by = "hand"
times = ["18:00"]
[keeper]
presence = ["Mon-Sun 8:00-20:00"]
[[upkeep]]
task = "wc_do"
share = "10 %"
every = "14 days"
"""
LEVELS = {
    "nitrate_mg_n_per_l": ("colour_card", 1.5, 0.4),
    "phosphate_mg_p_per_l": ("photometer", 0.03, 0.006),
    "alkalinity_meq_per_l": ("drop_count", 2.7, 0.1),
}


def entries_of(tank: str, rng: np.random.Generator) -> list[Entry]:
    """Three readings a week in turn, for ten years."""
    start = datetime(2016, 1, 5, 19, tzinfo=UTC)
    found = []
    for number in range(YEARS * 52 * A_WEEK):
        series = list(LEVELS)[number % len(LEVELS)]
        kit, level, spread = LEVELS[series]
        value = max(0.0, level + spread * float(rng.standard_normal()))
        at = start + timedelta(days=7 * (number // A_WEEK) + 2 * (number % A_WEEK))
        what = Reading(series=series, value=value, written=f"{value:.3g}", kit=kit)
        ident = f"{tank} {number}"
        found.append(Entry(id=ident, tank=tank, at=at, what=what, logged_at=at, who="bench", batch=tank))
    return found


@dataclass(frozen=True, slots=True)
class Taken:
    """Seconds of processor time that one tank took."""

    load: float
    fresh: float
    draw: float
    on: float
    kept: float


def timed(work: Callable[[], Answer]) -> tuple[Answer, float]:
    """What work gives, and the seconds of processor time that it took."""
    began = time.process_time()
    found = work()
    return found, time.process_time() - began


def of_tank(name: str, folder: Path, store: DjangoStore) -> Taken:
    """Load, fit afresh, draw; go on with one more reading; and ask again with nothing new."""
    path = folder / f"{name}.toml"
    path.write_text(PLAN.format(name=name), encoding="utf-8")
    entries, load = timed(lambda: store.entries(Wanted(tank=name)))
    found, fresh = timed(lambda: reconcile_again(path, entries[:-1]))
    page, draw = timed(lambda: reconcile_html(found))
    more, on = timed(lambda: reconcile_again(path, entries))
    again, kept = timed(lambda: reconcile_again(path, entries))
    assert again.origin.kept
    print(
        f"{name}: {len(entries)} entries loaded in {load:.2f} s, {len(found.readings)} readings fitted in "
        f"{fresh:.1f} s, page of {len(page) // 1000} kB drawn in {draw:.2f} s; one reading more "
        f"({more.origin.how}) {on:.2f} s, nothing more {1000 * kept:.0f} ms"
    )
    return Taken(load, fresh, draw, on if more.origin.how == "went on" else float("nan"), kept)


def main() -> None:
    """Print a line for each tank and the means."""
    rng = np.random.default_rng(1)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        setattr(kept_fits, "fits_folder", lambda: folder / "fits")  # noqa: B010  not among the keeper's own
        store = DjangoStore(str(folder / "log.sqlite3"), create=True)
        names = [f"tank {number}" for number in range(1, TANKS + 1)]
        for name in names:
            store.add(entries_of(name, rng))
        load_plan_once(folder)
        rows = np.array([astuple(of_tank(name, folder, store)) for name in names])
        store.close()
    load, fresh, draw, on, kept = np.nanmean(rows, axis=0)
    count = int(np.isfinite(rows[:, 3]).sum())
    print(f"mean of processor time: load {load:.2f} s, fresh fit {fresh:.1f} s, draw {draw:.2f} s")
    print(
        f"one reading more, gone on with in {count} of {TANKS}: {on:.2f} s, {on / fresh:.0%} of a fresh fit"
    )
    print(f"nothing more: {1000 * kept:.0f} ms, {kept / fresh:.1%} of a fresh fit")


def load_plan_once(folder: Path) -> None:
    """Read a plan, so that the first tank does not pay for the catalogue."""
    path = folder / "first.toml"
    path.write_text(PLAN.format(name="first"), encoding="utf-8")
    load_plan(path)


if __name__ == "__main__":
    main()
