"""The files of a catalogue folder as plain documents, with the compiled copy that makes reading them quick.

A folder holds `species/`, `foods/`, `devices/` and `tasks/` with one file to an entry, and `sources.toml`.
The compiled copy is JSON beside the data, in `__pycache__` as Python's own, and named after the content of
every file that it was made from; a folder that cannot be written to is simply read anew each time. Which
content a folder has is kept in the folder of caches, with what the file system says of each file: while that
stays as it was, no file is opened to know it.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache
from pathlib import Path
from typing import Any

from backreef.errors import Fault
from backreef.kept import cache_folder, keep

Document = Mapping[str, Any]
Stamps = tuple[tuple[str, int, int, int, int], ...]
CODE = tuple(Path(__file__).with_name(name) for name in ("entries.py", "schema.py", "sources.py", "files.py"))
"""What decides whether a document is valid; a change there makes every compiled copy stale."""
SETTLED_NS = 2_000_000_000
"""A file that changed less long ago may change again without the file system telling the two apart."""
LARGEST_BYTES = 1_000_000
"""No file of an entry is near this; a larger one is something else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Folder:
    """The text of every file of a catalogue folder, by its path within it; equal if the content is."""

    root: Path
    digest: str
    """A name for exactly this content, read by exactly this code."""
    texts: Mapping[str, bytes] = field(compare=False)

    def shown(self, name: str) -> str:
        """How messages name a file of the folder."""
        return str(self.root / name)


@cache
def _code() -> bytes:
    """What reads a document, as it stood when this process began."""
    return b"".join(path.read_bytes() for path in CODE)


def _digest(texts: Mapping[str, bytes]) -> str:
    digest = hashlib.sha256()
    digest.update(_code())
    for name, text in texts.items():
        digest.update(f"{name}\0{len(text)}\0".encode())
        digest.update(text)
    return digest.hexdigest()[:32]


def read_folder(root: Path, kinds: tuple[str, ...]) -> tuple[Folder, list[Fault]]:
    """Read every file of the folder; faults for those that cannot be read.

    A folder that was read before, and in which the file system names no change since, is not read again.
    """
    folder, faults = _read_once(root, kinds, _stamps(root, kinds))
    return folder, list(faults)


def _stamps(root: Path, kinds: tuple[str, ...]) -> Stamps:
    """What the file system says of each file: its name, number, size, and when it was last changed."""
    found = []
    for inside in (*kinds, ""):
        with contextlib.suppress(OSError), os.scandir(root / inside) as entries:
            for entry in entries:
                if entry.name.endswith(".toml"):
                    known = entry.stat()
                    when = (known.st_mtime_ns, known.st_ctime_ns)
                    found.append((f"{inside}/{entry.name}", known.st_ino, known.st_size, *when))
    return tuple(sorted(found))


@lru_cache(maxsize=8)
def _read_once(
    root: Path,
    kinds: tuple[str, ...],
    stamps: Stamps,
) -> tuple[Folder, tuple[Fault, ...]]:
    place = _place(root)
    digest = _known(place, stamps)
    if digest is not None:
        return Folder(root=root, digest=digest, texts=_Unread(root, kinds)), ()
    texts, faults = _texts(root, kinds)
    folder = Folder(root=root, digest=_digest(texts), texts=texts)
    newest = max((max(stamp[-2:]) for stamp in stamps), default=0)
    if not faults and time.time_ns() - newest > SETTLED_NS:
        keep(place, json.dumps({"stamps": _name(stamps), "digest": folder.digest}).encode())
    return folder, tuple(faults)


def _place(root: Path) -> Path:
    """Where it is kept which content a folder has."""
    return cache_folder() / f"catalogue-{hashlib.sha256(str(root.resolve()).encode()).hexdigest()[:24]}.json"


def _name(stamps: Stamps) -> str:
    return hashlib.sha256(_code() + repr(stamps).encode()).hexdigest()


def _known(place: Path, stamps: Stamps) -> str | None:
    """The name of the content that a folder had when it was last read, if nothing changed since."""
    try:
        found = json.loads(place.read_bytes())
        same, digest = found["stamps"] == _name(stamps), found["digest"]
    except (OSError, ValueError, TypeError, KeyError):
        return None
    is_name = isinstance(digest, str) and re.fullmatch(r"[0-9a-f]{32}", digest) is not None
    return digest if same and is_name else None


class _Unread(Mapping[str, bytes]):
    """The texts of a folder whose content is known, read when somebody asks for one."""

    def __init__(self, root: Path, kinds: tuple[str, ...]) -> None:
        self._where = root, kinds

    @cached_property
    def _all(self) -> dict[str, bytes]:
        texts, _ = _texts(*self._where)
        return texts

    def __getitem__(self, name: str) -> bytes:
        return self._all[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)


def _texts(root: Path, kinds: tuple[str, ...]) -> tuple[dict[str, bytes], list[Fault]]:
    """The text of each file, and faults for those that cannot be read."""
    faults: list[Fault] = []
    texts: dict[str, bytes] = {}
    for path in _paths(root, kinds):
        name = path.relative_to(root).as_posix()
        try:
            if not path.is_file():
                faults.append(_fault(path, "cannot be read (no ordinary file); an entry is a text file"))
                continue
            if path.stat().st_size > LARGEST_BYTES:
                faults.append(
                    _fault(path, f"is larger than {LARGEST_BYTES:,} bytes; an entry is a page of text")
                )
                continue
            texts[name] = path.read_bytes()
        except OSError as failure:
            faults.append(_fault(path, f"cannot be read ({failure.strerror}); check its permissions"))
    return texts, faults


def parse(folder: Folder) -> tuple[dict[str, Document], list[Fault]]:
    """Parse every file; faults for those that are no TOML."""
    faults: list[Fault] = []
    documents: dict[str, Document] = {}
    for name, text in folder.texts.items():
        try:
            documents[name] = tomllib.loads(text.decode("utf-8"))
        except UnicodeDecodeError:
            faults.append(_fault(folder.root / name, "is not UTF-8; save it as plain UTF-8"))
        except RecursionError:
            faults.append(_fault(folder.root / name, "nests brackets too deeply; mend that place"))
        except ValueError as failure:
            at = re.search(r"line (\d+)", str(failure))
            message = f"is not valid TOML: {failure}; mend that place"
            faults.append(_fault(folder.root / name, message, line=int(at[1]) if at else None))
    return documents, faults


def compiled(folder: Folder, make: Callable[[], dict[str, Document]]) -> dict[str, Document]:
    """Give the documents from the compiled copy, or make them and keep a copy."""
    cache = folder.root / "__pycache__"
    copy = cache / f"catalogue-{folder.digest}.json"
    with contextlib.suppress(OSError, ValueError):
        found = json.loads(copy.read_bytes())
        if isinstance(found, dict):
            return found
    documents = make()
    with contextlib.suppress(OSError):
        _keep(copy, json.dumps(documents, separators=(",", ":")))
    return documents


def _keep(copy: Path, text: str) -> None:
    """Put a copy in its place at once, and the stale ones away."""
    copy.parent.mkdir(exist_ok=True)
    handle, name = tempfile.mkstemp(dir=copy.parent, prefix="making-", suffix=".json")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        Path(name).replace(copy)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    for stale in copy.parent.glob("catalogue-*.json"):
        if stale != copy:
            stale.unlink(missing_ok=True)


def line_of(text: bytes, key: str) -> int | None:
    """The line on which a top-level key or table stands, or None."""
    for number, line in enumerate(text.decode("utf-8", "replace").splitlines(), start=1):
        start = line.lstrip()
        if start.partition("=")[0].strip().strip('"') == key or start.startswith((f"[{key}]", f'["{key}"]')):
            return number
    return None


def in_order(faults: Iterable[Fault]) -> list[Fault]:
    """Faults by file, line and key; those about a whole file first."""
    return sorted(faults, key=lambda fault: (fault.file, fault.line or 0, fault.key, fault.message))


def _paths(root: Path, kinds: tuple[str, ...]) -> list[Path]:
    found = [path for kind in kinds for path in sorted((root / kind).glob("*.toml"))]
    sources = root / "sources.toml"
    return [*found, sources] if sources.exists() else found


def _fault(path: Path, message: str, line: int | None = None) -> Fault:
    return Fault(file=str(path), line=line, key="", message=message)
