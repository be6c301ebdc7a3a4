"""Laws across the whole catalogue that no single file can show to be kept: faults for those that are broken."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from backreef.catalogue.entries import SAFE_WITH, Catalogue, Device, Food, Quantity, Species, Task, Value, known
from backreef.errors import Fault


def check_catalogue(catalogue: Catalogue) -> list[Fault]:
    """Every law that the catalogue breaks: those of single entries, then those of the whole."""
    return sorted([*entry_faults(catalogue), *_unused(catalogue), *_guild_faults(catalogue)])


def entry_faults(catalogue: Catalogue) -> Iterator[Fault]:
    """Laws that an entry keeps or breaks by itself; the file is named as within its folder."""
    for kind, entries, laws in (
        ("species", catalogue.species, _species_laws),
        ("foods", catalogue.foods, _food_laws),
        ("devices", catalogue.devices, _device_laws),
        ("tasks", catalogue.tasks, _task_laws),
    ):
        for ident, entry in entries.items():
            for key, message in laws(entry):  # type: ignore[operator]
                yield Fault(file=f"{kind}/{ident}.toml", line=None, key=key, message=message)
