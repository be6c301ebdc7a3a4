"""Rules of room: size and length of the display for grown animals, the day one is outgrown, warmth."""

from __future__ import annotations

from backreef.aquarium.limits import InKeyUnit
from backreef.catalogue.entries import Value, known
from backreef.company.findings import (
    Found,
    Lacking,
    Resident,
    Rule,
    Setting,
    about,
    rule_number,
    rule_words,
)
from backreef.company.growing import When, when_longer, when_words
from backreef.units import DAYS_PER_YEAR
from backreef.working.record import askable


def too_small(setting: Setting) -> Found:
    """The display is too short or too small for the animal when it is grown up."""
    tank = setting.plan.tank
    for one in setting.residents:
        length, volume = known(one.species.min_tank_length_cm), known(one.species.min_volume_l)
        if length is None or volume is None:
            yield Lacking(one=one, fact="the room a grown one needs")
        short = _exceeds(length, tank.display_length_cm)
        small = _exceeds(volume, tank.display_gross_l)
        if short is None and small is None:
            continue
        needs = [f"{short.value:g} cm of length"] if short else []
        needs += [f"{small.value:g} L"] if small else []
        adult = known(one.species.adult_length_cm)
        grown = f", as it grows to about {adult.value:g} cm" if adult is not None else ""
        yield about(
            one,
            setting,
            rule="space",
            weight="serious" if _far_too_small(one, setting) else "caution",
            what=f"{one.called}: the display is too small for adults",
            why=f"needs {' and '.join(needs)}{grown}; "
            f"this tank has {tank.display_length_cm or 0.0:.0f} cm and {tank.display_gross_l:.0f} L",
            value=small or short,
            condition="a young one fits for a time; the rule 'outgrown' says until when",
        )


def _exceeds(needed: Value | None, there: InKeyUnit | None) -> Value | None:
    """What is needed, where it is more than there is."""
    return needed if needed is not None and there is not None and needed.value > there else None


def outgrows(setting: Setting) -> Found:
    """The day from which the animal has outgrown the display, with the range that its growth allows."""
    for one in setting.residents:
        fits_cm = longest_that_fits_cm(one, setting)
        if fits_cm is None or one.species.guild in rule_words("space", "room_for_food"):
            continue  # what it outgrows is its pods, and other rules say so
        adult, start = known(one.species.adult_length_cm), one.length_cm
        if adult is None or start is None or fits_cm >= adult.highest:
            continue
        when = when_longer(one, setting, fits_cm)
        if when is None:
            yield Lacking(one=one, fact="how fast it grows")
            continue
        if when.early_on is None:
            continue
        yield about(
            one,
            setting,
            rule="outgrown",
            weight="serious" if _at_once(one, setting, when) and _far_too_small(one, setting) else "caution",
            what=f"{one.called}: outgrows this tank {when_words(when)}",
            why=f"comes with {start:.3g} cm, fits here up to {fits_cm:.2g} cm, grows to {adult.value:g} cm",
            number="full_need_frac",
            condition=_until_then(one, setting, when),
            from_on=when.on,
        )


@askable
def longest_that_fits_cm(one: Resident, setting: Setting) -> float | None:
    """Length up to which the display has room for it; None where nothing is known of its need. [cm]

    Validity
    --------
    An animal needs the same number of its own lengths at any size, and the whole volume from the share of
    its adult length that `full_need_frac` gives; below it the volume goes with the square of its length.

    Source
    ------
    Common practice, no source; the share so that a yellow tang needs its volume after 2 to 4 years.
    """
    adult = known(one.species.adult_length_cm)
    length, volume = known(one.species.min_tank_length_cm), known(one.species.min_volume_l)
    if adult is None:
        return None
    tank = setting.plan.tank
    limits = []
    if length is not None and tank.display_length_cm is not None and length.value > tank.display_length_cm:
        limits.append(adult.value * tank.display_length_cm / length.value)
    if volume is not None and volume.value > tank.display_gross_l:
        full_cm = rule_number("full_need_frac") * adult.value
        limits.append(full_cm * (tank.display_gross_l / volume.value) ** 0.5)
    return min(limits, default=None)


def _at_once(one: Resident, setting: Setting, when: When) -> bool:
    """Whether it has hardly half a year here."""
    least_days = rule_number("least_stay_months") / 12 * DAYS_PER_YEAR
    return when.on is not None and (when.on - setting.comes_on(one)).days < least_days


def _far_too_small(one: Resident, setting: Setting) -> bool:
    """Whether the display is less than even the least that is asked for a grown one."""
    tank, length, volume = setting.plan.tank, known(one.species.min_tank_length_cm), one.species.min_volume_l
    here_cm, least_l = tank.display_length_cm, known(volume)
    short = length is not None and here_cm is not None and here_cm < length.lowest
    return short or (least_l is not None and tank.display_gross_l < least_l.lowest)


def _until_then(one: Resident, setting: Setting, when: When) -> str:
    if _at_once(one, setting, when) and not _far_too_small(one, setting):
        return "what a grown one needs is not agreed, and this tank lies within what is asked"
    catching, finding = (known(setting.catalogue.tasks[task].minutes) for task in ("catch_fish", "rehome"))
    minutes = sum(value.value for value in (catching, finding) if value is not None) * one.entry.count
    if _at_once(one, setting, when):
        return "this is no plan for a young animal: it has outgrown the tank before it is settled"
    return (
        "allowed as a dated plan: name who takes it before it is bought; catching it and finding it a home "
        f"takes about {minutes:.0f} minutes"
    )


def warmth(setting: Setting) -> Found:
    """An animal kept outside its band of comfort."""
    here_c = setting.plan.tank.temperature_c
    for one in setting.residents:
        low, high = known(one.species.temp_min_c), known(one.species.temp_max_c)
        if low is None or high is None:
            yield Lacking(one=one, fact="the warmth in which it is comfortable")
            continue
        bound, side = (low, "colder") if here_c < low.value else (high, "warmer")
        if low.value <= here_c <= high.value:
            continue
        beyond_k = rule_number("far_beyond_comfort_k")
        far = here_c < low.value - beyond_k or here_c > high.value + beyond_k
        yield about(
            one,
            setting,
            rule="temperature",
            weight="serious" if far else "caution",
            what=f"{one.called}: kept {side} than it is comfortable",
            why=f"the tank holds {here_c:g} degC and its band ends at {bound.value:g} degC",
            value=bound,
        )


RULES = (
    Rule(
        name="space",
        look=too_small,
        reads=("min_tank_length_cm", "min_volume_l", "adult_length_cm"),
        plan=("tank.display",),
    ),
    Rule(
        name="outgrown",
        look=outgrows,
        reads=("min_tank_length_cm", "min_volume_l", "adult_length_cm", "growth_kmax_per_y", "guild"),
        plan=("tank.display", "animals[].length", "animals[].arrives_on"),
    ),
    Rule(name="temperature", look=warmth, reads=("temp_min_c", "temp_max_c"), plan=("tank.temperature",)),
)
