"""Rules of the clean-up crew: how many mouths there is food for, and specialists that starve after it."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.catalogue.entries import known
from backreef.company.findings import (
    CheckFinding,
    Found,
    Lacking,
    Resident,
    Rule,
    Setting,
    about,
    rule_number,
    rule_source,
    rule_words,
)
from backreef.units import ion_per_element_ratio

_MG_PER_G = 1000.0


def too_many_mouths(setting: Setting) -> Found:
    """More algae-eating crew than a tank of this size and age is known to feed."""
    crew = [one for one in setting.residents if _grazes(one, setting)]
    for one in crew:
        if known(one.species.start_density_per_100l) is None:
            yield Lacking(one=one, fact="how many a litre feeds")
    start = start_ratio(crew, setting)
    if start <= rule_number("crew_many_ratio"):
        return
    heads = sum(one.entry.count for one in crew)
    source, status = rule_source("crew_many_ratio")
    yield CheckFinding(
        id="crew.mouths",
        balance="mouths",
        weight="serious" if start > rule_number("crew_far_too_many_ratio") else "caution",
        who=", ".join(sorted({one.species.common_name for one in crew})),
        what=f"{heads} grazing animals at once: most of them would starve"
        if heads > 1
        else "one grazing animal: even that may find too little",
        why=f"{start:.1f} times the cautious first number for {setting.plan.tank.display_gross_l:.0f} L; "
        f"if all of them died they would add {nitrate_of_mg_per_l(crew, setting):.0f} mg/L nitrate",
        source=source,
        status=status,
        condition="how many mouths there are counts for more than their kind; add a third more when film "
        "comes back within three days; the forecast grows the algae and says who starves",
    )


def _grazes(one: Resident, setting: Setting) -> bool:
    eats = setting.guild(one).feeds_on
    algae = max(eats[pool].value for pool in ("film_algae", "turf_algae", "macro_algae"))
    crew = not one.is_fish and one.species.kind not in rule_words("crew", "not_kinds")
    return crew and algae >= rule_number("crew_grazes_frac")


def start_ratio(crew: list[Resident], setting: Setting) -> float:
    """Crew there is or comes in one month, over the cautious first number of its kinds together."""
    return max((sum(_shares(batch, setting)) for batch in _batches(crew, setting)), default=0.0)


def _batches(crew: list[Resident], setting: Setting) -> Iterator[list[Resident]]:
    """Crew that comes within a month of each of its members, the member first."""
    days = rule_number("crew_batch_days")
    for one in crew:
        on = setting.comes_on(one)
        yield [each for each in crew if 0 <= (on - setting.comes_on(each)).days <= days]


def _shares(crew: list[Resident], setting: Setting) -> Iterator[float]:
    for one in crew:
        density = known(one.species.start_density_per_100l)
        if density is not None and density.value > 0:
            yield one.entry.count / (density.highest * setting.plan.tank.display_gross_l / 100)


def nitrate_of_mg_per_l(crew: list[Resident], setting: Setting) -> float:
    """Nitrate that the bodies of these animals become in this water. [mg/L]

    Validity
    --------
    All nitrogen of the bodies oxidised, none taken up or lost.

    Source
    ------
    Nitrogen share of wet flesh from the table of the rules; atomic masses.
    """
    flesh = sum((flesh_g(one) or 0.0) * one.entry.count for one in crew)
    nitrogen_mg = flesh * rule_number("flesh_nitrogen_frac") * _MG_PER_G
    return nitrogen_mg / setting.plan.tank.water_volume_l * ion_per_element_ratio("NO3", "N")


def flesh_g(one: Resident) -> float | None:
    """Wet mass of one animal as it comes; None where it is not known. [g]"""
    a, b, length = known(one.species.weight_a_g), known(one.species.weight_b_ratio), one.length_cm
    return None if a is None or b is None or length is None else a.value * length**b.value


def starves_when_done(setting: Setting) -> Found:
    """A specialist that clears what it eats and then has nothing left."""
    for one in setting.residents:
        guild = setting.guild(one)
        if guild.id not in rule_words("crew", "clears_and_starves") or not one.species.cleans:
            continue
        bears = known(one.species.max_days_unfed)
        yield about(
            one,
            setting,
            rule="winner",
            weight="serious" if guild.prey_not_modelled and not _is_fed(one) else "caution",
            what=f"{one.called}: starves when it has won",
            why=f"it lives from {one.species.forage_type}, clears it in days to weeks and is dead 2 to 10 "
            "weeks later"
            + (f"; it bears {bears.lowest:.0f} to {bears.highest:.0f} days unfed" if bears else ""),
            value=bears,
            condition="right as a guest with a date: name the tank it goes to next before it comes",
        )


def lives_from_one_food(setting: Setting) -> Found:
    """An animal that lives from one prey or one coral, which has to be there for as long as it lives."""
    for one in setting.residents:
        if one.species.guild not in rule_words("crew", "one_food") or one.species.cleans:
            continue
        yield about(
            one,
            setting,
            rule="one_food",
            weight="caution" if one.species.forage_replaces in ("mostly", "fully") else "serious",
            what=f"{one.called}: lives from {one.species.forage_type}",
            why="nothing else keeps it alive for long; the forecast does not follow this food",
            condition=one.species.add_gate or one.species.feeder_condition,
        )


def _is_fed(one: Resident) -> bool:
    """Whether prepared food keeps it alive as well."""
    return any(one.species.takes.get(kind) in ("reliable", "usual") for kind in ("dry", "frozen"))


RULES = (
    Rule(
        name="crew",
        look=too_many_mouths,
        reads=("start_density_per_100l", "guild", "weight_a_g", "weight_b_ratio", "purchase_length_cm"),
        plan=("tank.display", "animals[].count", "animals[].arrives_on"),
    ),
    Rule(name="winner", look=starves_when_done, reads=("guild", "cleans", "max_days_unfed", "takes")),
    Rule(name="one_food", look=lives_from_one_food, reads=("guild", "cleans", "forage_type", "add_gate")),
)
