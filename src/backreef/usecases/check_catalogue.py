"""Look the catalogue over: does every entry obey its laws, the keeper's own entries too."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from backreef.catalogue import check
from backreef.catalogue.load import load_catalogue
from backreef.errors import Fault, InputFaults
from backreef.usecases.browse import KINDS


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogueCheck:
    """What is wrong with the catalogue, and what it holds."""

    faults: tuple[Fault, ...]
    counts: Mapping[str, int]
    """Entries by kind; none where the catalogue could not be read."""
    values: int
    """Known numbers."""
    sources: int


def check_catalogue(own: Path | None = None) -> CatalogueCheck:
    """Every fault of the catalogue that ships or, with a folder of own entries, of those."""
    try:
        catalogue = load_catalogue(extra=own)
    except InputFaults as refusal:
        return CatalogueCheck(faults=refusal.faults, counts={}, values=0, sources=0)
    faults = () if own is not None else tuple(check.check_catalogue(catalogue))
    return CatalogueCheck(
        faults=faults,
        counts={kind: len(getattr(catalogue, kind)) for kind in KINDS},
        values=sum(1 for _ in check.values_of(catalogue)),
        sources=len(catalogue.sources),
    )
