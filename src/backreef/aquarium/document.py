"""A plan file as a plain document: read, decoded and parsed, or refused with one fault."""

from __future__ import annotations

import codecs
import re
import tomllib
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

from backreef.aquarium.limits import limit
from backreef.errors import Fault, InputFaults

Table = dict[str, Any]
_MARKS = {
    codecs.BOM_UTF32_LE: "UTF-32",
    codecs.BOM_UTF32_BE: "UTF-32",
    codecs.BOM_UTF16_LE: "UTF-16",
    codecs.BOM_UTF16_BE: "UTF-16",
    codecs.BOM_UTF8: "UTF-8 with a byte-order mark",
}
_SAVE_AS = "save it as plain UTF-8, which every editor offers"
_MEANT = {
    "Invalid date or datetime": "; the calendar has no such day",
    "Cannot overwrite a value": "; this key stands there already, keep one of the two",
    "Cannot declare .* twice": "; this table stands there already, keep one of the two",
}
_AT = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$")


def read_text(path: Path) -> str:
    """The text of a plan file, or one fault about the file itself."""
    name = str(path)
    try:
        if path.is_dir():
            raise _refused(name, "is a directory; name the plan file in it")
        if path.exists() and not path.is_file():
            raise _refused(name, "is no ordinary file; a plan is read from a text file")
        with path.open("rb") as file:
            content = file.read(int(limit("file_bytes")) + 1)
    except FileNotFoundError:
        raise _refused(name, "does not exist; check the spelling and the directory") from None
    except PermissionError:
        raise _refused(name, "may not be read by this user; change its permissions") from None
    except (OSError, ValueError) as failure:
        why = getattr(failure, "strerror", None) or str(failure)
        raise _refused(name, f"cannot be read ({why}); check the path") from None
    return decode(content, name)


def decode(content: bytes, name: str) -> str:
    """The text of the bytes, if they are UTF-8 and not too many."""
    most = int(limit("file_bytes"))
    if len(content) > most:
        size = f"{most / 1e6:g} MB"
        raise _refused(name, f"is larger than {size}; a plan is a few pages of text, so this is another file")
    for mark, encoding in _MARKS.items():
        if content.startswith(mark):
            raise _refused(name, f"is written in {encoding}; {_SAVE_AS}")
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as failure:
        line = content.count(b"\n", 0, failure.start) + 1
        kind = "UTF-16 without a mark" if b"\0" in content else "an older encoding such as Latin-1"
        raise _refused(name, f"is not UTF-8, probably {kind}; {_SAVE_AS}", line) from None
    if "\0" in text:
        raise _refused(name, f"holds zero bytes, so it is no text or is written in UTF-16; {_SAVE_AS}")
    return text


def parse(text: str, name: str) -> Table:
    """The document of a TOML text, or one fault with the line of its first error of grammar."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as failure:
        raise _syntax(str(failure), text=text, name=name) from None
    except RecursionError:
        raise _refused(name, "nests brackets too deeply; a plan needs three levels at most") from None
    except ValueError:
        raise _refused(
            name, "holds a number of thousands of digits; no quantity of a tank needs them"
        ) from None
    if not document:
        raise _refused(name, "holds no keys; start_on and [tank] with display are the least a plan needs")
    return document


def tables(document: Table, key: str) -> Iterator[tuple[int, Table]]:
    """The entries of an array of tables with their numbers, passing over whatever else stands there."""
    entries = document.get(key)
    if isinstance(entries, list):
        for number, entry in enumerate(entries):
            if isinstance(entry, dict):
                yield number, entry


def table(document: Table, key: str) -> Table:
    """A table of the document, empty where something else or nothing stands there."""
    found = document.get(key)
    return found if isinstance(found, dict) else {}


def _refused(name: str, message: str, line: int | None = None) -> InputFaults:
    return InputFaults([Fault(file=name, line=line, key="", message=message)])


def _syntax(message: str, *, text: str, name: str) -> InputFaults:
    """The parser's complaint with its place taken out of the sentence and the line shown."""
    at = _AT.search(message)
    what = _AT.sub("", message)
    if at is None or at[1] is None:
        last = text.rstrip("\n").count("\n") + 1
        return _refused(
            name, f"is not valid TOML: {what} at the end of the file; a bracket or quote is left open", last
        )
    line, column = int(at[1]), int(at[2])
    found = text.split("\n")[line - 1].strip()[:80]
    shown = f"; found: {found}" if found else ""
    hint = _hint(found, what)
    return _refused(name, f"is not valid TOML: {what}, column {column}{shown}{hint}", line)


def _hint(found: str, what: str) -> str:
    """What is usually meant by a line that TOML does not understand."""
    for complaint, meant in _MEANT.items():
        if re.match(complaint, what):
            return meant
    value = found.partition("=")[2].strip()
    if re.match(r"\d[\d.]*\s*[a-zA-Z%]", value):
        return f'; a quantity stands in quotes: "{value.partition("#")[0].strip()}"'
    if re.match(r"[A-Za-z_]+\s*(#.*)?$", value):
        return "; a word stands in quotes"
    if re.match(r"[\w.]+\s*:", found):
        return "; TOML joins key and value with '=', not ':'"
    return ""


def each(values: object) -> Iterable[tuple[int, object]]:
    """What stands in a list with its place there; nothing where it is no list."""
    return enumerate(values) if isinstance(values, list) else ()


def day_of(found: object) -> date | None:
    """The date, if it is one and not a moment."""
    return found if isinstance(found, date) and not isinstance(found, datetime) else None
