"""Foods, devices and tasks: numbers from the old sheets, words from the tables beside this script."""

from __future__ import annotations

import re
from typing import Any

from animals import source_keys
from sheets import HERE, Row, middle, number, rounded, unknown, value, words

COMPOSITION = {
    "moisture": ("moisture_pct", "moisture_frac"),
    "protein": ("protein_pct", "protein_frac"),
    "fat": ("fat_pct", "fat_frac"),
    "ash": ("ash_pct", "ash_frac"),
    "phosphorus": ("p_pct", "phosphorus_frac"),
}
NO_COMPOSITION = "not found; packs and cultures differ too much"
PUBLISHED = {
    "nori": ("hwang2013", "abstract", {"moisture", "protein", "fat", "ash"}),
    "ulva_dried": (
        "ulva_rigida2019",
        "abstract: protein and fat; dry basis turned to as fed",
        {"protein", "fat"},
    ),
    "redweed_dried": ("gracilaria_review2021", "one table: upper bounds; dry basis turned to as fed", set()),
    "fd_krill": ("krill_composition", "dry basis turned to 4-8 % moisture", {"protein", "fat", "ash"}),
    "fz_krill": ("krill_composition", "reference book: wet values", {"moisture", "protein", "fat", "ash"}),
    "fz_artemia": (
        "dhont_van_stappen2003",
        "protein 40-65 % of dry mass, at 88-92 % moisture",
        {"protein", "fat", "ash"},
    ),
    "live_artemia": ("dhont_van_stappen2003", "range of dry mass", {"protein", "fat", "ash"}),
    "fd_artemia": ("dhont_van_stappen2003", "range of dry mass", {"protein", "fat", "ash"}),
}
DERIVED = {"fd_krill", "fz_artemia", "ulva_dried", "redweed_dried", "live_artemia", "fd_artemia"}
DRY_BASIS = {
    "ulva_dried": {"protein", "fat", "ash"},
    "redweed_dried": {"protein", "fat", "ash", "phosphorus"},
}
LABELS = ("feed_labels", "typical of marine feeds and frozen packs")
FORMS = {
    "semi-moist": "moist pellet",
    "dry sheet": "dried sheet",
    "fresh": "fresh leaf",
    "liquid with solids": "in brine",
}
COLD = {"none": "none", "frozen": "freezer", "fridge": "fridge"}
CULTURED = ("live_artemia", "live_nauplii", "live_rotifer", "live_pods")
SINKING = {
    "held by clip": "held by a clip",
    "floats, then slow": "floats, then sinks slowly",
    "floats or held": "floats, or is held",
    "held or sinks": "held, or sinks",
    "hangs": "hangs in the water",
}
STORAGE = {
    "dry": "dry, dark and closed at 18-21 degC and 50-60 % humidity",
    "frozen": "at -18 degC or colder; thawed food below 4 degC and used within a day",
    "live": "alive, in its own culture",
}


def food(row: Row) -> dict[str, Any]:
    """One food."""
    text = words("words_foods.toml")[row["key"]]
    codes = [source_keys()[code] for code in re.findall(r"S\d\d", row["sources"]) if code in source_keys()]
    if "FAO" in row["composition_status"]:
        codes.append("fao_live_food")
    entry: dict[str, Any] = {
        "id": row["key"],
        "form": FORMS.get(row["form"], row["form"]),
        **{key: text[key] for key in ("name", "food_class", "pool")},
        **_composition(row),
        "particle_mm": middle(row["particle_mm_low"], row["particle_mm_high"], why="not measured"),
        "bulk_density_g_per_ml": middle(
            row["bulk_density_g_ml_low"], row["bulk_density_g_ml_high"], why="only asked of food in a hopper"
        ),
        "sink_cm_per_s": middle(
            row["sink_cm_s_low"], row["sink_cm_s_high"], why="floats, hangs, swims or is held"
        ),
        "sinking": SINKING.get(row["sinking"], row["sinking"]),
        "fits": text["fits"].split(),
        "fits_note": text["fits_note"],
        "feeder_ok": row["feeder_ok"] if row["feeder_ok"] in {"yes", "sometimes"} else "no",
        "feeder_note": text.get("feeder_note", ""),
        "storage_sealed_months": middle(
            row["storage_sealed_months_low"],
            row["storage_sealed_months_high"],
            why="a living food has no sealed pack",
        ),
        "storage_open_months": middle(
            row["storage_open_months_low"], row["storage_open_months_high"], why="used once thawed or opened"
        ),
        "storage_conditions": _storage(row),
        "handling_min_per_feeding": value(row["handling_min_per_feeding"]),
        "cold_chain": "culture" if row["key"] in CULTURED else COLD[row["cold_chain"]],
        **_losses(text["overflow"]),
        "caution": text.get("caution", ""),
        "water_load": text["water_load"],
        "status": "practice",
        "sources": codes,
    }
    return entry


def _storage(row: Row) -> str:
    own = {
        "pellet_soft": "in the fridge once open",
        "macro_fresh": "in sea water under light",
        "live_artemia": "aerated, enriched for half a day to a day",
        "live_nauplii": "hatched in 18-24 hours, used within a day",
        "live_rotifer": "aerated culture fed with phytoplankton",
        "live_pods": "lit refugium or culture",
        "live_phyto": "in the fridge, shaken daily",
        "phyto_conc": "in the fridge",
        "jarred_plankton": "in the fridge once open",
        "gel": "in the freezer; five days in the fridge",
        "holiday_block": "dry",
    }
    if row["key"] in own:
        return own[row["key"]]
    first = "dry" if row["form"].startswith("dry") else "frozen"
    return STORAGE[first] + ("; oily fish for half a year at most" if row["key"] == "fz_whole" else "")


def _losses(text: str) -> dict[str, Any]:
    if not text:
        why = "spreads through the whole system; what is not eaten goes wherever the water goes"
        return {"lost_to_overflow_frac": unknown(why), "lost_when_paused_frac": unknown(why)}
    parts = text.split()
    return {
        "lost_to_overflow_frac": value(parts[0], low=parts[1], high=parts[2]),
        "lost_when_paused_frac": value(parts[3], low=parts[4], high=parts[5]),
    }


def _share(row: Row, name: str, dry_frac: tuple[float, float]) -> dict[str, Any]:
    column, _ = COMPOSITION[name]
    low, high = row[f"{column}_low"], row[f"{column}_high"]
    if not low:
        return unknown(NO_COMPOSITION)
    factor = dry_frac if name in DRY_BASIS.get(row["key"], set()) else (1.0, 1.0)
    bounds = [rounded(float(text) / 100 * part) for text, part in zip((low, high), factor, strict=True)]
    source, place, which = PUBLISHED.get(row["key"], ("", "", set()))
    if name in which or (row["key"] == "redweed_dried" and name == "protein"):
        what = {"source": source, "place": place, "status": "calc" if row["key"] in DERIVED else "published"}
    else:
        what = {"source": LABELS[0], "place": LABELS[1], "status": "memory"}
    return value(rounded(sum(bounds) / 2), low=bounds[0], high=bounds[1], **what)


def _composition(row: Row) -> dict[str, Any]:
    moisture = [float(row[f"moisture_pct_{end}"] or 0) / 100 for end in ("low", "high")]
    dry = (1 - moisture[1], 1 - moisture[0])
    entry = {COMPOSITION[name][1]: _share(row, name, dry) for name in COMPOSITION}
    parts = [entry[f"{name}_frac"].get("value") for name in ("moisture", "protein", "fat", "ash")]
    if None in parts:
        entry["nfe_frac"] = unknown(NO_COMPOSITION)
    else:
        rest = max(0.0, round(1 - sum(parts), 4))
        spread = max(0.01, rest * 0.5)
        entry["nfe_frac"] = value(
            rounded(rest),
            low=rounded(max(0.0, rest - spread)),
            high=rounded(min(1.0, rest + spread)),
            source="own_estimate",
            place="one less moisture, protein, fat and ash",
            status="calc",
        )
    entry["gross_energy_kj_per_g"] = middle(
        row["gross_energy_kj_g_low"],
        row["gross_energy_kj_g_high"],
        source=LABELS[0],
        place=LABELS[1],
        status="memory",
        why=NO_COMPOSITION,
    )
    if row["key"] == "phyto_conc":
        entry["gross_energy_kj_per_g"] = value(
            1.9, low=0.8, high=2.8, source="nrc2011_energy", place="burnt from its parts", status="calc"
        )
    return entry


DEVICE_UNKNOWN = "not known for this kind"
PER_DAY = {"4": "4", "12": "12", "24+": "24", "24": "24", "1-2": "2"}


def device(row: Row) -> dict[str, Any]:
    """One kind of device."""
    text = words("words_devices.toml")[row["key"]]
    source = text.get("source", "")
    feeder = row["class"] == "feeder"
    why = DEVICE_UNKNOWN if feeder else "not a feeder"
    return {
        "id": row["key"],
        "device_class": row["class"].replace(" ", "_"),
        **{key: text[key] for key in ("name", "does", "sizing_rule", "effects", "consumables", "fail_safe")},
        "hopper_g": middle(row["hopper_g_low"], row["hopper_g_high"], why=why),
        "portion_min_g": value(row["portion_min_g"]) if row["portion_min_g"] else unknown(why),
        "portion_cv_frac": _scaled(row, "portion_cv_pct", 100, why),
        "portions_per_day_max": value(PER_DAY[row["portions_per_day_max"]])
        if row["portions_per_day_max"] in PER_DAY
        else unknown("given cell by cell, or without a break" if feeder else why),
        "compartments_count": value(row["compartments"]) if row["compartments"] else unknown(why),
        "jam_per_portion": _scaled(row, "jam_per_1000_portions", 1000, why),
        "power_w": value(row["power_w"]) if row["power_w"] else unknown("draws none, or very little"),
        "battery_months": middle(row["battery_months_low"], row["battery_months_high"], why="no battery"),
        "set_up_min": value(row["set_up_min"]),
        "upkeep_min": value(row["upkeep_min_typ"], low=row["upkeep_min_low"], high=row["upkeep_min_high"]),
        "upkeep_every_days": value(row["upkeep_every_days"]),
        "runs_unattended_days": value(row["runs_unattended_days"])
        if row["runs_unattended_days"].isdigit()
        else unknown("not to be left alone while it runs"),
        "damp_sensitivity": row["damp_sensitivity"].split(" (")[0],
        "power": row["power"],
        "failure_modes": [part.strip() for part in text["failure_modes"].split(";")],
        "effect_on_animals": text["effect_on_animals"],
        "works_with_feed_pause": text["works_with_feed_pause"],
        "feed_pause_note": text["feed_pause_note"],
        "cost_band": row["cost_band"],
        "noise": row["noise"].split(" (")[0],
        "status": "practice",
        "sources": [part.strip() for part in source.split(";") if part.strip()],
    }


def _scaled(row: Row, column: str, over: int, why: str) -> dict[str, Any]:
    low, high = row[f"{column}_low"], row[f"{column}_high"]
    if not low:
        return unknown(why)
    bounds = [rounded(float(text) / over) for text in (low, high)]
    centre = rounded((bounds[0] * bounds[1]) ** 0.5) if bounds[0] else rounded(sum(bounds) / 2)
    note = "a guess, to be replaced by your own weighing" if column.startswith("portion") else "a guess"
    return value(centre, low=bounds[0], high=bounds[1], note=note)


DRIVERS = {
    "per absence over 3 days": "per_absence",
    "per algae growth x glass area": "per_glass_area",
    "per feeder or new food": "per_feeder",
    "per volume and feed": "per_volume",
    "per litres made": "per_litre_of_water",
    "per re-homing": "per_rehoming",
    "per grazer per day": "per_grazer",
    "per day present": "per_day_present",
}
LOOK_MIN = 2
MESSY = {"messy": "messy", "smelly": "smelly", "dust": "dust", "wet": "wet", "wet floor": "wet floor"}


def task(row: Row) -> dict[str, Any]:
    """One kind of work."""
    text = words("words_tasks.toml")[row["key"]]
    harm = re.match(
        r"(\d+)(?:-(\d+))?$", row["harm_after_days"].split(" by")[0].split(" in")[0].split(" (large")[0]
    )
    if row["key"] == "feed_tongs":
        days = value(2, low=2, high=14)
    elif row["key"] == "crew_check":
        days = value(7, low=2, high=14)
    else:
        days = middle(harm[1], harm[2] or "", why="") if harm else unknown(_harmless(row))
    sitter = row["sitter_can_do"]
    return {
        "id": row["key"],
        "name": text["name"],
        "minutes": value(row["minutes_typ"], low=row["minutes_low"], high=row["minutes_high"]),
        "setup_minutes": value(row["setup_minutes"]),
        "every_days": value(row["every_days_typ"])
        if row["every_days_typ"]
        else unknown("comes by event, not by calendar"),
        "driver": DRIVERS.get(row["driver"], row["driver"].replace(" ", "_")),
        "driver_rule": text["driver_rule"],
        "needs_presence": row["needs_presence"] == "yes",
        "sitter_can_do": "yes"
        if sitter.startswith("yes")
        else "rarely"
        if sitter in {"rarely", "hardly"}
        else "no",
        "sitter_note": text.get("sitter_note", ""),
        "automated_by": text.get("automated_by", ""),
        "tolerated_missed_days": value(row["tolerated_missed_days"])
        if row["tolerated_missed_days"]
        else unknown("comes by event, not by calendar"),
        "harm_after_days": days,
        "harm_note": text.get("harm_note", ""),
        "consequence": text["consequence"],
        "extra_min_with_lid": value(row["extra_min_with_lid"]),
        "skill": int(number(row["skill"])),
        "hazards": text.get("hazards", ""),
        "messy": row["messy_or_noisy"] not in {"no", "slightly"},
        "mess_note": text.get("mess_note", MESSY.get(row["messy_or_noisy"], "")),
        "look": row["key"] in {"headcount", "equipment_look"} and float(row["minutes_typ"]) <= LOOK_MIN,
        "status": "practice",
        "sources": [],
    }


def _harmless(row: Row) -> str:
    if row["harm_after_days"] in {"never", "none"}:
        return "does no harm"
    if row["harm_after_days"]:
        return "depends on when the fault comes; see harm_note"
    return "comes by event, not by calendar"


__all__ = ["HERE", "device", "food", "task"]
