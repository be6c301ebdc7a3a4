"""What a fit says, as the pages tell it: readings, what is in doubt, what changed, what to do next."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from backreef.calibration.ahead import outlooks_of, water_ahead
from backreef.calibration.alarms import shares_of
from backreef.calibration.doubt import Doubt, likely_slip
from backreef.calibration.evidence import Taken, amount_of
from backreef.calibration.fit import Fit
from backreef.calibration.learned import moved_of, tangled_of
from backreef.calibration.outcome import (
    Alarm,
    LeftOut,
    Questioned,
    Reconciled,
    Seen,
    Spread,
    Suspected,
)
from backreef.calibration.run import Run, followed
from backreef.calibration.tables import number, slips_of
from backreef.calibration.week import Known, gates_of, this_week
from backreef.calibration.workings import (
    door_factor_of,
    least_of,
    reading_of,
    simulated,
    slip_factor_of,
    told_suspect,
    trust_of,
)
from backreef.calibration.worth import next_readings
from backreef.catalogue.entries import Catalogue
from backreef.judgement.findings import allowed_frac
from backreef.judgement.water import water_bands
from backreef.logbook.words import what_words
from backreef.simulation.draws import Z_95
from backreef.working.number import as_number
from backreef.working.record import told_constant
from backreef.working.steps import InItsUnit

FEW_TO_MISS = 3
"""So many readings on one side of all members are more than luck."""


def reconciled_of(run: Run) -> Reconciled:
    """What the pages tell of a fit; while somebody asks, each number with its working."""
    fit, days = run.fit, run.life.prepared.keeper.days
    taken, start_on = fit.taken, run.life.prepared.plan.start_on
    water, alarms = water_ahead(run), _alarms(run)
    questions = _questioned(fit, run.catalogue)
    readings = next_readings(
        run.life.prepared.layout,
        run.fitted,
        taken=taken,
        read=followed(fit),
        last_day=run.life.known_days - 1,
    )
    known = Known(
        plan=run.deeds.plan,
        catalogue=run.catalogue,
        schedule=run.schedule,
        entries=run.entries,
        taken=[one for one, kept in zip(taken, fit.kept, strict=True) if kept],
        first_day=run.life.known_days,
    )
    return Reconciled(
        plan_name=run.name,
        plan_file=run.plan.file,
        start_on=start_on,
        days=days,
        first_reading_on=taken[0].on,
        last_on=taken[-1].on,
        until_on=start_on + timedelta(days=days - 1),
        members=fit.before.members,
        seed=fit.before.seed,
        origin=run.origin,
        holds=not any(one.harm and one.share_fitted > allowed_frac() for one in water),
        readings=tuple(_seen(one, used=bool(fit.kept[place])) for place, one in enumerate(taken)),
        questioned=questions,
        entered=tuple(
            f"{deed.entry.at.date()}: {deed.words}" for deed in run.deeds.told if not deed.left_out
        ),
        left_out=_left_out(run),
        outlooks=outlooks_of(run),
        moved=moved_of(run),
        tangled=tangled_of(run),
        water=water,
        alarms=alarms,
        next_readings=readings,
        week_from=known.first_on,
        this_week=this_week(known, alarms=alarms, questioned=questions, readings=readings),
        gates=gates_of(known),
        bands=water_bands(run.plan),
        dates=tuple(start_on + timedelta(days=number) for number in range(days)),
        notices=_notices(run),
    )


# --- readings -----------------------------------------------------------------------------------------------


def _seen(one: Taken, *, used: bool) -> Seen:
    factor = door_factor_of(one.series)
    return Seen(
        entry_id=one.entry.id,
        on=one.on,
        at_d=one.at_d,
        series=one.series.door_series,
        value=reading_of(one) * factor,
        sign=one.reading.sign,
        error=trust_of(one).error_at(reading_of(one)) * factor,
        used=used,
    )


def _questioned(fit: Fit, catalogue: Catalogue) -> tuple[Questioned, ...]:
    found = []
    for doubt in fit.doubts:
        one = fit.taken[doubt.place]
        name, factor = one.series.series, door_factor_of(one.series)
        slips = slips_of(one.series.word)
        slipped = [float(fit.scale.even(name, one.value * slip.factor)) for slip in slips]
        likely = likely_slip(doubt, slipped=slipped, limit_sd=number("question_sd"))
        slip = None if likely is None else slips[likely]
        value = reading_of(one)
        found.append(
            Questioned(
                entry_id=one.entry.id,
                on=one.on,
                words=what_words(one.entry.what, catalogue),
                written=one.reading.written,
                series=one.series.door_series,
                value=value * factor,
                unit=one.series.door_unit,
                others_say=_others_say(fit, doubt),
                would_be=None if slip is None else value * slip_factor_of(slip) * factor,
                slip="" if slip is None else slip.what,
            )
        )
    return tuple(found)


def _others_say(fit: Fit, doubt: Doubt) -> Spread:
    one = fit.taken[doubt.place]
    least, factor = least_of(fit.scale, one.series), door_factor_of(one.series)
    key = f"fit.questioned.{one.entry.id}"
    words = f"what all other readings and the members say of the reading of {one.on.isoformat()}"
    middle = simulated("others_say", doubt.others_say, f"{words}, in even units", key=f"{key}.middle")
    apart = simulated("others_sd", doubt.others_sd, f"how sure they are of it, {words}", key=f"{key}.sd")
    ends = told_constant(Z_95, "Z_95", "backreef.simulation.draws")

    def at(side: InItsUnit) -> InItsUnit:
        even = middle + side * ends * apart if side else middle
        return as_number((even if least is None else amount_of(even, least)) * factor)

    return Spread(p05=at(-1.0), p50=at(0.0), p95=at(1.0))


def _left_out(run: Run) -> tuple[LeftOut, ...]:
    of_readings = [(one.entry, one.why) for one in run.unused]
    of_deeds = [(deed.entry, deed.left_out) for deed in run.deeds.told if deed.left_out]
    return tuple(
        LeftOut(entry_id=entry.id, on=entry.at.date(), words=what_words(entry.what, run.catalogue), why=why)
        for entry, why in (*of_readings, *of_deeds)
    )


# --- changes ------------------------------------------------------------------------------------------------


def _alarms(run: Run) -> tuple[Alarm, ...]:
    """The greatest change, if there is one, with the causes that are likely enough to be told."""
    if run.noticed is None:
        return ()
    start_on, change = run.life.prepared.plan.start_on, run.noticed.change
    series, least = run.noticed.series, number("suspect_share_frac")
    ranked = [told_suspect(one, len(run.fit.taken)) for one in run.noticed.ranked]
    words = "twice the logarithm of how much likelier the change makes what came"
    return (
        Alarm(
            series=series.door_series,
            label=series.label,
            kind=change.kind,
            upward=change.amplitude > 0,
            since_on=start_on + timedelta(days=int(change.since_d)),
            ratio=simulated("ratio", change.ratio, words, key="fit.alarm.ratio"),
            suspects=tuple(
                Suspected(
                    id=one.id,
                    what=one.what,
                    check=one.check,
                    minutes=one.minutes,
                    since_on=start_on + timedelta(days=one.since_day),
                    share_frac=share,
                )
                for one, share in zip(ranked, shares_of(ranked), strict=True)
                if share >= least
            ),
        ),
    )


def _not_followed(run: Run) -> list[str]:
    """Series that the fitted members miss by more than kits do, all to one side."""
    fit = run.fit
    found = []
    errors = np.sqrt(np.diag(fit.evidence.errors))
    missed = (fit.evidence.seen - np.median(fit.foretold_after, axis=1)) / errors
    for series in followed(fit):
        mine = np.array([one.series.series == series.series for one in fit.taken]) & fit.kept
        if mine.sum() >= FEW_TO_MISS and abs(missed[mine].mean()) > number("not_followed_sd"):
            way = "more" if missed[mine].mean() > 0 else "less"
            found.append(
                f"Even fitted, the tank of the model does not follow {series.label}: {way} was read than any "
                "member gives. Something is otherwise that is not among the fitted numbers; the outlook of "
                f"{series.label} is not to be relied on."
            )
    return found


def _notices(run: Run) -> tuple[str, ...]:
    found = _not_followed(run)
    if run.cut_off:
        start = run.life.prepared.plan.start_on.isoformat()
        found.append(
            f"The log is long: what is older than {start} was left out of the fit, and the plan begins there "
            "with the animals and the readings of that time."
        )
    if run.deeds.chores:
        found.append(
            "Work of a kind that the log names counts as logged, from its first to its last entry; "
            "other work counts as planned."
        )
    plan, on = run.deeds.plan, run.fit.taken[-1].on
    silent = [
        one.id
        for one in plan.animals
        if one.arrives_on is not None
        and one.arrives_on <= on
        and not any(
            getattr(deed.entry.what, "animal", None) == one.id and deed.entry.what.kind == "addition"
            for deed in run.deeds.told
        )
        and not one.id.endswith("log")
    ]
    if silent:
        found.append(
            f"The log does not say that these came; they count as come as planned: {', '.join(silent)}."
        )
    return tuple(found)
