"""Animals: the sheet of species, guilds, words and bodies become one entry each."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from growth import Relatives, growth_of, weight_of
from sheets import Row, middle, number, own_rows, rounded, selects, unknown, value, words

SAFE = ("lps", "sps", "soft", "clams", "shrimps", "snails", "worms", "small_fish")
WORD_FIELDS = (
    "forage_type",
    "feeder_condition",
    "social_rule",
    "zone",
    "sand_need",
    "safety_condition",
    "hardiness_note",
    "disease_note",
    "pushes",
    "breeds",
    "human_hazard",
    "legal_note",
    "add_gate",
    "low_upkeep_reason",
)
LENGTH_PLACE = "data/all_traits_for_predictions.csv, column Lmax; standard or total length not said"
POD_RELIANCE = {
    "takes": "sometimes",
    "important": "reliable",
    "obligate": "reliable",
    "no": "no",
    "": "unknown",
}
PURCHASE_WHY = "sold by frag or head, not by length"
FISH_FACTORS = {
    "Pomacentridae": (1.10, 0.62, 1.40),
    "Labridae": (1.08, 0.91, 1.24),
    "Apogonidae": (0.88, 0.62, 0.98),
    "Gobiidae": (0.78, 0.57, 1.13),
    "Blenniidae": (0.73, 0.55, 0.98),
    "Scorpaenidae": (0.75, 0.60, 0.87),
}
OTHER_FAMILY = (1.0, 0.75, 1.34)


@cache
def word_table() -> dict[str, dict[str, str]]:
    """All words of animals."""
    return words("words_feeding.toml", "words_care.toml", "words_upkeep.toml")


@cache
def source_keys() -> dict[str, str]:
    """Code of the old sheet -> key of ours."""
    return {row["code"]: row["key"] for row in own_rows("source_keys.csv")}


@cache
def guild_map() -> dict[str, str]:
    """Id -> guild."""
    return {row["id"]: row["guild"] for row in own_rows("guild_map.csv")}


def family(row: Row) -> str:
    """The family without remarks."""
    return re.sub(r"\s*\(.*\)", "", row["family"]).split(" / ")[0].split(" and ")[0]


def says(field: str, row: Row) -> str:
    """The words for a field of an animal."""
    found = ""
    about = {
        "ident": row["key"],
        "guild": guild_map()[row["key"]],
        "kind": row["kind"],
        "family": family(row),
    }
    for selector, text in word_table()[field].items():
        if selects(selector, **about):
            found = text
    return found


def names(row: Row) -> dict[str, Any]:
    """Names, family and guild."""
    listed = {one["id"]: one for one in own_rows("synonyms.csv")}.get(row["key"])
    scientific = listed["scientific_name"] if listed else row["scientific_name"]
    synonyms = [part.strip() for part in listed["synonyms"].split(";") if part.strip()] if listed else []
    return {
        "id": row["key"],
        "common_name": row["common_name"],
        "scientific_name": scientific,
        "synonyms": synonyms,
        "family": family(row),
        "kind": row["kind"],
        "origin": row["origin"],
        "guild": guild_map()[row["key"]],
    }


def lengths(row: Row) -> dict[str, Any]:
    """Lengths of an animal."""
    longest: dict[str, Any] = unknown("not looked up; no rule needs it")
    if row["max_length_cm"]:
        code = row["length_source"].split(":")[0].split(";")[0].split(" ")[0]
        memory = row["length_status"] == "memory"
        key = ("sealifebase" if row["kind"] != "fish" else "fishbase") if memory else source_keys()[code]
        place = {"hicks2019_lmax": LENGTH_PLACE, "morais_bellwood2018": "data/db.rda, MaxSizeTL"}.get(key, "")
        if key == "sea_apple_pages":
            place = "encyclopaedia article"
        longest = value(
            row["max_length_cm"], source=key, place=place, status="memory" if memory else "published"
        )
    adult = (
        value(row["adult_tank_cm"])
        if row["adult_tank_cm"]
        else unknown("a colony grows as far as it has room")
    )
    return {
        "adult_length_cm": adult,
        "max_length_cm": longest,
        "purchase_length_cm": middle(row["purchase_cm_low"], row["purchase_cm_high"], why=PURCHASE_WHY),
    }


def body(row: Row, relatives: Relatives) -> dict[str, Any]:
    """Mass, growth, metabolism and appetite."""
    if row["kind"] == "coral":
        why = "a coral counts by its living surface"
        return {key: unknown(why) for key in ("weight_a_g", "weight_b_ratio", "growth_kmax_per_y")} | {
            "metabolism_factor_ratio": unknown(why),
            "intake_max_frac_ww_per_d": unknown(why),
        }
    return _fish(row, relatives) if row["kind"] == "fish" else _invertebrate(row)


def _fish(row: Row, relatives: Relatives) -> dict[str, Any]:
    adult = float(row["adult_tank_cm"])
    a, b = weight_of(row, relatives)
    factor, low, high = FISH_FACTORS.get(family(row), OTHER_FAMILY)
    measured = family(row) in FISH_FACTORS
    where = "own fit over 126 adults: mean of the family" if measured else "no own factor for the family"
    mass = a["value"] * adult ** b["value"]
    return {
        "weight_a_g": a,
        "weight_b_ratio": b,
        "growth_kmax_per_y": growth_of(row, adult, relatives),
        "metabolism_factor_ratio": value(
            factor, low=low, high=high, source="barneche2014", place=where, status="calc"
        ),
        "intake_max_frac_ww_per_d": _fish_appetite(guild_map()[row["key"]], mass),
    }


def _fish_appetite(guild: str, mass_g: float) -> dict[str, Any]:
    """Most a fish takes: a share that falls with mass^0.2, by kind of food."""
    for line in own_rows("fish_appetite.csv"):
        if guild in line["guilds"].split() or line["guilds"] == "*":
            scale = float(mass_g) ** -0.2
            at = [rounded(float(line[key]) * scale) for key in ("at_1_g", "low", "high")]
            place = f"{line['place']}; taken at the adult's {rounded(mass_g)} g"
            return value(
                at[0], low=at[1], high=at[2], source=line["source"], place=place, status=line["status"]
            )
    raise KeyError(guild)


def _invertebrate(row: Row) -> dict[str, Any]:
    chosen: Row = {}
    about = {
        "ident": row["key"],
        "guild": guild_map()[row["key"]],
        "kind": row["kind"],
        "family": family(row),
    }
    for line in own_rows("invertebrate_bodies.csv"):
        if selects(line["ids"], **about):
            chosen = line
    a, b = float(chosen["weight_a_g"]), float(chosen["weight_b_ratio"])
    what = {
        "source": chosen["weight_source"],
        "place": _weight_place(chosen),
        "status": chosen["weight_status"],
    }
    entry = {
        "weight_a_g": value(a, low=rounded(a * 0.5), high=rounded(a * 2), **what),
        "weight_b_ratio": value(b, **what),
        "growth_kmax_per_y": unknown("no growth record found for this kind in tanks"),
        "metabolism_factor_ratio": unknown("carried by the model's own pods"),
        "intake_max_frac_ww_per_d": unknown("no ration found"),
    }
    if chosen["metabolism_ratio"]:
        entry["metabolism_factor_ratio"] = value(
            chosen["metabolism_ratio"],
            low=chosen["metabolism_low"],
            high=chosen["metabolism_high"],
            source=chosen["metabolism_source"],
            place=METABOLISM_PLACES.get(chosen["metabolism_source"], "judged from relatives"),
            status=chosen["metabolism_status"],
        )
    if chosen["intake_per_animal_g"]:
        entry["intake_max_frac_ww_per_d"] = _share_of_body(chosen, float(row["adult_tank_cm"]))
    return entry


METABOLISM_PLACES = {
    "velasco2019": "0.38 DW^0.74 mL/h against the fish line at 1 g wet, 26 degC",
    "kodama2015": "0.09 BW^-0.58 mg/g/h against the fish line at 20-100 g",
    "urchin_respiration": "7 (3.8-9.8) uL/g/h at 12 degC, warmed by Q10 2.15, against the fish line at 75 g",
}


def _weight_place(chosen: Row) -> str:
    places = {
        "velasco2019": "dry flesh 0.05, 0.2 and 1 g at shells of 1.75, 2.75 and 4.5 cm, one fifth dry",
        "lewis2018": "exponent of mass on test diameter; factor from about 90 g at 6 cm",
        "own_estimate": "from the form of the body",
    }
    return places[chosen["weight_source"]]


def _share_of_body(chosen: Row, adult_cm: float) -> dict[str, Any]:
    """Food of one animal over its mass where it was seen, carried to adult mass by mass^-0.2."""
    a, b = float(chosen["weight_a_g"]), float(chosen["weight_b_ratio"])
    mass, adult = (a * length**b for length in (float(chosen["at_length_cm"]), adult_cm))
    keys = ("intake_per_animal_g", "intake_low_g", "intake_high_g")
    shares = [rounded(float(chosen[key]) / mass * (adult / mass) ** -0.2) for key in keys]
    return value(
        shares[0],
        low=shares[1],
        high=shares[2],
        source=chosen["intake_source"],
        place=f"{chosen['intake_place']}; over its wet mass, at the adult's {rounded(adult)} g",
        status="calc" if chosen["intake_status"] != "practice" else "practice",
    )


def practice(row: Row) -> dict[str, Any]:
    """Numbers of husbandry."""
    sand = value(row["sand_cm"]) if row["sand_cm"] else unknown("depth not recorded")
    if row["sand_need"] == "no":
        sand = value(0)
    food_why = "too fine or too varied for one size" if row["kind"] != "fish" else "not recorded"
    pest = "only for clean-up animals" if row["kind"] in {"fish", "coral", "anemone"} else "no number found"
    return {
        "temp_min_c": value(row["temp_min_c"]),
        "temp_max_c": value(row["temp_max_c"]),
        "food_mm": middle(row["food_mm_low"], row["food_mm_high"], why=food_why),
        "feedings_per_day": value(row["feedings_per_day_min"]),
        "max_days_unfed": value(row["max_days_unfed"])
        if row["max_days_unfed"]
        else unknown("depends on what grows in the tank"),
        "min_volume_l": value(row["min_volume_l"]),
        "min_tank_length_cm": value(row["min_tank_length_cm"]),
        "start_density_per_100l": value(row["start_density_per_100l"])
        if row["start_density_per_100l"]
        else unknown(pest),
        "min_tank_age_months": value(row["min_tank_age_months"])
        if row["min_tank_age_months"]
        else unknown("no age makes it safe"),
        "sand_cm": sand,
        "life_years": _life(row),
        "coral_area_cm2_per_unit": _area(row),
    }


def _life(row: Row) -> dict[str, Any]:
    if not row["life_low_y"]:
        return unknown("no record found for tanks")
    code = re.search(r"S\d\d", row["life_source"])
    both = {"low": row["life_low_y"], "high": row["life_high_y"]}
    centre = rounded((float(row["life_low_y"]) * float(row["life_high_y"])) ** 0.5)
    if not code:
        return value(centre, **both)  # type: ignore[arg-type]
    if code[0] == "S05":
        note = "the family reaches 30-45 years in the wild (choat_axe1996)"
        return value(centre, note=note, **both)  # type: ignore[arg-type]
    place = "greatest age or survival given there; the rest of the range is practice"
    return value(centre, source=source_keys()[code[0]], place=place, status="calc", **both)  # type: ignore[arg-type]


def _area(row: Row) -> dict[str, Any]:
    area = {one["id"]: one for one in own_rows("coral_areas.csv")}.get(row["key"])
    if not area:
        return unknown("no coral surface" if row["kind"] != "coral" else "not estimated")
    return value(
        area["area_cm2_per_unit"],
        low=area["low"],
        high=area["high"],
        source="own_estimate",
        place=area["unit_is"],
        status="memory",
    )


def choices(row: Row) -> dict[str, Any]:
    """Enumerations as the sheet has them."""
    takes = {key: row[f"takes_{key}"] or "unknown" for key in ("dry", "frozen", "algae", "live")}
    takes["pods"] = POD_RELIANCE[row["takes_pods"]]
    cleans = dict(part.split(":") for part in row["cleans"].split(";") if part)
    stage = {one["described_as"]: one["add_stage"] for one in own_rows("add_stages.csv")}[row["add_stage"]]
    aggression = {"very high": "very_high", "stings neighbours": "stings"}.get(
        row["aggression"], row["aggression"]
    )
    return {
        "group_min_count": int(row["group_min"]),
        "group_max_count": int(row["group_max"]) if row["group_max"] else "open",
        "takes": takes,
        "forage_replaces": row["forage_replaces"],
        "feeder_alone": row["feeder_alone"],
        "aggression": aggression,
        "fights_with": [part for part in row["fights_tokens"].split(";") if part],
        "eats": [part for part in row["eats_tokens"].split(";") if part],
        **{f"safe_{key}": row[f"safe_{key}"] for key in SAFE},
        "jumps": row["jumps"],
        "hardiness": row["hardiness"],
        "disease": row["disease_prone"],
        "cleans": {key: int(strength) for key, strength in cleans.items()},
        "self_rights": row["self_rights"],
        "captive_bred": row["captive_bred"],
        "add_stage": stage,
        "low_upkeep": row["low_upkeep"],
        "status": "practice",
    }


def override(entry: dict[str, Any]) -> None:
    """Put right what a review found."""
    for line in own_rows("overrides.csv"):
        if line["id"] != entry["id"]:
            continue
        field, new = line["field"], line["value"]
        if field in {"group_min_count", "group_max_count"}:
            entry[field] = int(new) if new else "open"
        elif field in {"eats", "fights_with"}:
            entry[field] = new.split(";")
        elif field == "cleans":
            entry[field] = {key: number(text) for key, text in (part.split(":") for part in new.split(";"))}
        else:
            entry[field] = new


def eaten_by(row: Row) -> list[str]:
    """Who eats it, by its size and poison."""
    length = float(row["adult_tank_cm"] or 0)
    about = {
        "ident": row["key"],
        "guild": guild_map()[row["key"]],
        "kind": row["kind"],
        "family": family(row),
    }
    for line in own_rows("eaten_by.csv"):
        if selects(line["who"], **about) and length <= float(line["longest_cm"]):
            return line["tokens"].split()
    return []
