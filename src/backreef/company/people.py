"""Rules of people and law: jumpers and the minutes of their lid, poison and bites, permits, unfit animals."""

from __future__ import annotations

from backreef.aquarium.plan import BY_HAND, Rhythm
from backreef.catalogue.entries import known
from backreef.company.findings import Found, Resident, Rule, Setting, about, rule_words, rules
from backreef.company.food import meals_a_day
from backreef.units import DAYS_PER_MONTH

_WEEKS_PER_MONTH = DAYS_PER_MONTH / 7
_LEAPS = {"high": "leaps out when frightened", "climbs": "climbs out"}


def leaps(setting: Setting) -> Found:
    """A jumper or climber in a tank without a lid, and the minutes that a lid would cost."""
    if setting.plan.tank.lid != "open":
        yield from _gaps(setting)
        return
    for one in setting.residents:
        if one.species.jumps in _LEAPS:
            yield about(
                one,
                setting,
                rule="lid",
                weight="serious" if one.is_fish else "caution",
                what=f"{one.called}: no lid",
                why=f"it {_LEAPS[one.species.jumps]}; a mesh of 5 to 6 mm over every gap keeps it in",
                condition=f"a lid costs this keeper about {lid_min_per_month(setting):.0f} minutes a month",
            )


def _gaps(setting: Setting) -> Found:
    """Under a cover: whoever finds the gap at a pipe or a cable."""
    for one in setting.residents:
        if one.species.tags & rule_words("lid", "escapes"):
            yield about(
                one,
                setting,
                rule="lid",
                weight="caution",
                what=f"{one.called}: every gap in the cover counts",
                why="it lifts covers and leaves through any gap that its head passes, by pipes and cables",
                condition="weigh the cover down and plug the gaps before it comes",
            )


def lid_min_per_month(setting: Setting) -> float:
    """Minutes a month that a lid adds: cleaning it, and moving it at each meal and chore by hand. [min]"""
    tasks, plan = setting.catalogue.tasks, setting.plan
    cleaning, every = known(tasks["lid_clean"].minutes), known(tasks["lid_clean"].every_days)
    total = cleaning.value * DAYS_PER_MONTH / every.value if cleaning and every else 0.0
    by_hand = rules()["hand_tasks"]
    for meal in plan.meals:
        if meal.by == BY_HAND:
            food = setting.catalogue.foods[meal.food]
            extra = known(tasks[by_hand[food.food_class]].extra_min_with_lid)
            total += (extra.value if extra else 0.0) * len(meal.times) * len(meal.weekdays) * _WEEKS_PER_MONTH
    for upkeep in plan.upkeep:
        extra = known(tasks[upkeep.task].extra_min_with_lid)
        if upkeep.by == BY_HAND and extra is not None:
            total += extra.value * times_a_month(upkeep.rhythm)
    return total


def times_a_month(rhythm: Rhythm) -> float:
    """How often a rhythm comes round in a month."""
    if rhythm.kind == "interval":
        return DAYS_PER_MONTH / (rhythm.every_days or DAYS_PER_MONTH)
    if rhythm.kind == "weekly":
        return len(rhythm.weekdays) * _WEEKS_PER_MONTH / rhythm.every_weeks
    return len(rhythm.weekdays) / rhythm.every_months


def hurts(setting: Setting) -> Found:
    """An animal that can hurt whoever reaches in: venom, poison, blades, bites, stings."""
    for one, _ in setting.by_species:
        hazard = one.species.human_hazard
        if not hazard:
            continue
        grave = any(word in hazard for word in rule_words("people", "grave"))
        yield about(
            one,
            setting,
            rule="people",
            weight="caution" if grave else "note",
            balance="hands",
            what=f"{one.species.common_name}: can hurt people",
            why=hazard,
            condition="where children, patients or the public can reach in, keep it out or lock the cover; "
            "after an injury ask a doctor",
        )


def listed(setting: Setting) -> Found:
    """What is known of law and permits for an animal; never a promise that it is lawful."""
    usual = str(rules()["law"]["unlisted"])
    for one, _ in setting.by_species:
        note = one.species.legal_note
        if not note or note.startswith(usual):
            continue
        banned = any(word in note for word in rule_words("law", "banned"))
        yield about(
            one,
            setting,
            rule="law",
            weight="serious" if banned else "note",
            balance="hands",
            what=f"{one.species.common_name}: check local rules",
            why=note,
            condition="laws change: the authority where the tank stands has the last word",
        )


def unfit(setting: Setting) -> Found:
    """An animal that should not be bought for a tank of little work."""
    for one, _ in setting.by_species:
        if one.species.low_upkeep == "never":
            meant = _is_meant(one, setting)
            yield about(
                one,
                setting,
                rule="never",
                weight="caution" if meant else "serious",
                what=f"{one.species.common_name}: not an animal for a tank like this",
                why=one.species.low_upkeep_reason,
                condition="this plan gives it the room or the meals that most tanks lack: for as long as "
                "somebody keeps that up"
                if meant
                else "",
            )


def _is_meant(one: Resident, setting: Setting) -> bool:
    """Whether all that speaks against it is want of room or of hands, and the plan has both."""
    reason = one.species.low_upkeep_reason
    asked = [
        enough(one, setting)
        for group, enough in (("room", _has_room), ("hands", _is_fed_daily))
        if any(word in reason for word in rule_words("never", group))
    ]
    return bool(asked) and all(asked)


def _has_room(one: Resident, setting: Setting) -> bool:
    tank = setting.plan.tank
    length, volume = known(one.species.min_tank_length_cm), known(one.species.min_volume_l)
    long = length is not None and (tank.display_length_cm or 0.0) >= length.value
    return long and volume is not None and tank.display_gross_l >= volume.value


def _is_fed_daily(one: Resident, setting: Setting) -> bool:
    needs, bears = known(one.species.feedings_per_day), known(one.species.max_days_unfed)
    if needs is None or bears is None:
        return False
    return meals_a_day(setting, one) >= needs.lowest and setting.absence_days <= bears.lowest


RULES = (
    Rule(
        name="lid",
        look=leaps,
        reads=("jumps", "tags", "extra_min_with_lid", "minutes", "every_days"),
        plan=("tank.lid", "meals", "upkeep"),
    ),
    Rule(name="law", look=listed, reads=("legal_note",)),
    Rule(name="people", look=hurts, reads=("human_hazard",)),
    Rule(
        name="never",
        look=unfit,
        reads=(
            "low_upkeep",
            "low_upkeep_reason",
            "min_tank_length_cm",
            "min_volume_l",
            "feedings_per_day",
            "max_days_unfed",
        ),
        plan=("tank.display", "meals", "keeper.presence"),
    ),
)
