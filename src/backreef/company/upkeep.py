"""Rules of the upkeep: conditions that a forecast cannot follow."""

from __future__ import annotations

from backreef.aquarium.series import all_series
from backreef.company.findings import CheckFinding, Found, Rule, Setting


def blind_condition(setting: Setting) -> Found:
    """A chore that waits for a reading which no forecast has; it is then done every time."""
    known = {series.series: series for series in all_series()}
    for upkeep in setting.plan.upkeep:
        if upkeep.when is None or known[upkeep.when.series].forecast:
            continue
        label = known[upkeep.when.series].label
        yield CheckFinding(
            id=f"condition.{upkeep.id}",
            balance="hands",
            weight="note",
            who="the keeper",
            what=f"{upkeep.id}: '{upkeep.when.text}' cannot be judged by a forecast",
            why=f"the model does not follow {label}, so the forecast lets the chore be done every time "
            "and counts its minutes",
            source="own model, as docs/architecture.md shows it",
            status="calc",
        )


RULES = (Rule(name="condition", look=blind_condition, reads=(), plan=("upkeep[].when",)),)
