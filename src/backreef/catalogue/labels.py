"""A keeper's own food: what its label prints, and what is taken from a like food where it is silent."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from backreef.catalogue.entries import Catalogue, Food, Quantity, Unknown, Value, known
from backreef.catalogue.sources import Status
from backreef.catalogue.tables import DATA, OWN_LABEL, laws

Basis = Literal["as fed", "dry"]
PRINTED = ("protein", "fat", "fibre", "ash", "moisture", "phosphorus")
"""Parts that labels print."""
_SUMMED = ("protein", "fat", "ash", "moisture")
"""Parts that leave over starch, sugar and fibre."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What a plan says of a food: the parts that its label prints, its grain, and how it is bought."""

    id: str
    name: str
    """Empty: that of the food it is like."""
    like: str
    """Id of the food of the catalogue whose form, use and silent parts it has."""
    basis: Basis
    """Of the printed parts: of what is in the pack, or of its dry matter."""
    printed_frac: Mapping[str, float]
    """Part -> share, for those of `PRINTED` that the label gives."""
    grain_mm: float | None
    pack_g: float | None
    """What a pack holds."""
    packaging: str
    """Kind of `data/packaging.csv`; empty: as is usual for the food."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """How far a feed may be below and above a share that its label states."""

    part: str
    stated_from_frac: float
    under_frac: float
    under_ratio: float
    over_frac: float
    over_ratio: float
    source: str
    status: Status


@cache
def tolerances() -> tuple[Tolerance, ...]:
    """Every row of the table, the largest stated shares first."""
    with (DATA / "labels.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    numbers = ("stated_from_frac", "under_frac", "under_ratio", "over_frac", "over_ratio")
    return tuple(
        Tolerance(
            part=row["part"],
            source=row["source"],
            status=row["status"],  # type: ignore[arg-type]
            **{name: float(row[name]) for name in numbers},
        )
        for row in rows
    )


def with_labels(catalogue: Catalogue, labels: Iterable[Label]) -> Catalogue:
    """The catalogue with the foods of a plan's labels; the same one where there are none."""
    own = {
        label.id: food_of(label, catalogue.foods[label.like])
        for label in labels
        if OWN_LABEL not in getattr(catalogue.foods.get(label.id), "sources", ())
    }
    if not own:
        return catalogue
    marks = frozenset(f"foods/{name}" for name in own)
    return replace(catalogue, foods={**catalogue.foods, **own}, own=catalogue.own | marks)


def silent_parts(label: Label) -> tuple[str, ...]:
    """Parts that the label does not print, and that are estimated; none where it prints nothing at all."""
    return tuple(part for part in PRINTED if part not in label.printed_frac) if label.printed_frac else ()


def food_of(label: Label, like: Food) -> Food:
    """The food that a label describes. What it does not print is that of the like food, and marked so."""
    sources = (OWN_LABEL, *like.sources)
    named = replace(like, id=label.id, name=label.name or f"{like.name} ({label.id})", sources=sources)
    if label.grain_mm is not None:
        grain = Value(
            value=label.grain_mm, unit="mm", source=OWN_LABEL, place="as printed", status="published"
        )
        named = replace(named, particle_mm=grain)
    if not label.printed_frac:
        return named
    parts = _parts_as_fed(label, like)
    rest = _rest(parts)
    return replace(
        named,
        protein_frac=parts["protein"],
        fat_frac=parts["fat"],
        ash_frac=parts["ash"],
        moisture_frac=parts["moisture"],
        phosphorus_frac=parts["phosphorus"],
        nfe_frac=rest,
        gross_energy_kj_per_g=_energy(parts, rest),
    )


def too_much_frac(label: Label, like: Food) -> float | None:
    """Sum of the parts as fed where it is more than all there is; None where they fit."""
    parts = _parts_as_fed(label, like)
    total = sum(value.value for part in _SUMMED if (value := known(parts[part])) is not None)
    fibre = known(parts["fibre"])
    total += fibre.value if fibre is not None and "fibre" in label.printed_frac else 0.0
    return total if total > 1.0 + laws()["composition.sum_within_frac"] else None


def _parts_as_fed(label: Label, like: Food) -> dict[str, Quantity]:
    """Every printed part of a gram as it comes out of the pack, with its range."""
    taken: dict[str, Quantity] = {
        part: getattr(like, f"{part}_frac") for part in PRINTED if part != "fibre"
    } | {"fibre": Unknown(reason="the label does not print it")}
    moisture = (
        _printed("moisture", label.printed_frac["moisture"]) if "moisture" in label.printed_frac else None
    )
    water = moisture or known(like.moisture_frac)
    dry = 1.0 - water.value if label.basis == "dry" and water is not None else 1.0
    for part, share in label.printed_frac.items():
        stated = _printed(part, share)
        taken[part] = stated if part == "moisture" else _scaled(stated, dry)
    for part, value in taken.items():
        if part not in label.printed_frac and isinstance(value, Value):
            note = f"not on the label: that of {like.id}"
            taken[part] = replace(value, note=note, status="calc")
    return taken


def _printed(part: str, share: float) -> Value:
    row = next(row for row in tolerances() if row.part == part and share >= row.stated_from_frac)
    return Value(
        value=share,
        low=max(0.0, share - row.under_frac - row.under_ratio * share),
        high=min(1.0, share + row.over_frac + row.over_ratio * share),
        unit="frac",
        source=f"{OWN_LABEL} {row.source}",
        place="as printed; range by what the law lets a feed be off",
        status="published" if row.status == "published" else row.status,
    )


def _scaled(value: Value, dry: float) -> Value:
    if dry == 1.0:
        return value
    return replace(
        value,
        value=value.value * dry,
        low=value.lowest * dry,
        high=value.highest * dry,
        status="calc",
        note="printed for dry matter",
    )


def _rest(parts: Mapping[str, Quantity]) -> Quantity:
    """Starch, sugar and fibre: what the other parts leave over."""
    given = [known(parts[part]) for part in _SUMMED]
    if any(value is None for value in given):
        return Unknown(reason="a part that it follows from is not known")
    values = [value for value in given if value is not None]
    rest = max(0.0, 1.0 - sum(value.value for value in values))
    width = sum((value.highest - value.lowest) ** 2 for value in values) ** 0.5 / 2.0
    return Value(
        value=rest,
        low=max(0.0, rest - width),
        high=min(1.0, rest + width),
        unit="frac",
        source="own_estimate",
        place="one less moisture, protein, fat and ash",
        status="calc",
    )


def _energy(parts: Mapping[str, Quantity], rest: Quantity) -> Quantity:
    """Gross energy of a gram as fed, from its parts."""
    burning = {"protein": parts["protein"], "fat": parts["fat"], "nfe": rest}
    values = {part: known(value) for part, value in burning.items()}
    if any(value is None for value in values.values()):
        return Unknown(reason="a part that it follows from is not known")
    found = {part: value for part, value in values.items() if value is not None}
    heat = {part: laws()[f"composition.{part}_kj_per_g"] for part in found}
    middle = sum(heat[part] * value.value for part, value in found.items())
    # what protein or fat is more, starch is less: only the difference of their heats counts
    width = sum(
        ((heat[part] - heat["nfe"]) * (value.highest - value.lowest) / 2.0) ** 2
        for part, value in found.items()
    )
    loose = [known(parts[part]) for part in ("ash", "moisture")]
    width += sum((heat["nfe"] * (v.highest - v.lowest) / 2.0) ** 2 for v in loose if v is not None)
    return Value(
        value=middle,
        low=middle - width**0.5,
        high=middle + width**0.5,
        unit="kJ/g",
        source=f"{OWN_LABEL} own_estimate",
        place="heats of its parts",
        status="calc",
    )
