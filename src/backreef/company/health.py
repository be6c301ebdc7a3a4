"""Rules of health: kinds that fall ill easily, quarantine, delicate animals, farm-bred ones."""

from __future__ import annotations

from backreef.catalogue.build import entries_with
from backreef.catalogue.entries import Species, known
from backreef.company.findings import CheckFinding, Found, Resident, Rule, Setting, about, rule_number
from backreef.company.hazards import apart_d

_NAMED = 3
_COPPER = "copper"
_TEMPERS = ("none", "stings", "low", "medium", "high", "very_high")
_TO_BE_HAD = ("common", "some")


def _too_short(one: Resident, setting: Setting) -> bool:
    """Whether a newcomer is kept apart for less than it takes to see and treat parasites."""
    return apart_d(one, setting) < rule_number("quarantine_least_d")


def falls_ill(setting: Setting) -> Found:
    """A kind that is first to fall ill, coming without a quarantine."""
    for one in setting.residents:
        if one.species.disease != "high" or one.entry.arrives_on is None or not _too_short(one, setting):
            continue
        others = sum(each.entry.count for each in setting.residents if each.is_fish) - one.entry.count
        yield about(
            one,
            setting,
            rule="disease",
            weight="caution",
            what=f"{one.called}: first to fall ill, and comes without quarantine",
            why=one.species.disease_note or "its kind is prone to parasites",
            condition=f"{others} other fish share the water; 30 to 45 days apart, treated by a vet's advice, "
            "cut the risk; days of watching alone do little",
            from_on=one.entry.arrives_on,
        )


def no_quarantine(setting: Setting) -> Found:
    """Fish that come while others are there, and no tank to keep them apart."""
    newcomers = [
        one
        for one in setting.residents
        if one.is_fish and one.entry.arrives_on is not None and _too_short(one, setting)
    ]
    if not newcomers:
        return
    task = known(setting.catalogue.tasks["quarantine_day"].minutes)
    minutes = f"{task.value:g} minutes a day" if task is not None else "some minutes a day"
    yield CheckFinding(
        id="quarantine",
        balance="mouths",
        weight="note",
        who=", ".join(dict.fromkeys(one.species.common_name for one in newcomers)),
        what="no quarantine, or a short one, for the newcomers",
        why="white spot comes in with one carrier and shows 1 to 4 weeks later in all; a display with fish "
        f"in it cannot be treated; a quarantine takes {minutes} for 30 to 45 days",
        source="common practice, no source",
        status="practice",
        condition="fish that a trusted seller kept and fed for weeks, few and in one batch, lower the risk "
        "but do not end it",
        from_on=min(setting.comes_on(one) for one in newcomers),
    )


def medicine(setting: Setting) -> Found:
    """A shrimp, snail, coral or shark that is to be treated against the parasites of fish."""
    for one in setting.residents:
        if not one.entry.treated or (one.is_fish and _COPPER not in one.species.hardiness_note):
            continue
        yield about(
            one,
            setting,
            rule="medicine",
            weight="serious",
            what=f"{one.called}: treated in quarantine, and what treats fish kills it",
            why=f"{_COPPER}, the common medicine against parasites, kills shrimps, snails, corals and sharks",
            condition="keep it apart untreated, in water without fish, until no parasite is left that came "
            "with it; the vet's word counts",
            from_on=one.entry.arrives_on,
        )


def delicate(setting: Setting) -> Found:
    """A delicate animal, or one for experts."""
    for one, _ in setting.by_species:
        if one.species.hardiness not in ("delicate", "expert"):
            continue
        expert = one.species.hardiness == "expert"
        yield about(
            one,
            setting,
            rule="delicate",
            weight="caution" if expert else "note",
            what=f"{one.species.common_name}: {'for experts' if expert else 'delicate'}",
            why=one.species.hardiness_note or "many are lost in the first weeks",
            condition=""
            if setting.guild(one).light_fed
            else "see it eat at the seller's before it is bought",
        )


def farm_bred(setting: Setting) -> Found:
    """Newcomers that can be had from farms."""
    asked = sorted(
        f"{one.species.common_name} ({one.species.captive_bred})"
        for one, _ in setting.by_species
        if one.entry.arrives_on is not None and one.species.captive_bred in _TO_BE_HAD
    )
    if not asked:
        return
    yield CheckFinding(
        id="farm_bred",
        balance="mouths",
        weight="note",
        who=", ".join(asked),
        what=f"ask for farm-bred animals: {', '.join(asked)}",
        why="they can be had from farms; the word in brackets says how often",
        source="common practice, no source",
        status="practice",
        condition="farm-bred fish eat prepared food from the first day and carry fewer parasites",
    )


def from_the_sea(setting: Setting) -> Found:
    """A fish taken from the sea where a farm-bred kind lives alike, as small and peaceful, and fits here."""
    for one, _ in setting.by_species:
        if one.entry.arrives_on is None or one.species.captive_bred in _TO_BE_HAD or not one.is_fish:
            continue
        others = _in_its_stead(one.species, setting)
        if not others:
            continue
        yield about(
            one,
            setting,
            rule="in_stead",
            weight="note",
            what=f"{one.species.common_name}: farm-bred in its stead: {', '.join(others)}",
            why=f"it comes from the sea (farm-bred: {one.species.captive_bred}); these live alike, stay as "
            "small and as peaceful, and fit this tank",
            condition="look at the rules of company for the other one too",
        )


def _in_its_stead(species: Species, setting: Setting) -> list[str]:
    """Names of farm-bred kinds of the same guild and like size that fit the tank, smallest first."""
    adult = known(species.adult_length_cm)
    if adult is None:
        return []
    tank = setting.plan.tank
    found: list[tuple[float, str]] = []
    alike = entries_with(
        setting.catalogue.species, kind=species.kind, guild=species.guild, captive_bred="common"
    )
    for other in alike:
        length, size = known(other.min_tank_length_cm), known(other.adult_length_cm)
        volume = known(other.min_volume_l)
        if other.low_upkeep == "never":
            continue
        if size is None or length is None or volume is None or _bolder(other, species, setting):
            continue
        fits = volume.value <= tank.display_gross_l and length.value <= (tank.display_length_cm or 0.0)
        if fits and size.value <= rule_number("like_size_ratio") * adult.value:
            found.append((size.value, other.common_name))
    return [name for _, name in sorted(found)[:_NAMED]]


def _bolder(other: Species, species: Species, setting: Setting) -> bool:
    """Whether a kind is bolder than the one it would stand in for, or fights with somebody of this plan."""
    if _TEMPERS.index(other.aggression) > _TEMPERS.index(species.aggression):
        return True
    there = [one.species for one in setting.residents if one.species.id != species.id]
    return any(set(a.fights_with) & b.tags for each in there for a, b in ((each, other), (other, each)))


RULES = (
    Rule(
        name="disease",
        look=falls_ill,
        reads=("disease", "disease_note"),
        plan=("devices", "animals[].arrives_on", "animals[].quarantine"),
    ),
    Rule(
        name="quarantine",
        look=no_quarantine,
        reads=("minutes",),
        plan=("devices", "animals[].arrives_on", "animals[].quarantine"),
    ),
    Rule(
        name="medicine",
        look=medicine,
        reads=("kind", "hardiness_note"),
        plan=("animals[].treated", "animals[].arrives_on"),
    ),
    Rule(name="delicate", look=delicate, reads=("hardiness", "hardiness_note")),
    Rule(name="farm_bred", look=farm_bred, reads=("captive_bred",), plan=("animals[].arrives_on",)),
    Rule(
        name="in_stead",
        look=from_the_sea,
        reads=(
            *("captive_bred", "guild", "adult_length_cm", "min_tank_length_cm", "min_volume_l"),
            *("aggression", "fights_with", "tags"),
        ),
        plan=("tank.display", "animals[].arrives_on"),
    ),
)
