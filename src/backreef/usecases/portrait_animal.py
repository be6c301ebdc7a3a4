"""The page about an animal: its day, its year, what it gives and costs, whom it troubles, how sure we are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from backreef.catalogue.entries import Catalogue, Species, Task, known
from backreef.company.counted import counted_of
from backreef.company.sexes import mating_of, mating_words
from backreef.models.growth import length_after_cm
from backreef.units import DAYS_PER_MONTH, DAYS_PER_YEAR
from backreef.usecases import portrait_words as words
from backreef.usecases.portrait import (
    Part,
    Portrait,
    amount,
    figure,
    listed,
    part,
    plural,
    sentence,
    sureness,
)

_SHOWN_YEARS = (1, 3)
_NEVER_FED = "fully"
_COVERED = ("high", "climbs")
_MEAL_TASKS = (("dry", "feed_dry_hand"), ("frozen", "feed_frozen"), ("live", "feed_frozen"))
"""What is offered, in the order of least work, and the task that offers it."""
_TAKEN = ("reliable", "usual")


def animal_portrait(animal: Species, catalogue: Catalogue) -> Portrait:
    """The page about an animal."""
    called = [animal.scientific_name, *animal.synonyms]
    place = f"{animal.origin}; {animal.zone}" if animal.origin else animal.zone
    return Portrait(
        id=animal.id,
        title=animal.common_name,
        subtitle="; ".join(filter(None, (", also ".join(called), animal.family, place))),
        parts=(
            part(words.LOW_UPKEEP[animal.low_upkeep], sentence(animal.low_upkeep_reason)),
            _day(animal, catalogue),
            _year(animal),
            _gives(animal),
            _costs(animal, catalogue),
            _troubles(animal, catalogue),
            _troubled(animal, catalogue),
            _lost(animal),
            _people(animal),
            *sureness(animal, catalogue),
        ),
    )


def _day(animal: Species, catalogue: Catalogue) -> Part:
    guild = catalogue.guilds[animal.guild]
    hours = f"{100 * guild.day_share_frac.value:.0f} % of its feeding is done in the light"
    fed = animal.forage_replaces != _NEVER_FED
    unfed = amount(animal.max_days_unfed, "days")
    meals = known(animal.feedings_per_day)
    return part(
        "Its day",
        sentence(guild.describes),
        sentence(f"lives from {animal.forage_type}; {hours}"),
        sentence(words.REPLACES[animal.forage_replaces]),
        sentence(_takes(animal)) if fed else "",
        sentence(f"wants {plural(meals.value, 'meal')} a day at least") if meals and meals.value > 0 else "",
        sentence(f"pieces of {amount(animal.food_mm, 'mm')}") if fed and known(animal.food_mm) else "",
        sentence(f"bears {unfed} without food, once, settled and well fed") if unfed else "",
        sentence(f"{words.FEEDER_ALONE[animal.feeder_alone]}: {animal.feeder_condition}"),
    )


def _takes(animal: Species) -> str:
    by_answer: dict[str, list[str]] = defaultdict(list)
    for food, answer in animal.takes.items():
        by_answer[answer].append(words.FOOD_CLASSES[food])
    told = [
        f"{words.TAKES[answer]}: {listed(by_answer[answer])}" for answer in words.TAKES if answer in by_answer
    ]
    return f"takes {'; '.join(told)}"


def _year(animal: Species) -> Part:
    room = [amount(animal.min_volume_l, "L"), amount(animal.min_tank_length_cm, "cm of length")]
    sand = known(animal.sand_cm)
    age = known(animal.min_tank_age_months)
    life = amount(animal.life_years, "years")
    old = f", in a tank of {plural(age.value, 'month')} or more" if age and age.value > 0 else ""
    return part(
        "Its year",
        sentence(_growth(animal)),
        sentence(f"asks for {' and '.join(filter(None, room))} at least") if any(room) else "",
        sentence(f"how many: {_group(animal)}"),
        _sexes(animal),
        sentence(
            f"comfortable from {figure_of(animal, 'temp_min_c')} to {figure_of(animal, 'temp_max_c')} degC"
        ),
        sentence(f"sand: {animal.sand_need}") if animal.sand_need else "",
        sentence(f"{figure(sand.value)} cm of sand or more") if sand and sand.value > 0 else "",
        sentence(f"comes {words.STAGES[animal.add_stage]}{old}"),
        sentence(f"before it comes: {animal.add_gate}") if animal.add_gate else "",
        sentence(f"{words.HARDINESS[animal.hardiness]}{_note(animal.hardiness_note)}"),
        sentence(f"risk of disease {animal.disease}{_note(animal.disease_note)}; illness is for a vet"),
        sentence(f"lives {life} in a tank") if life else "",
        sentence(f"breeding: {animal.breeds}"),
        words.BRED[animal.captive_bred],
    )


def figure_of(animal: Species, field: str) -> str:
    """The middle of a value, or a word where nobody knows."""
    value = known(getattr(animal, field))
    return figure(value.value) if value else "an unknown temperature"


def _growth(animal: Species) -> str:
    start, grown = known(animal.purchase_length_cm), known(animal.adult_length_cm)
    record, rate = known(animal.max_length_cm), known(animal.growth_kmax_per_y)
    if grown is None:
        return ""
    told = [f"bought at {figure(start.value)} cm" if start else ""]
    if start and rate and start.value < grown.value:
        first, later = (
            length_after_cm(
                start.value, days=years * DAYS_PER_YEAR, largest_cm=grown.value, kmax_per_y=rate.value
            )
            for years in _SHOWN_YEARS
        )
        told.append(f"about {first:.1f} cm after a year of good food and {later:.1f} after three")
    told.append(f"grown at {amount(animal.adult_length_cm, 'cm')}")
    if record and record.value > grown.value:
        told.append(f"the longest on record {figure(record.value)} cm")
    return ", ".join(filter(None, told))


def _sexes(animal: Species) -> str:
    mating = mating_of(animal)
    if mating is None:
        return ""
    word = "from memory" if mating.status == "memory" else mating.source
    return sentence(f"sexes: {mating_words(mating)} ({mating.place}; {word})")


def _group(animal: Species) -> str:
    most = animal.group_max_count
    count = f"{animal.group_min_count} or more" if most is None else f"{animal.group_min_count} to {most}"
    count = f"{most}" if most == animal.group_min_count else count
    return f"{count}; {animal.social_rule}" if animal.social_rule else count


def _gives(animal: Species) -> Part:
    by_strength: dict[int, list[str]] = defaultdict(list)
    for what, strength in animal.cleans.items():
        by_strength[strength].append(words.CLEANS.get(what, what.replace("_", " ")))
    told = [
        f"{words.STRENGTHS[strength]}: {listed(by_strength[strength])}"
        for strength in sorted(by_strength, reverse=True)
    ]
    density = amount(animal.start_density_per_100l)
    return part(
        "What it does for you",
        sentence("; ".join(told)) if told else "No work of yours; it is there to be looked at.",
        sentence(f"a cautious first number for 100 L is {density}, fewer where little grows")
        if density and told
        else "",
    )


def _costs(animal: Species, catalogue: Catalogue) -> Part:
    return part("What it costs you", *_meal_minutes(animal, catalogue), *_other_minutes(animal, catalogue))


def _meal_minutes(animal: Species, catalogue: Catalogue) -> Iterator[str]:
    meals = known(animal.feedings_per_day)
    if animal.forage_replaces == _NEVER_FED or meals is None or meals.value == 0:
        yield "No meal of its own as long as what it lives from suffices."
        return
    if animal.feeder_alone == "yes":
        yield "No minutes for meals where a feeder gives them; refilling it is shared by all who eat from it."
    offered = [task for food, task in _MEAL_TASKS if animal.takes.get(food) in _TAKEN]  # type: ignore[call-overload]
    task = catalogue.tasks[offered[0] if offered else "feed_target"]
    each = known(task.minutes)
    if each is not None:
        month = each.value * meals.value * DAYS_PER_MONTH
        yield (
            f"By hand{' instead' if animal.feeder_alone == 'yes' else ''}: about {month:.0f} minutes a month "
            f"({plural(meals.value, 'meal')} a day of {plural(each.value, 'minute')}; {_lower(task.name)}), "
            "shared with all who eat at the same time, and somebody there on every day."
        )


def _other_minutes(animal: Species, catalogue: Catalogue) -> Iterator[str]:
    if animal.jumps in _COVERED:
        cleaning = _month_words(catalogue.tasks["lid_clean"])
        yield f"{words.JUMPS[animal.jumps]}; {cleaning}, and a little for each reach into the tank."
    elif animal.jumps == "low":
        yield sentence(words.JUMPS["low"])
    if animal.self_rights in ("no", "partly"):
        yield f"{words.RIGHTS[animal.self_rights]}; {_month_words(catalogue.tasks['crew_check'])}."
    if animal.pushes:
        yield sentence(animal.pushes)


def _month_words(task: Task) -> str:
    minutes, every = known(task.minutes), known(task.every_days)
    if minutes is None or every is None:
        return _lower(task.name)
    return f"{_lower(task.name)}: about {minutes.value * DAYS_PER_MONTH / every.value:.0f} minutes a month"


def _lower(name: str) -> str:
    return f"{name[:1].lower()}{name[1:]}"


def _note(text: str) -> str:
    return f": {text}" if text else ""


def _troubles(animal: Species, catalogue: Catalogue) -> Part:
    unsafe: dict[str, list[str]] = defaultdict(list)
    for field, what in words.SAFE.items():
        unsafe[getattr(animal, field)].append(what)
    eats = [catalogue.tokens[token] for token in animal.eats if token in catalogue.tokens]
    fights = [catalogue.tokens[token] for token in animal.fights_with if token in catalogue.tokens]
    told = [f"{words.RISKS[risk]}: {listed(unsafe[risk])}" for risk in words.RISKS if risk in unsafe]
    return part(
        "Whom it troubles",
        sentence(
            f"{words.AGGRESSION[animal.aggression]}{f'; quarrels with {listed(fights)}' if fights else ''}"
        ),
        sentence(f"eats {listed(eats)} where it finds them") if eats else "",
        *(sentence(text) for text in told),
        sentence(animal.safety_condition),
    )


def _troubled(animal: Species, catalogue: Catalogue) -> Part:
    hunters = [catalogue.tokens[token] for token in animal.eaten_by if token in catalogue.tokens]
    rivals = sorted(
        other.common_name
        for other in catalogue.species.values()
        if other.id != animal.id and set(other.fights_with) & animal.tags
    )
    return part(
        "Who troubles it",
        sentence(f"eaten by {listed(hunters)}") if hunters else "",
        sentence(f"picked on by {listed(rivals, most=8)}") if rivals else "",
        "" if hunters or rivals else "Nobody that we know of.",
    )


def _lost(animal: Species) -> Part:
    """Deaths that somebody counted, in tanks and on the way to them."""
    rows = counted_of(animal)
    there = [f"{row.text} {row.whose} ({row.source})" for row in rows if row.kept]
    before = [f"before it is sold: {row.text}, {row.whose} ({row.source})" for row in rows if not row.kept]
    return part(
        "What others lost",
        *(sentence(text) for text in (*there, *before)),
        "" if rows else "Nobody has counted deaths of this kind, as far as we know.",
    )


def _people(animal: Species) -> Part:
    return part(
        "For people and the law",
        sentence(animal.human_hazard),
        sentence(animal.legal_note),
        "Never release it, nor its water.",
    )
