"""Checks of each animal by itself: room, warmth, its own kind, age of tank, sand, lid, people, law."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from backreef.aquarium.findings import CheckFinding, Resident, Setting, Weight, rules, source_text
from backreef.aquarium.limits import InKeyUnit
from backreef.catalogue.entries import Species, Value, known

DAYS_PER_MONTH = 30.4375


def check_space(setting: Setting) -> Iterator[CheckFinding]:
    """An animal that needs a longer or larger tank when it is grown up."""
    tank = setting.plan.tank
    for one in setting.residents:
        length, volume = known(one.species.min_tank_length_cm), known(one.species.min_volume_l)
        short = _exceeds(length, tank.display_length_cm)
        small = _exceeds(volume, tank.display_gross_l)
        if short is None and small is None:
            continue
        needs = [f"{short.value:g} cm of length"] if short else []
        needs += [f"{small.value:g} L"] if small else []
        adult = known(one.species.adult_length_cm)
        grown = f", as it grows to about {adult.value:g} cm" if adult is not None else ""
        far = (short is not None and short.lowest > (tank.display_length_cm or 0.0)) or (
            small is not None and small.lowest > tank.display_gross_l
        )
        yield _about(
            one,
            setting,
            rule="space",
            weight="serious" if far else "caution",
            what=f"{one.called}: the display is too small for adults",
            why=f"needs {' and '.join(needs)}{grown}; "
            f"this tank has {tank.display_length_cm or 0.0:.0f} cm and {tank.display_gross_l:.0f} L",
            value=small or short,
        )


def _exceeds(needed: Value | None, there: InKeyUnit | None) -> Value | None:
    """What is needed, where it is more than there is."""
    return needed if needed is not None and there is not None and needed.value > there else None


def check_temperature(setting: Setting) -> Iterator[CheckFinding]:
    """An animal kept outside its band of comfort."""
    here_c = setting.plan.tank.temperature_c
    for one in setting.residents:
        low, high = known(one.species.temp_min_c), known(one.species.temp_max_c)
        cold = low is not None and here_c < low.value
        warm = high is not None and here_c > high.value
        if not (cold or warm):
            continue
        bound = low if cold else high
        if bound is None:
            continue
        far = here_c < bound.lowest if cold else here_c > bound.highest
        side = "colder" if cold else "warmer"
        yield _about(
            one,
            setting,
            rule="temperature",
            weight="serious" if far else "caution",
            what=f"{one.called}: kept {side} than it is comfortable",
            why=f"the tank holds {here_c:g} degC and its band ends at {bound.value:g} degC",
            value=bound,
        )


def check_group(setting: Setting) -> Iterator[CheckFinding]:
    """Too few or too many of one kind."""
    for one, count in _by_species(setting):
        least, most = one.species.group_min_count, one.species.group_max_count
        if count < least:
            what, why = "too few of them", f"the plan has {count}, it lives in at least {least}"
        elif most is not None and count > most:
            what, why = (
                "more of them than live in peace",
                f"the plan has {count}, without special conditions {most}",
            )
        else:
            continue
        rule = one.species.social_rule
        yield _about(
            one,
            setting,
            rule="group",
            weight="caution",
            what=f"{one.species.common_name}: {what}",
            why=f"{why}; its rule: {rule}" if rule else why,
        )


def _by_species(setting: Setting) -> Iterator[tuple[Resident, int]]:
    """The first entry of each species, and how many the plan has in all."""
    counts: dict[str, int] = defaultdict(int)
    first: dict[str, Resident] = {}
    for one in setting.residents:
        counts[one.species.id] += one.entry.count
        first.setdefault(one.species.id, one)
    for species_id, one in first.items():
        yield one, counts[species_id]


def check_never(setting: Setting) -> Iterator[CheckFinding]:
    """An animal that should not be bought for a private tank."""
    for one, _ in _by_species(setting):
        if one.species.low_upkeep == "never":
            yield _about(
                one,
                setting,
                rule="never",
                weight="serious",
                what=f"{one.species.common_name}: not an animal for a tank like this",
                why=one.species.low_upkeep_reason,
            )


def check_tank_age(setting: Setting) -> Iterator[CheckFinding]:
    """An animal that comes before the tank is old enough to feed and bear it."""
    start = setting.plan.tank.start
    for one in setting.residents:
        least = known(one.species.min_tank_age_months)
        if least is None:
            continue
        arrives = one.entry.arrives_on
        days = (arrives - setting.plan.start_on).days if arrives is not None else 0
        age = start.age_months + days / DAYS_PER_MONTH
        if age >= least.value:
            continue
        when = "already there" if arrives is None else f"to come on {arrives}"
        yield _about(
            one,
            setting,
            rule="tank_age",
            weight="serious" if age < least.lowest else "caution",
            what=f"{one.called}: too early for this tank",
            why=f"{when}, when the tank is {age:.1f} months old; it wants {least.value:g}",
            value=least,
        )


def check_sand(setting: Setting) -> Iterator[CheckFinding]:
    """An animal that needs sand, or deeper sand."""
    tank = setting.plan.tank
    for one in setting.residents:
        depth = known(one.species.sand_cm)
        if not one.species.sand_need or depth is None:
            continue
        bare = tank.sand_area_m2 <= 0
        if not bare and tank.sand_depth_cm >= depth.value:
            continue
        has = "a bare floor" if bare else f"sand of {tank.sand_depth_cm:g} cm"
        far = bare or tank.sand_depth_cm < depth.lowest
        yield _about(
            one,
            setting,
            rule="sand",
            weight="caution" if far else "note",
            what=f"{one.called}: not enough sand",
            why=f"{one.species.sand_need}, about {depth.value:g} cm; this tank has {has}",
            value=depth,
        )


def check_jumpers(setting: Setting) -> Iterator[CheckFinding]:
    """A jumper or climber in a tank without a lid."""
    if setting.plan.tank.lid != "open":
        return
    for one in setting.residents:
        if one.species.jumps in ("high", "climbs"):
            does = "leaps out when frightened" if one.species.jumps == "high" else "climbs out"
            yield _about(
                one,
                setting,
                rule="lid",
                weight="serious",
                what=f"{one.called}: no lid",
                why=f"it {does}; a mesh of 5 to 6 mm or a cover over every gap keeps it in",
            )


def check_people(setting: Setting) -> Iterator[CheckFinding]:
    """An animal that can hurt whoever reaches in."""
    for one, _ in _by_species(setting):
        hazard = one.species.human_hazard
        if not hazard:
            continue
        grave = any(word in hazard for word in ("venom", "palytoxin", "poison"))
        why = f"{hazard}; where children, patients or the public can reach in, keep it out or lock the cover"
        yield _about(
            one,
            setting,
            rule="people",
            weight="caution" if grave else "note",
            balance="hands",
            what=f"{one.species.common_name}: can hurt people",
            why=why,
        )


def check_law(setting: Setting) -> Iterator[CheckFinding]:
    """What is known of law about an animal; never a promise that it is lawful."""
    usual = str(rules()["law"]["unlisted"])
    for one, _ in _by_species(setting):
        note = one.species.legal_note
        if note and not note.startswith(usual):
            banned = "banned" in note
            yield _about(
                one,
                setting,
                rule="law",
                weight="serious" if banned else "note",
                balance="hands",
                what=f"{one.species.common_name}: check local rules",
                why=note,
            )


def _about(  # noqa: PLR0913  the parts of one finding
    one: Resident,
    setting: Setting,
    *,
    rule: str,
    weight: Weight,
    what: str,
    why: str,
    value: Value | None = None,
    balance: str = "mouths",
) -> CheckFinding:
    """A finding about one entry, on the word of the value or of the species' own row."""
    species: Species = one.species
    keys = value.source if value is not None else "practice"
    return CheckFinding(
        id=f"{rule}.{one.entry.id}",
        balance="hands" if balance == "hands" else "mouths",
        weight=weight,
        who=species.common_name,
        what=what,
        why=why,
        source=source_text(setting.catalogue, keys),
        status=value.status if value is not None else species.status,
    )
