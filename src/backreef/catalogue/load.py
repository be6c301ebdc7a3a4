"""Loads the catalogue: files become documents, documents are checked against the schema, then become entries.

Everything that is wrong with any file is collected and raised once, as `InputFaults`. The keeper's own folder
has the same shape as the one that ships; an entry there with an id that ships takes its place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from backreef.catalogue.build import Shelf
from backreef.catalogue.entries import Catalogue, Device, Food, Species, Task
from backreef.catalogue.files import Document, Folder, compiled, in_order, line_of, parse, read_folder
from backreef.catalogue.sources import Source
from backreef.catalogue.tables import DATA, guilds, tokens
from backreef.errors import Fault, InputFaults

KINDS = ("species", "foods", "devices", "tasks")
SOURCES = "sources.toml"
Documents = dict[str, Document]


def load_catalogue(folder: Path | None = None, extra: Path | None = None) -> Catalogue:
    """Give the catalogue that ships (or stands in `folder`), with the keeper's own entries from `extra`.

    Raises
    ------
    InputFaults
        With every fault of every file: file, line, key, what was found, what is allowed, what to do.
    """
    main = _read(folder or DATA)
    own = None if extra is None else _read(extra)
    return _loaded(main, own)


def _read(root: Path) -> Folder:
    if not root.is_dir():
        message = "is no directory; a catalogue folder holds species, foods, devices or tasks with TOML files"
        raise InputFaults([Fault(file=str(root), line=None, key="", message=message)])
    found, faults = read_folder(root, KINDS)
    if faults:
        raise InputFaults(in_order(faults))
    return found


@lru_cache(maxsize=4)
def _loaded(main: Folder, own: Folder | None) -> Catalogue:
    """Build a catalogue once for each content of the folders."""
    documents = compiled(main, lambda: _valid(main))
    catalogue = _catalogue(documents)
    if own is None:
        return catalogue
    added = _valid(own, known=catalogue)
    merged = replace(
        _catalogue(documents | added, sources=_sources(documents) | _sources(added)),
        own=frozenset(name.removesuffix(".toml") for name in added if name != SOURCES),
    )
    _refuse_what_does_not_hold(merged, own=added, folder=own)
    return merged


def _valid(folder: Folder, known: Catalogue | None = None) -> Documents:
    """The documents of a folder, or every fault of them."""
    from backreef.catalogue.validate import document_faults

    documents, faults = parse(folder)
    faults += document_faults(documents, folder=folder, known=known)
    if faults:
        raise InputFaults(in_order(faults))
    return documents


def _refuse_what_does_not_hold(catalogue: Catalogue, *, own: Documents, folder: Folder) -> None:
    """Check the keeper's entries against the laws that the shipped ones obey."""
    from backreef.catalogue.check import entry_faults

    ids = {(name.partition("/")[0], Path(name).stem) for name in own}
    faults = [
        Fault(
            file=folder.shown(fault.file),
            line=line_of(folder.texts[fault.file], fault.key),
            key=fault.key,
            message=fault.message,
        )
        for fault in entry_faults(catalogue)
        if (fault.file.partition("/")[0], Path(fault.file).stem) in ids
    ]
    if faults:
        raise InputFaults(in_order(faults))


def _catalogue(documents: Documents, sources: Mapping[str, Any] | None = None) -> Catalogue:
    tables: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    for name, document in documents.items():
        kind, _, file = name.partition("/")
        if kind in tables:
            tables[kind][file.removesuffix(".toml")] = document
    listed = _sources(documents) if sources is None else sources
    return Catalogue(
        species=Shelf(tables["species"], Species),
        foods=Shelf(tables["foods"], Food),
        devices=Shelf(tables["devices"], Device),
        tasks=Shelf(tables["tasks"], Task),
        guilds=MappingProxyType(dict(guilds())),
        sources=MappingProxyType({key: Source(key=key, **entry) for key, entry in listed.items()}),
        tokens=MappingProxyType(dict(tokens())),
    )


def _sources(documents: Documents) -> dict[str, Any]:
    return dict(documents.get(SOURCES, {}))
