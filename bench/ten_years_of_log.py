"""Ten tanks, ten years, three readings a week: how long a log takes to load, to fit and to draw.

    python -m bench.ten_years_of_log

The store is SQLite as it ships; entries are written in one go first, which is not counted. Times are of this
process (user and system), so that they mean something on a busy machine.
"""

from __future__ import annotations

import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from backreef.logbook.db.store import DjangoStore
from backreef.logbook.entries import Entry, Reading
from backreef.logbook.store import Wanted
from backreef.reports.reconcile_html import reconcile_html
from backreef.usecases.check import load_plan
from backreef.usecases.reconcile import MEMBERS, reconcile

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


def main() -> None:
    """Print a line for each tank and the means."""
    rng = np.random.default_rng(1)
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        store = DjangoStore(str(Path(folder) / "log.sqlite3"), create=True)
        names = [f"tank {number}" for number in range(1, TANKS + 1)]
        for name in names:
            store.add(entries_of(name, rng))
        for name in names:
            path = Path(folder) / "plan.toml"
            path.write_text(PLAN.format(name=name), encoding="utf-8")
            plan = load_plan(path)
            began = time.process_time()
            entries = store.entries(Wanted(tank=name))
            loaded = time.process_time()
            found = reconcile(plan, entries, members=MEMBERS)
            fitted = time.process_time()
            page = reconcile_html(found)
            drawn = time.process_time()
            rows.append((loaded - began, fitted - loaded, drawn - fitted))
            used = sum(one.used for one in found.readings)
            print(
                f"{name}: {len(entries)} entries loaded in {rows[-1][0]:.2f} s, {used} readings fitted in "
                f"{rows[-1][1]:.1f} s, page of {len(page) // 1000} kB drawn in {rows[-1][2]:.2f} s"
            )
        store.close()
    load, fit, draw = (sum(column) / TANKS for column in zip(*rows, strict=True))
    print(f"mean of processor time: load {load:.2f} s, fit {fit:.1f} s, draw {draw:.2f} s")


if __name__ == "__main__":
    main()
