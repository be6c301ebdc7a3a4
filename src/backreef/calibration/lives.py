"""The days of a plan that a log is set against, made ready to march: as they were lived, and as planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backreef.aquarium.plan import Plan
from backreef.aquarium.series import all_series, find_series
from backreef.calibration.deeds import Deeds, deeds_of
from backreef.calibration.evidence import Taken, Unused, days_since, rows_needed, taken_of
from backreef.calibration.fit import lived_of
from backreef.calibration.window import first_day_of_fit, plan_from
from backreef.catalogue.entries import Catalogue
from backreef.errors import Fault
from backreef.logbook.entries import Entry, Reading
from backreef.simulation.lived import Lived
from backreef.simulation.trajectories import rows_of_series

DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Window:
    """The days of a plan that are fitted, with what was logged of them."""

    plan: Plan
    since_day: int
    """Of the whole plan's horizon: where the fit begins."""
    entries: Sequence[Entry]
    taken: tuple[Taken, ...]
    unused: tuple[Unused, ...]
    deeds: Deeds
    lived: Lived
    planned: Lived

    @property
    def last_day(self) -> int:
        """The day of the last reading."""
        return self.lived.known_days - 1

    @property
    def rows(self) -> frozenset[int]:
        """Rows of the state that are looked at."""
        return rows_needed(self.lived.prepared.layout) | rows_of_series(self.lived.prepared)


def window_of(
    plan: Plan, catalogue: Catalogue, entries: Sequence[Entry], *, since_day: int, weeks_ahead: int
) -> Window:
    """What is fitted from a day of the horizon on; the log holds a reading that can be used.

    Where all readings from that day on were withdrawn, it is what a fit of the others begins with.
    """
    whole, _ = taken_of(entries, plan.start_on)
    if int(whole[-1].at_d) <= since_day:
        since_day = first_day_of_fit(int(whole[-1].at_d))
    plan = plan_from(plan, catalogue, entries, since_day)
    if since_day:
        entries = [one for one in entries if days_since(one, plan.start_on) >= 0]
    taken, unused = taken_of(entries, plan.start_on)
    last_day = int(taken[-1].at_d)
    days = last_day + 1 + weeks_ahead * DAYS_PER_WEEK
    deeds = deeds_of(entries, plan, catalogue, last_day=last_day)
    nothing_done = deeds_of((), plan, catalogue, last_day=last_day)
    return Window(
        plan=plan,
        since_day=since_day,
        entries=entries,
        taken=taken,
        unused=unused,
        deeds=deeds,
        lived=lived_of(deeds, catalogue, known_days=last_day + 1, days=days),
        planned=lived_of(nothing_done, catalogue, known_days=0, days=days),
    )


def nothing_to_fit(plan: Plan, unused: Sequence[Unused]) -> Fault:
    """Why a log cannot be set against a plan."""
    names: dict[str, list[str]] = {}
    for one in unused:
        names.setdefault(one.why, []).append(_what_of(one))
    whys = "; ".join(f"{', '.join(dict.fromkeys(read))}: {why}" for why, read in names.items())
    found = f"none of its {len(unused)} readings can be used ({whys})" if unused else "it holds no readings"
    words = [one.word for one in all_series() if one.forecast and one.word not in ("ph", "oxygen")]
    return Fault(
        file=plan.file,
        line=None,
        key="",
        message=f"the log of {plan.name} cannot be set against the plan: {found}; "
        f"log {', '.join(words[:-1])} or {words[-1]} with 'backreef log', three readings are useful already",
    )


def _what_of(one: Unused) -> str:
    """What was read, in the word of its series."""
    assert isinstance(one.entry.what, Reading)  # noqa: S101  only readings are unused
    series = find_series(one.entry.what.series)
    return one.entry.what.series if series is None else series.label
