"""Rules of hard-to-feed animals: live food, hands, all-day meals, plants, the size of a mouthful."""

from __future__ import annotations

from backreef.aquarium.plan import BY_HAND
from backreef.catalogue.entries import FoodClass, known
from backreef.company.findings import Found, Lacking, Resident, Rule, Setting, Weight, about, rule_number
from backreef.company.food import FED_BY_TANK, lives_from_food
from backreef.units import DAYS_PER_MONTH

_WILLING = ("reliable", "usual")
_PREPARED: tuple[FoodClass, ...] = ("dry", "frozen", "algae")
_HARD: tuple[FoodClass, ...] = ("dry",)
_ALIVE: tuple[FoodClass, ...] = ("live", "pods")


def needs_live_food(setting: Setting) -> Found:
    """A fish that takes no prepared food well: live food or a stock of pods has to be there for it."""
    for one in setting.residents:
        takes = one.species.takes
        if not one.is_fish or any(takes.get(kind) in _WILLING for kind in _PREPARED):
            continue
        if setting.guild(one).prey_not_modelled:
            continue
        foods = [setting.catalogue.foods[meal.food] for meal in setting.plan.meals]
        eats = setting.guild(one).feeds_on
        fed = any(food.food_class in _ALIVE and eats[food.pool].value > 0 for food in foods)
        pods = takes.get("pods") in _WILLING and (
            setting.plan.tank.refugium_l > 0 or setting.has_device("refugium")
        )
        weight: Weight = "note" if fed and pods else "caution" if fed or pods else "serious"
        has = [word for word, there in (("live meals", fed), ("a refugium", pods)) if there]
        wants = " or ".join(
            "live food" if kind == "live" else "pods" for kind in _ALIVE if takes[kind] in _WILLING
        )
        yield about(
            one,
            setting,
            rule="live_food",
            weight=weight,
            what=f"{one.called}: lives from {wants or 'what nobody here knows'}",
            why=f"it takes no prepared food well; this plan has {' and '.join(has) or 'neither'}",
            condition=one.species.add_gate or one.species.feeder_condition,
        )


def needs_hands(setting: Setting) -> Found:
    """An animal that a feeder alone does not keep, in a plan with days on which nobody is there."""
    feeders = any(meal.by != BY_HAND for meal in setting.plan.meals)
    for one in setting.residents:
        needs, bears = known(one.species.feedings_per_day), known(one.species.max_days_unfed)
        hands = one.species.feeder_alone != "yes" and one.species.forage_replaces not in FED_BY_TANK
        if not hands or needs is None or needs.value <= 0:
            continue
        if bears is None:
            yield Lacking(one=one, fact="the days it bears unfed")
            continue
        late = setting.absence_days > bears.lowest
        if late and not feeders and lives_from_food(one):
            continue  # the rule 'unfed' says so
        weight: Weight = ("serious" if one.species.feeder_alone == "no" else "caution") if late else "note"
        minutes = _hand_min_per_month(one, setting, needs.value)
        yield about(
            one,
            setting,
            rule="hand_fed",
            weight=weight,
            what=f"{one.called}: a feeder alone does not keep it"
            if one.species.feeder_alone == "no"
            else f"{one.called}: a feeder alone keeps it under conditions",
            why=f"{setting.absence_label}; it bears {bears.lowest:.0f} to {bears.highest:.0f} days; "
            f"meals by hand take about {minutes:.0f} minutes a month, shared with others fed at the time",
            value=bears,
            condition=one.species.feeder_condition,
        )


def _hand_min_per_month(one: Resident, setting: Setting, meals_per_d: float) -> float:
    task = "feed_dry_hand" if one.species.takes.get("dry") in _WILLING else "feed_frozen"
    minutes = known(setting.catalogue.tasks[task].minutes)
    return (minutes.value if minutes else 0.0) * meals_per_d * DAYS_PER_MONTH


def feeds_all_day(setting: Setting) -> Found:
    """An animal that must eat many times a day and hangs on a single feeder while nobody is there."""
    feeders = {meal.by for meal in setting.plan.meals if meal.by != BY_HAND}
    if len(feeders) != 1:
        return
    for one in setting.residents:
        needs, bears = known(one.species.feedings_per_day), known(one.species.max_days_unfed)
        if needs is None or bears is None or needs.value < rule_number("all_day_meals_per_d"):
            continue
        if not lives_from_food(one) or setting.absence_days <= bears.lowest:
            continue
        yield about(
            one,
            setting,
            rule="all_day",
            weight="caution",
            what=f"{one.called}: one feeder stands between it and hunger",
            why=f"needs {needs.value:g} meals a day; {setting.absence_label}; a jam on the first of them is "
            f"found too late, as it bears {bears.lowest:.0f} to {bears.highest:.0f} days",
            value=bears,
            condition="two feeders at half the dose: both jam as seldom as the square of one",
        )


def needs_plants(setting: Setting) -> Found:
    """A fish that lives from plants, in a plan that gives none."""
    foods = [setting.catalogue.foods[meal.food] for meal in setting.plan.meals]
    if not foods or any(food.food_class == "algae" or food.pool == "seaweed_sheet" for food in foods):
        return
    leafy = [food.name for food in foods if "seaweed" in food.id]
    for one in setting.residents:
        likes = setting.guild(one).feeds_on["seaweed_sheet"].value
        if not one.is_fish or likes < rule_number("plant_eater_frac") or leafy:
            continue
        grazes = one.species.forage_replaces in FED_BY_TANK
        yield about(
            one,
            setting,
            rule="plants",
            weight="note" if grazes else "caution",
            what=f"{one.called}: no plants to eat",
            why="no meal is seaweed; on meat alone it erodes at head and sides over 3 to 12 months, and "
            "falls ill at least twice as often",
            condition="goes where film and turf in the tank suffice for it"
            if grazes
            else "what grows in the tank is only a part of its food",
        )


def mouthful(setting: Setting) -> Found:
    """An animal that gets hard food only, and none of a size for its mouth."""
    for one in setting.residents:
        if not lives_from_food(one):
            continue
        foods = [
            setting.catalogue.foods[meal.food]
            for meal in setting.plan.meals
            if one.species.takes.get(setting.catalogue.foods[meal.food].food_class) not in ("no", "rarely")
        ]
        sizes = [size for food in foods if (size := known(food.particle_mm)) is not None]
        pieces = known(one.species.food_mm)
        if not foods or any(food.food_class not in _HARD for food in foods):
            continue  # what is soft comes to pieces
        if pieces is None or not sizes:
            yield Lacking(one=one, fact="the size of its mouthful")
            continue
        if any(size.lowest <= pieces.highest and size.highest >= pieces.lowest for size in sizes):
            continue
        given = ", ".join(f"{size.value:g}" for size in sizes)
        yield about(
            one,
            setting,
            rule="mouthful",
            weight="caution",
            what=f"{one.called}: no food of a size for its mouth",
            why=f"it takes pieces of {pieces.lowest:g} to {pieces.highest:g} mm; the meals are {given} mm",
            value=pieces,
            condition="a fish that tears its food takes larger pieces in bites",
        )


RULES = (
    Rule(
        name="live_food",
        look=needs_live_food,
        reads=("takes", "guild", "food_class", "add_gate"),
        plan=("meals", "tank.refugium", "devices"),
    ),
    Rule(
        name="hand_fed",
        look=needs_hands,
        reads=("feeder_alone", "feeder_condition", "forage_replaces", "max_days_unfed", "feedings_per_day"),
        plan=("meals", "keeper.presence", "keeper.closed"),
    ),
    Rule(
        name="all_day",
        look=feeds_all_day,
        reads=("feedings_per_day", "max_days_unfed"),
        plan=("meals", "keeper.presence", "keeper.closed"),
    ),
    Rule(name="plants", look=needs_plants, reads=("guild", "forage_replaces", "food_class"), plan=("meals",)),
    Rule(name="mouthful", look=mouthful, reads=("food_mm", "takes", "particle_mm"), plan=("meals",)),
)
