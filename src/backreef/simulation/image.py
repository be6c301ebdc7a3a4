"""Machine code as one piece that needs no linker: made once from an object file, then mapped where it lies.

LLVM takes tens of megabytes and a tenth of a second to load, only to place code that is on the disk already.
So what it compiled is laid out here once: code and numbers one after the other, references between them
filled in, all of them relative, so that the piece works wherever it is mapped. It is mapped from its file to
be read and run, never to be written. For anything in an object file that is not known here, LLVM places the
code.
"""

from __future__ import annotations

import hashlib
import mmap
import platform
import struct
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import numpy as np

HERE = sys.platform == "linux" and platform.machine() == "x86_64"
"""Whether object files of this machine are of the kind that is read here: ELF for x86-64."""
NAMES = ("march", "scratch_rows")
"""Functions that are called from outside."""
_HEAD = struct.Struct("<8s2Q8x32s")
"""Mark, places of the functions, digest of all that follows."""
_MARK = b"bkreef01"
_SECTION = struct.Struct("<IIQQQQIIQQ")
_SYMBOL = struct.Struct("<IBBHQQ")
_REFERENCE = struct.Struct("<QQq")
_KINDS = {"code": 1, "symbols": 2, "references": 4, "empty": 8}
_WRITTEN, _LOADED = 1, 2
_RELATIVE = (2, 4)
"""References as 32-bit distances, to numbers and to functions."""


@dataclass(frozen=True, slots=True)
class _Section:
    """A section header of an object file, as far as it is looked at."""

    kind: int
    flags: int
    offset: int
    size: int
    link: int
    about: int
    align: int


@dataclass(frozen=True, slots=True)
class Image:
    """A piece that is mapped: addresses of its functions, and what keeps it there."""

    addresses: tuple[int, ...]
    mapped: mmap.mmap


class _UnknownError(Exception):
    """Something that is not read here."""


def flattened(code: bytes) -> bytes | None:
    """Give the piece of an object file, or None if it holds anything that is not known here."""
    try:
        body, places = _laid_out(code)
    except (_UnknownError, struct.error, IndexError):
        return None
    return _HEAD.pack(_MARK, *places, hashlib.sha256(body).digest()) + body


def mapped(place: Path) -> Image | None:
    """Map a kept piece to be run; None where there is none, it is damaged, or the system forbids it."""
    try:
        with place.open("rb") as file:
            area = mmap.mmap(file.fileno(), 0, flags=mmap.MAP_PRIVATE, prot=mmap.PROT_READ | mmap.PROT_EXEC)
    except (OSError, ValueError):
        return None
    if len(area) < _HEAD.size:
        return None
    mark, *places, digest = _HEAD.unpack_from(area)
    if mark != _MARK or hashlib.sha256(memoryview(area)[_HEAD.size :]).digest() != digest:
        return None
    start = np.frombuffer(area, dtype=np.uint8).ctypes.data
    return Image(tuple(start + at for at in places), area)


def processor() -> str:
    """Give what compiled code depends on of this machine, without loading LLVM; empty where it is unknown."""
    found = find_spec("llvmlite")
    if not HERE or found is None or not found.submodule_search_locations:
        return ""
    try:
        version = Path(found.submodule_search_locations[0], "_version.py").read_text(encoding="utf-8")
        with Path("/proc/cpuinfo").open(encoding="utf-8") as lines:
            known = dict(_fields_of_first_processor(lines))
    except OSError:
        return ""
    asked = ("vendor_id", "cpu family", "model", "stepping", "flags")
    return " ".join([version, *(known.get(name, "") for name in asked)]) if "flags" in known else ""


def _fields_of_first_processor(lines: Iterator[str]) -> Iterator[tuple[str, str]]:
    for line in lines:
        if not line.strip():
            return
        name, _, value = line.partition(":")
        yield name.strip(), value.strip()


def _laid_out(code: bytes) -> tuple[bytes, list[int]]:
    """Give code and numbers with all references filled in, and where in the piece the functions are."""
    sections = _sections(code)
    starts = _starts(sections)
    body = bytearray(max(start + sections[number].size for number, start in starts.items()) - _HEAD.size)
    for number, start in starts.items():
        one, at = sections[number], start - _HEAD.size
        body[at : at + one.size] = code[one.offset : one.offset + one.size]
    places: dict[str, int] = {}
    for section in sections:
        if section.kind == _KINDS["symbols"]:
            places |= _functions(code, section, sections, starts)
        if section.kind == _KINDS["references"] and section.about in starts:
            _fill_in(code, section, sections, starts, body)
    if set(NAMES) - set(places):
        raise _UnknownError
    return bytes(body), [places[name] for name in NAMES]


def _sections(code: bytes) -> list[_Section]:
    if code[:6] != b"\x7fELF\x02\x01" or struct.unpack_from("<HH", code, 16) != (1, 62):
        raise _UnknownError
    (first,) = struct.unpack_from("<Q", code, 0x28)
    _, count, _ = struct.unpack_from("<HHH", code, 0x3A)
    headers = (_SECTION.unpack_from(code, first + number * _SECTION.size) for number in range(count))
    return [
        _Section(kind, flags, offset, size, link, about, align)
        for _, kind, flags, _, offset, size, link, about, align, _ in headers
    ]


def _starts(sections: list[_Section]) -> dict[int, int]:
    """Where sections that are loaded begin in the piece; tables for unwinding are of no use to us."""
    at, starts = _HEAD.size, {}
    for number, section in enumerate(sections):
        if section.flags & _LOADED and (section.flags & _WRITTEN or section.kind == _KINDS["empty"]):
            raise _UnknownError
        if section.flags & _LOADED and section.kind == _KINDS["code"] and section.size:
            at = -(-at // max(1, section.align)) * max(1, section.align)
            starts[number] = at
            at += section.size
    return starts


def _symbol(code: bytes, table: _Section, number: int, starts: dict[int, int]) -> int | None:
    """Where a symbol lies in the piece; None if it lies in nothing that is loaded."""
    _, _, _, section, value, _ = _SYMBOL.unpack_from(code, table.offset + number * _SYMBOL.size)
    return starts[section] + value if section in starts else None


def _functions(
    code: bytes, table: _Section, sections: list[_Section], starts: dict[int, int]
) -> Iterator[tuple[str, int]]:
    names = sections[table.link].offset
    for number in range(table.size // _SYMBOL.size):
        name_at, *_ = _SYMBOL.unpack_from(code, table.offset + number * _SYMBOL.size)
        name = code[names + name_at : code.index(b"\0", names + name_at)].decode()
        place = _symbol(code, table, number, starts) if name in NAMES else None
        if place is not None:
            yield name, place


def _fill_in(
    code: bytes, table: _Section, sections: list[_Section], starts: dict[int, int], body: bytearray
) -> None:
    """Write the distances that a section's references stand for."""
    for number in range(table.size // _REFERENCE.size):
        offset, what, addend = _REFERENCE.unpack_from(code, table.offset + number * _REFERENCE.size)
        target = _symbol(code, sections[table.link], what >> 32, starts)
        if what & 0xFFFFFFFF not in _RELATIVE or target is None:
            raise _UnknownError
        at = starts[table.about] + offset
        struct.pack_into("<i", body, at - _HEAD.size, target + addend - at)
