"""The guide to the Python interface, to be read from top to bottom and run as it is.

Each part between `# %%` lines is a cell for editors that know them. A test runs the whole.
"""

# %% A plan is a file. Checking it is quick, and finds every fault and everything that needs no simulation.
import backreef
from backreef.usecases.examples import example_plan

file = example_plan("family_first_reef")
checked = backreef.check(file)
assert checked.ok
print(f"{len(checked.findings)} things stand out, the first: {checked.findings[0].what}")

# %% A file with mistakes raises one exception that has all of them, each with its line.
from pathlib import Path
from tempfile import TemporaryDirectory

with TemporaryDirectory() as folder:
    wrong = Path(folder) / "wrong.toml"
    wrong.write_text('start_on = 2027-01-04\n[tank]\ndisplay = "66 gal"\nlids = "mesh"\n', encoding="utf-8")
    try:
        backreef.load_plan(wrong)
    except backreef.InputFaults as refused:
        for fault in refused.faults:
            print(fault.line, fault.key, fault.message)

# %% A plan that was read is a frozen object. Change it with `dataclasses.replace`; here, to look at half a year only.
from dataclasses import replace

plan = replace(backreef.load_plan(file), horizon_days=180)

# %% A forecast lives it for as many members as asked for. The same seed gives the same numbers.
forecast = backreef.forecast(plan, members=16, seed=1)
print(forecast.holds, forecast.share_holding, forecast.first_break)
for finding in forecast.findings[:3]:
    print(f"{finding.who}: {finding.what} ({finding.share_of_members:.0%} of the members)")

# %% Daily series are numpy arrays of 5, 50 and 95 % points, one value a day; with pandas they become a table.
nitrate = forecast.series["nitrate_mg_no3_per_l"]
print(f"nitrate at the end: {nitrate.p50[-1]:.1f} ({nitrate.p05[-1]:.1f} to {nitrate.p95[-1]:.1f}) mg/L")
table = forecast.to_frame()
print(table.tail(3))

# %% Two plans are compared with the same luck, so that a difference is one of the plans.
from backreef.aquarium.plan import Meal

def a_fifth_less(meal: Meal) -> Meal:
    return meal if meal.grams_as_fed is None else replace(meal, grams_as_fed=0.8 * meal.grams_as_fed)


fed_less = replace(plan, meals=tuple(a_fifth_less(meal) for meal in plan.meals))
side_by_side = backreef.compare([plan, fed_less], members=16)
for one in side_by_side.plans:
    ended = one.forecast.series["nitrate_mg_no3_per_l"]
    print(f"{one.letter}: nitrate at the end {ended.p50[-1]:.1f} mg/L, {one.forecast.share_holding:.0%} hold")

# %% Every number has a working: a tree of named quantities down to the catalogue and the lines of the plan.
working = backreef.why(file, "floor_load_kn_per_m2")
print(working.shown)
