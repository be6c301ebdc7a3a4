"""How the numbers of a fit came about, for whoever asks why: down to entries of the log, draws and tables.

Nothing here is worked out where nobody asks. What the members do in the march stays a simulated number; how
the readings move them is told by the functions that move them (`smoother.py`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from backreef.aquarium.plan import Plan
from backreef.aquarium.series import Series, door_factor
from backreef.calibration.alarms import Suspect
from backreef.calibration.evidence import REGISTERS, Scale, Taken, in_the_water, telling
from backreef.calibration.fit import HAND, Fit, Step
from backreef.calibration.smoother import missed, widened
from backreef.calibration.tables import Fitted, Slip, all_numbers
from backreef.logbook.kits import KitTrust
from backreef.models.matrix import packaged_matrix
from backreef.simulation.chore_events import READ_OF_SERIES
from backreef.simulation.draws import spread
from backreef.simulation.ensemble import Members
from backreef.simulation.layout import Layout
from backreef.simulation.system import system_ranges
from backreef.simulation.tables import Range, system_table
from backreef.units import told_mass_g_per_mol
from backreef.working.members import MARCH
from backreef.working.number import Worked, total
from backreef.working.record import is_recording, leaf, named, told, told_number
from backreef.working.steps import About, InItsUnit, Kind

Array = npt.NDArray[np.float64]
FITTED_MARCH = f"{MARCH}, as it is fitted to the log"
EVEN = "log of the amount"


def own_unit(series: Series) -> str:
    """The unit of a series' own name."""
    if series.series in READ_OF_SERIES:
        element = READ_OF_SERIES[series.series][1]
        return f"mg/L {element}" if element else "meq/L"
    return series.door_unit


# --- what was read ------------------------------------------------------------------------------------------


def reading_of(one: Taken) -> InItsUnit:
    """What was read, in the unit of its series' name, with the entry that says so."""
    about = About(
        symbol=one.series.word,
        key=f"log.{one.entry.id}.value",
        kind="log",
        what=f"{one.series.label} as it was read",
        unit=own_unit(one.series),
        source="the log",
        place=f"{one.on.isoformat()}, entry {one.entry.id}",
        status="measured",
        given={"written": one.reading.written},
        on=one.on,
    )
    return told_number(one.value, about)


def door_factor_of(series: Series) -> InItsUnit:
    """What one unit of a series' name is in its unit at the doors."""
    about = About(
        symbol="unit_at_the_doors",
        key=f"units.{series.series}.{series.door_series}",
        kind="constant",
        what=f"what 1 {own_unit(series)} is in {series.door_unit}",
        source="table of units",
        place="data/units.csv",
        status="exact",
    )
    factor = door_factor(series)
    return factor if factor == 1.0 else told_number(factor, about)


def trust_of(one: Taken) -> KitTrust:
    """How far the kit of a reading may be trusted."""
    key = f"logbook.kits.{one.trust.series}.{one.trust.kit}"
    return told(one.trust, key, source="logbook/data/kits.csv", status="practice")


def least_of(scale: Scale, one: Series) -> InItsUnit | None:
    """What the kits of a nutrient cannot tell from nothing."""
    least = scale.least(one.series)
    about = About(
        symbol="least_told",
        key=f"logbook.kits.{one.series}.least",
        kind="constant",
        what=f"what the kits that were used cannot tell from no {one.label}",
        unit=own_unit(one),
        source="logbook/data/kits.csv",
        status="practice",
    )
    return None if least is None else told_number(least, about)


def slip_factor_of(slip: Slip) -> InItsUnit:
    """What a reading truly was, over what was written, if it slipped so."""
    about = About(
        symbol="slip",
        key=f"calibration.slips.{slip.series}.{slip.what.replace(' ', '_')}",
        kind="constant",
        what=f"what it was over what was written, if {slip.what}",
        source="our_rule",
        place="calibration/data/slips.csv",
        status="practice",
    )
    return told_number(slip.factor, about)


def minutes_of(value: InItsUnit, what: str, place: str) -> InItsUnit:
    """Minutes that a table says something takes."""
    about = About(
        symbol="minutes",
        key=f"calibration.{place}.{what.replace(' ', '_')}",
        kind="constant",
        what=f"minutes for {what}",
        unit="min",
        source="practice",
        place=f"calibration/data/{place}.csv",
        status="practice",
    )
    return told_number(value, about)


def told_suspect(one: Suspect, readings: int) -> Suspect:
    """A cause with where its odds stand, and what says how likely it makes what came."""
    about = About(
        symbol="odds",
        key=f"calibration.causes.{one.id}.odds",
        kind="constant",
        what=f"how often it happens, against the other causes: {one.what}",
        source="practice",
        place="calibration/data/causes.csv",
        status="practice",
    )
    words = f"log of how likely all {readings} readings are together, if {one.what}"
    return replace(
        one,
        minutes=minutes_of(one.minutes, one.id, "causes"),
        odds_ratio=told_number(one.odds_ratio, about),
        likelihoods=tuple(
            simulated("likelihood", each, f"{words}, day {place} of those tried", key=f"fit.{one.id}.{place}")
            for place, each in enumerate(one.likelihoods, 1)
        ),
    )


# --- what the members foretell ------------------------------------------------------------------------------


def simulated(
    symbol: str, value: InItsUnit, what: str, *, unit: str = "", kind: Kind = "simulated", key: str = ""
) -> InItsUnit:
    """A number that comes out of the members."""
    about = About(
        symbol=symbol,
        key=key or f"fit.{symbol}",
        kind=kind,
        what=what,
        unit=unit,
        source=FITTED_MARCH if kind == "simulated" else "standard normal draws",
        status="simulated" if kind == "simulated" else "drawn",
    )
    return told_number(float(value), about)


def of_course(
    series: Series, layout: Layout, members: Members, day: int, said: str
) -> Callable[[int], InItsUnit]:
    """How a member's value of a series at the end of a day comes about, by the member's place."""

    def of_member(member: int) -> InItsUnit:
        def state(name: str, what: str, unit: str) -> InItsUnit:
            value = members.row(layout.address(name))[day, member]
            words = f"{what} at the end of day {day + 1}, {said}, member {member + 1}"
            return simulated(name, value, words, unit=unit, key=f"state.{name}.day {day}.member {member + 1}")

        if series.series in REGISTERS:
            inside = state(REGISTERS[series.series], series.label, series.door_unit)
        else:
            component, element = READ_OF_SERIES[series.series]
            amount = state(component, f"{series.label} of the whole water", "mmol")
            mass = told_mass_g_per_mol(element) if element else 1.0
            inside = in_the_water(amount, state("V", "water of the whole system", "L"), mass)
        return inside * door_factor_of(series)

    return of_member


# --- numbers that the readings move -------------------------------------------------------------------------


class Deviates:
    """How far each member's numbers lie from the middle of their range, and what moved them there."""

    def __init__(self, fit: Fit) -> None:
        self.fit = fit
        self._taken = {one.entry.id: one for one in fit.taken}
        self._seen: dict[str, InItsUnit] = {}

    def before(self, name: str) -> Callable[[int], InItsUnit]:
        """As they were drawn, by the member's place."""
        drawn = self.fit.before.learned[name]

        def of_member(member: int) -> InItsUnit:
            key = f"draws.{name}.member {member + 1}"
            words = f"how far member {member + 1} was drawn from the middle, in standard deviations"
            return simulated("drawn", drawn[member], words, kind="drawn", key=key)

        return of_member

    def after(self, name: str) -> Callable[[int], InItsUnit]:
        """As the readings moved them, by the member's place."""
        steps = [(place, step) for place, step in enumerate(self.fit.steps, 1) if name in step.names]
        values = [self.fit.before.learned[name]]
        for _, step in steps:
            values.append(step.transform.of(values[-1]))

        def of_member(member: int) -> InItsUnit:
            value = self.before(name)(member)
            for (place, step), before in zip(steps, values, strict=False):
                value = self._stepped(value, before, step, place, member)
            return value

        return of_member

    def _stepped(self, value: InItsUnit, before: Array, step: Step, place: int, member: int) -> InItsUnit:
        """A member's deviate after a step."""
        pulls, transform = step.transform.pulls(before), step.transform
        by_series: dict[str, list[InItsUnit]] = {}
        for column, ident in enumerate(step.readings):
            one = self._taken[ident]
            pull = simulated(
                "pull",
                pulls[column],
                "how this number and the reading go together in the members, over how sure all readings are",
                key=f"fit.step {place}.pull.{ident}",
            )
            gained = pull * self._missed(step, place, column, member)
            words = f"what the reading of {one.on.isoformat()} does"
            by_series.setdefault(one.series.word, []).append(
                _called(gained, f"by_{one.series.word}", f"fit.step {place}.{ident}", words)
            )
        moved = value
        for word, parts in by_series.items():
            words = f"what the readings of {word} do in step {place}"
            moved = moved + _called(total(parts), f"by_readings_of_{word}", f"fit.step {place}.{word}", words)
        moved = _called(moved, "moved", f"fit.step {place}.moved", f"moved by the readings in step {place}")
        middle = simulated("middle", transform.moved(before).mean(), "mean of all members after that step")
        words = "what chance links would make the members too sure by"
        wider = simulated("widening", transform.widening, words, key=f"fit.step {place}.widening")
        after = widened(moved, middle, wider)
        return _called(after, "deviate", f"fit.step {place}", f"member {member + 1} after step {place}")

    def _missed(self, step: Step, place: int, column: int, member: int) -> InItsUnit:
        """By how much less a member foretold than was read."""
        one = self._taken[step.readings[column]]
        ident, transform = one.entry.id, step.transform
        drawn = simulated(
            "drawn_error",
            transform.drawn[column, member],
            f"error of the kit, drawn for member {member + 1}",
            kind="drawn",
            key=f"fit.step {place}.error.{ident}.member {member + 1}",
        )
        foretold = simulated(
            "foretold",
            transform.foretold[column, member],
            f"what member {member + 1} says of that reading before step {place}",
            key=f"fit.step {place}.foretold.{ident}.member {member + 1}",
        )
        return missed(self._even(one), drawn, foretold)  # type: ignore[no-any-return]

    def _even(self, one: Taken) -> InItsUnit:
        """A reading in the unit in which errors of kits are even."""
        if one.entry.id not in self._seen:
            least, value = least_of(self.fit.scale, one.series), reading_of(one)
            if least is not None:
                value = _called(telling(value, least), "read", f"log.{one.entry.id}.even", EVEN)
            self._seen[one.entry.id] = value
        return self._seen[one.entry.id]


def _called(value: InItsUnit, symbol: str, key: str, what: str) -> InItsUnit:
    return named(value, About(symbol=symbol, key=key, kind="law", what=what))


def in_its_range(span: Range, deviate: Callable[[int], InItsUnit]) -> Callable[[int], InItsUnit]:
    """A number of each member by its deviate and its range."""

    def of_member(member: int) -> InItsUnit:
        return spread(span.value, span.low, span.high, deviate(member))  # type: ignore[no-any-return]

    return of_member


def range_of(one: Fitted, plan: Plan) -> Range:
    """The range of a number before anything was read, with where it stands."""
    if one.draw == HAND:
        row = all_numbers()["hand_ration_ratio"]
        span = Range(value=float(row["value"]), low=float(row["low"]), high=float(row["high"]))
        return _told_range(one, span, kind="constant", place="calibration/data/numbers.csv", said=row)
    parameter = packaged_matrix().tables.parameters.get(one.draw)
    if parameter is not None:
        span = Range(value=parameter.value, low=parameter.low, high=parameter.high)
        said = {"source": parameter.source, "status": parameter.status}
        return _told_range(one, span, kind="parameter", place=parameter.place, said=said)
    system = system_ranges(plan)
    if one.draw in system:
        return _told_range(one, system[one.draw], kind="assumed", place=plan.file, said={})
    row_of = system_table()[one.draw]
    said = {"source": row_of.source, "status": row_of.status}
    return _told_range(one, row_of.span, kind="constant", place="simulation/data/system.csv", said=said)


def _told_range(one: Fitted, span: Range, *, kind: Kind, place: str, said: Mapping[str, str]) -> Range:
    """A range whose ends say where they stand, as far as they do not yet."""
    about = About(
        symbol=one.id,
        key=f"models.parameters.{one.draw}" if kind == "parameter" else f"range.{one.draw}",
        kind=kind,
        unit="" if one.unit == "-" else one.unit,
        low=span.low,
        high=span.high,
        source=said.get("source", ""),
        place=place,
        status=said.get("status", "calc"),
    )

    def end(value: InItsUnit, part: str) -> InItsUnit:
        if not is_recording() or isinstance(value, Worked):
            return value
        words = f"{one.what}: {part} of its range"
        return leaf(value, replace(about, symbol=f"{one.id}_{part}", key=f"{about.key}.{part}", what=words))

    return Range(
        value=end(span.value, "middle"),
        low=None if span.low is None else end(span.low, "low"),
        high=None if span.high is None else end(span.high, "high"),
    )
