"""Rules of what crew does beside cleaning: pushing, eating pink crust, falling, fouling the water."""

from __future__ import annotations

from backreef.catalogue.entries import known
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
from backreef.working.record import askable

DAYS_PER_WEEK = 7
WEEKS_PER_YEAR = 52.18
_MG_PER_G = 1000.0
_SCAVENGED = "carcass"
_RISES = {"no": "cannot turn over", "partly": "does not always turn over"}


def pushes(setting: Setting) -> Found:
    """An animal that topples, lifts or buries rock and corals."""
    corals = "coral_neighbour" in setting.tokens or setting.plan.tank.coral_cover_frac > 0
    for one in setting.residents:
        if not one.species.pushes or one.species.kind == "anemone":
            continue  # what an anemone does to corals is told where it stings
        yield about(
            one,
            setting,
            rule="pushes",
            weight="caution" if corals else "note",
            what=f"{one.called}: {one.species.pushes}",
            why="there are corals in this tank" if corals else "no corals are planned; rock can fall too",
            condition="goes where rock stands on the bottom glass and corals are glued",
        )


def eats_crust(setting: Setting) -> Found:
    """An animal that scrapes off pink crust with the algae."""
    for one in setting.residents:
        likes = setting.guild(one).feeds_on["coralline"].value
        if likes < rule_number("crust_eater_frac") and "coralline" not in one.species.cleans:
            continue
        yield about(
            one,
            setting,
            rule="crust",
            weight="note",
            what=f"{one.called}: eats pink crust too",
            why=f"its liking of pink crust is {likes:g} of 1; bare trails on rock are the sign",
            condition="more of it the less turf and film there is",
        )


def cannot_rise(setting: Setting) -> Found:
    """A snail or urchin that cannot turn over, where nobody looks in time."""
    if setting.plan.tank.sand_area_m2 <= 0:
        return
    for one in setting.residents:
        if one.species.self_rights not in _RISES or setting.guild(one).light_fed:
            continue  # what sits still does not fall
        lost = fallen_lost_per_y(setting)
        late = setting.absence_days > rule_number("righted_within_d")
        yield about(
            one,
            setting,
            rule="rights",
            weight="caution" if late and one.species.self_rights == "no" else "note",
            what=f"{one.called}: {_RISES[one.species.self_rights]}",
            why=f"each falls about {rule_number('falls_per_week') * WEEKS_PER_YEAR:.0f} times a year; by the "
            f"days with somebody there, {lost:.1f} of these are found too late; {setting.absence_label}",
            number="falls_per_week",
            condition="a kind that rights itself needs no looking after; the crew check finds the fallen",
        )


def fallen_lost_per_y(setting: Setting) -> float:
    """Falls a year of one snail that nobody finds in time. [1/y]

    Validity
    --------
    Somebody who is there looks at the sand; weekdays only, longer absences come on top.

    Source
    ------
    Falls and time to live by common practice, no source.
    """
    return rule_number("falls_per_week") * WEEKS_PER_YEAR * unseen_frac(setting)


def unseen_frac(setting: Setting) -> float:
    """Share of moments in a week after which nobody comes in time to turn a snail over."""
    there = sorted({window.weekday for window in setting.plan.keeper.presence})
    if not there:
        return 1.0
    gaps = [
        (later - first - 1) % DAYS_PER_WEEK + 1
        for first, later in zip(there, [*there[1:], there[0]], strict=True)
    ]
    return sum(max(0.0, gap - rule_number("righted_within_d")) for gap in gaps) / DAYS_PER_WEEK


def fouls(setting: Setting) -> Found:
    """An animal whose dead body alone would bring ammonia into this water."""
    scavengers = sum(one.entry.count for one in setting.residents if _SCAVENGED in one.species.cleans)
    eaters = f"{scavengers} animals" if scavengers else "no animals"
    for one in setting.residents:
        mass = grown_g(one)
        if mass is None:
            if one.is_fish or one.species.kind not in ("coral", "anemone", "bivalve", "pod", "worm"):
                yield Lacking(one=one, fact="the mass of a grown one")
            continue
        ammonia = carcass_mg_n_per_l(mass, water_l=setting.plan.tank.water_volume_l)
        if ammonia < rule_number("fouling_mg_n_per_l"):
            continue
        yield about(
            one,
            setting,
            rule="fouls",
            weight="note",
            balance="water",
            what=f"{one.called}: a dead one fouls this water",
            why=f"{mass:.0f} g of body bring about {ammonia:.1f} mg N/L ammonia in two days",
            number="rotten_frac",
            condition=f"{eaters} of this plan eat carcasses; take a body out at once",
        )


@askable
def grown_g(one: Resident) -> float | None:
    """Wet mass of a grown animal; None where it is not known. [g]"""
    a, b = known(one.species.weight_a_g), known(one.species.weight_b_ratio)
    adult = known(one.species.adult_length_cm)
    return None if a is None or b is None or adult is None else a.value * adult.value**b.value


@askable
def carcass_mg_n_per_l(mass_g: float, *, water_l: float) -> float:
    """Total ammonia from one carcass after two days. [mg N/L]

    Validity
    --------
    No scavengers and no nitrification.

    Source
    ------
    Common practice, no source: 100 g of fish give 4 mg/L in 200 L.
    """
    nitrogen_g = mass_g * rule_number("flesh_nitrogen_frac") * rule_number("rotten_frac")
    return nitrogen_g * _MG_PER_G / water_l


def poisons(setting: Setting) -> Found:
    """An animal that gives off poison when it is hurt or dies."""
    for one in setting.residents:
        told = "; ".join(filter(None, (one.species.safety_condition, one.species.human_hazard)))
        if not any(word in one.species.safety_condition for word in rule_words("poison", "words")):
            continue
        yield about(
            one,
            setting,
            rule="poison",
            weight="caution",
            balance="water",
            what=f"{one.called}: can poison this water",
            why=told,
            condition="worse in less water; guard every inlet, keep carbon ready, take out a sick one",
        )


def inlets(setting: Setting) -> Found:
    """An animal that walks or drifts into the inlet of a pump."""
    for one in setting.residents:
        if one.species.kind not in rule_words("inlets", "kinds"):
            continue
        yield about(
            one,
            setting,
            rule="inlets",
            weight="caution" if _walks(one) else "note",
            balance="water",
            what=f"{one.called}: guard every inlet of a pump",
            why="what is drawn into one is shredded, and what is left of it fouls the water for all",
            condition="it walks until place, light and flow suit it" if _walks(one) else "",
        )


def _walks(one: Resident) -> bool:
    return bool(one.species.tags & rule_words("inlets", "walk"))


RULES = (
    Rule(name="pushes", look=pushes, reads=("pushes", "tags"), plan=("tank.coral_cover",)),
    Rule(name="crust", look=eats_crust, reads=("guild", "cleans")),
    Rule(
        name="rights",
        look=cannot_rise,
        reads=("self_rights",),
        plan=("tank.sand_area", "keeper.presence", "keeper.closed"),
    ),
    Rule(
        name="fouls",
        look=fouls,
        reads=("weight_a_g", "weight_b_ratio", "adult_length_cm", "cleans"),
        plan=("tank.water_volume",),
    ),
    Rule(name="poison", look=poisons, reads=("safety_condition", "human_hazard")),
    Rule(name="inlets", look=inlets, reads=("kind", "tags")),
)
