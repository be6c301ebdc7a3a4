"""`[[foods]]` of a plan file: the keeper's own foods as labels, and the names by which meals call them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from pydantic import ValidationError

from backreef.aquarium.document import Table, tables
from backreef.aquarium.faults import Faults
from backreef.aquarium.schema import FoodTable
from backreef.catalogue.entries import Catalogue
from backreef.catalogue.labels import PRINTED, Label, too_much_frac


def with_named_foods(document: Table, catalogue: Catalogue) -> Catalogue:
    """The catalogue with a food for each name that the document gives one, so that meals may name it.

    Where it is not said what a food is like, any other stands in: the missing word is the fault to tell.
    """
    named, any_food = {}, next(iter(catalogue.foods.values()))
    for _, entry in tables(document, "foods"):
        own, like = entry.get("id"), entry.get("like")
        if isinstance(own, str) and own not in catalogue.foods:
            known = catalogue.foods.get(like, any_food) if isinstance(like, str) else any_food
            named[own] = replace(known, id=own)
    return replace(catalogue, foods={**catalogue.foods, **named}) if named else catalogue


def readable_foods(document: Table) -> Iterator[tuple[int, FoodTable]]:
    """Foods that can be read in a file of which another part was refused."""
    for number, entry in tables(document, "foods"):
        try:
            yield number, FoodTable.model_validate(entry)
        except ValidationError:
            continue


def labels_of(
    foods: Iterable[tuple[int, FoodTable]], catalogue: Catalogue, faults: Faults
) -> tuple[Label, ...]:
    """The labels of checked foods with their numbers; what contradicts itself is added to the faults."""
    found = []
    for number, table in foods:
        like = table.like or table.id
        if like not in catalogue.foods:
            message = (
                f"is missing, and '{table.id}' is no food of the catalogue; name the food of the catalogue "
                'that it is most like, as "pellet_small"'
            )
            faults.add(("foods", number, "like"), message)
            continue
        label = _label(table, like)
        total = too_much_frac(label, catalogue.foods[like])
        if total is not None:
            message = (
                f"its parts and what {like} is taken to hold add up to {total:.0%} of a gram; look at the "
                'label again, and whether it prints shares of the dry matter (then write basis = "dry")'
            )
            faults.add(("foods", number), message)
        found.append(label)
    return tuple(found)


def _label(table: FoodTable, like: str) -> Label:
    printed = {part: share for part in PRINTED if (share := getattr(table, part)) is not None}
    return Label(
        id=table.id,
        name=table.name.strip(),
        like=like,
        basis=table.basis,
        printed_frac=printed,
        grain_mm=table.grain,
        pack_g=table.pack,
        packaging=table.packaging or "",
    )
