"""Laws that the schema cannot know, of single entries and of the whole catalogue; faults where broken."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from backreef.catalogue.entries import (
    FOOD_CLASSES,
    SAFE_WITH,
    Catalogue,
    Guild,
    Pool,
    Quantity,
    Species,
    Value,
    known,
)
from backreef.catalogue.files import in_order
from backreef.catalogue.laws_of_things import device_laws, food_laws, task_laws
from backreef.catalogue.tables import laws, table_sources, tag_tokens, tokens
from backreef.errors import Fault

Said = Iterator[tuple[str, str]]
"""Key and message of each broken law."""
ALGAE_POOLS: tuple[Pool, ...] = ("seaweed_sheet", "film_algae", "turf_algae", "macro_algae", "coralline")
MEANT_BY: Mapping[str, tuple[str, ...]] = {
    "shrimps": ("shrimp_any", "shrimp_small"),
    "snails": ("snail_any",),
    "worms": ("worm_any", "worm_fan"),
    "small_fish": ("fish_any", "fish_small"),
    "clams": ("clam",),
}
"""What an animal is unsafe with -> tokens in `eats` that say so; corals are looked at apart."""
CORALS = ("lps", "sps", "soft")
SITS_STILL = ("coral", "anemone")
FALLS = ("after falls", "cannot turn over")


def check_catalogue(catalogue: Catalogue) -> list[Fault]:
    """Every law that the catalogue breaks: those of single entries, then those of the whole."""
    return in_order([*entry_faults(catalogue), *_guild_faults(catalogue), *_orphans(catalogue)])


def entry_faults(catalogue: Catalogue) -> Iterator[Fault]:
    """Laws that an entry breaks by itself; the file is named as within its folder."""
    for animal in catalogue.species.values():
        yield from _as_faults("species", animal.id, species_laws(animal, catalogue.guilds[animal.guild]))
    for food in catalogue.foods.values():
        yield from _as_faults("foods", food.id, food_laws(food))
    for device in catalogue.devices.values():
        yield from _as_faults("devices", device.id, device_laws(device))
    for task in catalogue.tasks.values():
        yield from _as_faults("tasks", task.id, task_laws(task))


def _as_faults(kind: str, ident: str, broken: Iterable[tuple[str, str]]) -> Iterator[Fault]:
    for key, message in broken:
        yield Fault(file=f"{kind}/{ident}.toml", line=None, key=key, message=message)


def species_laws(animal: Species, guild: Guild) -> Said:
    """Laws of one animal."""
    yield from _length_laws(animal)
    yield from _count_laws(animal)
    yield from _diet_laws(animal, guild)
    yield from _company_laws(animal)
    yield from _body_laws(animal)
    if animal.kind == "fish":
        yield from _fish_laws(animal)
    if guild.light_fed and known(animal.coral_area_cm2_per_unit) is None:
        yield (
            "coral_area_cm2_per_unit",
            "is unknown, but light feeds this animal; estimate its living surface",
        )


def _length_laws(animal: Species) -> Said:
    adult, sold, longest = (
        known(animal.adult_length_cm),
        known(animal.purchase_length_cm),
        known(animal.max_length_cm),
    )
    if adult and sold and (sold.lowest >= adult.value and animal.kind != "pod"):
        yield (
            "purchase_length_cm",
            f"begins at {sold.lowest:g} cm, no less than the adult's {adult.value:g} cm",
        )
    if adult and sold and sold.highest > adult.highest:
        yield "purchase_length_cm", f"ends at {sold.highest:g} cm, above the adult's {adult.highest:g} cm"
    if adult and longest and adult.value > longest.value * laws()["length.most_over_record_ratio"]:
        yield "adult_length_cm", f"is {adult.value:g} cm, but the longest on record is {longest.value:g} cm"
    food = known(animal.food_mm)
    if adult and food and food.highest > adult.value * 10 * laws()["length.most_food_ratio"]:
        yield "food_mm", f"goes to {food.highest:g} mm, too large for an animal of {adult.value:g} cm"
    if _above(animal.temp_min_c, animal.temp_max_c):
        yield "temp_min_c", "is not below temp_max_c"


def _count_laws(animal: Species) -> Said:
    most = animal.group_max_count
    if animal.group_min_count < 1 or (most is not None and most < animal.group_min_count):
        yield (
            "group_min_count",
            f"is {animal.group_min_count}, but group_max_count is {most}; 1 <= least <= most",
        )
    strengths = set(animal.cleans.values())
    if not strengths <= {1, 2, 3}:
        yield "cleans", "holds a strength that is not 1 (helps), 2 or 3 (clears)"


def _diet_laws(animal: Species, guild: Guild) -> Said:
    """What its words and choices say of its food against what its guild eats."""
    if missing := sorted(set(FOOD_CLASSES) - set(animal.takes)):
        yield "takes", f"lacks {', '.join(missing)}; say 'unknown' where you do not know"
    grazes = any(guild.feeds_on[pool].value > 0 for pool in ALGAE_POOLS)
    if "alga" in f"{animal.forage_type} {animal.feeder_condition}" and not grazes:
        yield (
            "forage_type",
            f"speaks of algae, but the guild {guild.id} eats none; choose the guild or mend the words",
        )
    for field in ("forage_type", "social_rule"):
        if "light" in re.findall("[a-z]+", getattr(animal, field)) and not guild.light_fed:
            yield field, f"speaks of light, but the guild {guild.id} has no algae in its tissue"
    if animal.takes.get("algae") == "no" and guild.feeds_on["seaweed_sheet"].value > 1 / 2:
        yield "takes", f"says it takes no algae, but the guild {guild.id} lives from seaweed"
    if animal.feeder_alone != "no" and guild.id in {"pod_picker", "seahorse"}:
        yield (
            "feeder_alone",
            f"is '{animal.feeder_alone}', but a feeder never keeps a {guild.name.lower()} alive",
        )
    if animal.kind in SITS_STILL and animal.self_rights == "no":
        yield "self_rights", f"is 'no', but a {animal.kind} sits still; write 'na'"
    falls = any(word in animal.hardiness_note for word in FALLS)
    if falls and animal.self_rights == "yes":
        yield "hardiness_note", "speaks of falls, but the animal rights itself"


def _company_laws(animal: Species) -> Said:
    """What it eats against what it is said to be safe with."""
    eaten = set(animal.eats)
    for group, meant in MEANT_BY.items():
        safe = getattr(animal, f"safe_{group}")
        named = sorted(eaten.intersection(meant))
        if named and safe == "safe":
            yield f"safe_{group}", f"is 'safe', but `eats` names {', '.join(named)}"
    if "coral_polyp" in eaten and all(getattr(animal, f"safe_{group}") == "safe" for group in CORALS):
        yield "eats", "names coral_polyp, but the animal is said to be safe with every coral"
    harms = [group for group in SAFE_WITH if getattr(animal, f"safe_{group}") == "unsafe"]
    if harms and not animal.safety_condition and not eaten:
        yield "safety_condition", f"is empty, but the animal is unsafe with {', '.join(harms)}; say why"
    if animal.family and f"family_{animal.family.lower()}" not in animal.tags:
        yield "tags", f"lack family_{animal.family.lower()}"


def _body_laws(animal: Species) -> Said:
    """Mass from length against a body's shape, and the largest ration against what the body burns at rest."""
    adult, a, b = known(animal.adult_length_cm), known(animal.weight_a_g), known(animal.weight_b_ratio)
    if adult is None or a is None or b is None:
        return
    mass_g, filled = a.value * adult.value**b.value, a.value * adult.value ** (b.value - 3)
    least, most = laws()["shape.least_other_g_per_cm3"], laws()["shape.most_other_g_per_cm3"]
    if animal.kind != "fish" and not least <= filled <= most:
        yield (
            "weight_a_g",
            f"gives {filled:.2g} g/cm3 of length cubed; bodies lie between {least:g} and {most:g}",
        )
    ration, burns = known(animal.intake_max_frac_ww_per_d), known(animal.metabolism_factor_ratio)
    if ration is None:
        return
    rest_kj = laws()["ration.rest_kj_per_d_of_1_kg"] * (mass_g / 1000) ** laws()["ration.rest_exponent"]
    rest_kj *= burns.value if burns is not None else 1.0
    over_rest = ration.value * mass_g * laws()["ration.kept_kj_per_g_dry"] / rest_kj
    least, most = laws()["ration.least_over_rest_ratio"], laws()["ration.most_over_rest_ratio"]
    if not least <= over_rest <= most:
        yield (
            "intake_max_frac_ww_per_d",
            f"holds {over_rest:.2g} times what an adult burns at rest; not {least:g} to {most:g}",
        )


def _fish_laws(animal: Species) -> Said:
    """Laws of fish: a body, a growth rate, and room for the adult."""
    adult, a, b = known(animal.adult_length_cm), known(animal.weight_a_g), known(animal.weight_b_ratio)
    if adult is None or a is None or b is None:
        yield "weight_a_g", "is unknown, or b or the adult length is; a fish needs all three to be simulated"
        return
    filled = a.value * adult.value ** (b.value - 3)
    least, most = laws()["shape.least_g_per_cm3"], laws()["shape.most_g_per_cm3"]
    if not least <= filled <= most:
        yield (
            "weight_a_g",
            f"gives {filled:.2g} g/cm3 of length cubed; fish lie between {least:g} and {most:g}",
        )
    if known(animal.growth_kmax_per_y) is None:
        yield "growth_kmax_per_y", "is unknown; a fish needs it to be simulated"
    length, volume = known(animal.min_tank_length_cm), known(animal.min_volume_l)
    if length and length.value < adult.value * laws()["room.least_length_ratio"]:
        yield "min_tank_length_cm", f"is {length.value:g} cm, too short for an adult of {adult.value:g} cm"
    if volume and volume.value < adult.value**2 * laws()["room.least_volume_l_per_cm2"]:
        yield "min_volume_l", f"is {volume.value:g} l, too little for an adult of {adult.value:g} cm"


def _above(low: Quantity, high: Quantity) -> bool:
    one, other = known(low), known(high)
    return one is not None and other is not None and one.value >= other.value


def _guild_faults(catalogue: Catalogue) -> Iterator[Fault]:
    used = {animal.guild for animal in catalogue.species.values()}
    for guild in catalogue.guilds.values():
        reaches = sum(weight.value for weight in guild.feeds_on.values())
        if reaches == 0 and not guild.light_fed and not guild.prey_not_modelled:
            yield _table_fault(
                guild.id, "eats from no pool, has no light and names no other prey; it would starve"
            )
        if guild.id not in used:
            yield _table_fault(guild.id, "is used by no animal; take it out or give it one")


def _table_fault(ident: str, message: str) -> Fault:
    return Fault(file="guilds.csv", line=None, key=ident, message=message)


def _orphans(catalogue: Catalogue) -> Iterator[Fault]:
    """Sources that nothing rests on, and tokens that nothing uses."""
    for key in sorted(catalogue.sources.keys() - _cited(catalogue)):
        message = "is cited by no value and no entry; take it out or cite it"
        yield Fault(file="sources.toml", line=None, key=key, message=message)
    spoken = {
        word
        for animal in catalogue.species.values()
        for word in (*animal.fights_with, *animal.eats, *animal.eaten_by, *animal.tags)
    }
    for token in sorted(set(tokens()) - spoken):
        yield Fault(file="tokens.toml", line=None, key=token, message="is used by no animal; take it out")
    carried = {tag for animal in catalogue.species.values() for tag in animal.tags}
    for token in sorted(tag_tokens() - carried):
        yield Fault(
            file="tokens.toml", line=None, key=token, message="is listed as a tag, but no animal carries it"
        )


def values_of(catalogue: Catalogue) -> Iterator[tuple[str, str, Value]]:
    """Kind, field and value of every known number of the entries."""
    for kind in ("species", "foods", "devices", "tasks"):
        for entry in getattr(catalogue, kind).values():
            for field in type(entry).__dataclass_fields__:
                number = getattr(entry, field)
                if isinstance(number, Value):
                    yield kind, field, number


def _cited(catalogue: Catalogue) -> set[str]:
    """Keys of all sources that a value, an entry or a table cites."""
    cells = [value.source for _, _, value in values_of(catalogue)]
    cells += [value.note for _, _, value in values_of(catalogue)]
    cells += table_sources()
    for entries in (catalogue.species, catalogue.foods, catalogue.devices, catalogue.tasks):
        cells += [key for entry in entries.values() for key in entry.sources]
    text = " ".join(cells).replace(";", " ").replace("(", " ").replace(")", " ")
    return set(text.split())
