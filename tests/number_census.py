"""Every number that a page shows, with where it stands and the figure that it can be asked as."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html.parser import HTMLParser
from importlib import import_module
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from backreef.errors import InputFaults
from backreef.judgement.findings import findings_of
from backreef.judgement.telling import beforehand, forecast_of, worst_first
from backreef.judgement.verdict import Forecast
from backreef.logbook.entries import Entry
from backreef.models.tables import load_tables
from backreef.units import molar_mass_g_per_mol
from backreef.usecases.asked import Asking, Figure
from backreef.usecases.asked_by_name import answered
from backreef.usecases.check import catalogue_of
from backreef.usecases.why import _beside
from backreef.working.record import not_recording
from backreef.working.steps import About
from backreef.working.tree import Tree

_NAMED = Path(__file__).parent / "data" / "numbers_without_a_working.toml"
_VOID = {"meta", "link", "br", "hr", "img", "input", "path", "line", "rect", "circle", "use", "col", "wbr"}
_MONTH = r"(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]*"
DATES = re.compile(
    rf"\d{{4}}-\d\d-\d\d|\b\d{{1,2}} {_MONTH}(?: \d{{4}})?|{_MONTH}(?:–[A-Z][a-z]+)? \d{{4}}"
    rf"|\b20\d\d(?: {_MONTH}(?:–{_MONTH})?)?\b|\b\d{{1,2}}:\d\d\b"
)
_BAND = re.compile(r"5 to 95 %|(?:lowest 5|highest 95|at least 95) %|95 % point")
"""Points of the members by name, as labels call them."""
NUMBERS = re.compile(r"(?<![\w.,])[-−+]?\d+(?:[.,]\d+)*(?:e[-+]?\d+)?(?: ?%|\u00a0%)?")


@dataclass(frozen=True, slots=True)
class Shown:
    """A piece of text with numbers in it."""

    where: str
    """Section, kind, and caption and column or the elements around it."""
    text: str
    numbers: tuple[str, ...]
    figure: str
    """As it can be asked; empty where it cannot."""


class _Reader(HTMLParser):
    def __init__(self, names: Collection[str]) -> None:
        super().__init__()
        self.names = names
        self.stack: list[tuple[str, dict[str, str | None]]] = []
        self.found: list[Shown] = []
        self.caption, self.columns, self.column = "", list[str](), -1

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _VOID:
            return
        if tag == "table":
            self.caption, self.columns = "", []
        if tag == "tr":
            self.column = -1
        if tag in ("td", "th"):
            self.column += 1
        self.stack.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        while tag not in _VOID and self.stack and self.stack.pop()[0] != tag:
            pass

    def handle_data(self, text: str) -> None:
        tags = [tag for tag, _ in self.stack]
        if not text.strip() or "style" in tags or "script" in tags:
            return
        if "caption" in tags:
            self.caption += text
        elif "thead" in tags and "th" in tags:
            self.columns.append(text)
        plain = _BAND.sub("", DATES.sub("", text))
        for name in self.names:
            plain = plain.replace(name, "")
        numbers = tuple(NUMBERS.findall(plain))
        if numbers:
            self.found.append(Shown(self._where(tags), " ".join(text.split()), numbers, self._figure()))

    def _figure(self) -> str:
        links = [attrs.get("href") or "" for tag, attrs in self.stack if tag == "a"]
        return next((of[0] for link in links if (of := parse_qs(urlsplit(link).query).get("of"))), "")

    def _where(self, tags: list[str]) -> str:
        section = next((i for tag, a in self.stack if tag == "section" and (i := a.get("id"))), "top")
        if "svg" in tags:
            return f"{section}/picture"
        if "table" in tags:
            column = self.columns[self.column] if 0 <= self.column < len(self.columns) else ""
            part = column if "tbody" in tags else "caption" if "caption" in tags else "head"
            return f"{section}/table/{self.caption}/{part}"
        around = [f"{tag}.{a['class']}" if a.get("class") else tag for tag, a in self.stack if tag != "a"]
        return f"{section}/text/{'>'.join(around[1:])}"


def named_numbers(kind: str) -> list[dict[str, str]]:
    """Numbers that need no working, each with the reason."""
    return tomllib.loads(_NAMED.read_text(encoding="utf-8"))[kind]  # type: ignore[no-any-return]


def shown_numbers(markup: str, names: Collection[str] = ()) -> list[Shown]:
    """Every piece of text of a page that has a number in it which is no part of a date or of a name."""
    reader = _Reader(names)
    reader.feed(markup)
    return reader.found


def agrees(number: str, value: float) -> bool:
    """Whether a shown number is a value, rounded as it is shown."""
    plain = number.replace("−", "-").rstrip("%\u00a0 ").replace(",", "")
    shown = abs(float(plain))
    digits = plain.partition("e")[0].partition(".")[2]
    exponent = int(plain.partition("e")[2] or 0)
    half = 0.5 * 10.0 ** (exponent - len(digits)) * (1 + 1e-9)
    whole = len(plain.lstrip("+-").rstrip("0")) if "." not in plain else 0
    if whole and whole < len(plain.lstrip("+-")) and shown >= 10:
        half = max(half, 0.5 * 10.0 ** (len(plain.lstrip("+-")) - max(whole, 2)))
    told = abs(value) * (100.0 if number.endswith("%") else 1.0)
    return abs(shown - told) <= half + 1e-12


def check_tree(tree: Tree) -> None:
    assert tree.recomputed() == pytest.approx(tree.root.value, rel=1e-12, abs=1e-300)
    for node in tree.leaves():
        about = node.about
        assert about.kind != "law", about
        assert about.key, about
        assert about.place if about.kind == "plan" else about.source or about.status, about


def untraced(tree: Tree, asking: Asking, entries: Sequence[Entry] = ()) -> list[str]:
    """Leaves that are not what stands where they say that they stand, each with the reason."""
    told = ((node.about, node.value) for node in tree.leaves())
    return [
        f"{about.key}: {why}"
        for about, value in told
        if (why := _why_untraced(about, value, asking, entries))
    ]


def _why_untraced(about: About, value: float, asking: Asking, entries: Sequence[Entry]) -> str:
    room, _, rest = about.key.partition(".")
    match about.kind:
        case "plan" if "written" in about.given:
            file, _, line = about.place.rpartition(":")
            written = about.given["written"]
            said = Path(file).read_text(encoding="utf-8").splitlines()[int(line) - 1]
            return "" if written in said else f"'{written}' is not in line {line}"
        case "catalogue":
            found = _inside(catalogue_of(asking.plain), rest)
            return "" if found == value else f"it is {found} in the catalogue"
        case "parameter":
            row = load_tables().parameters[rest.removeprefix("parameters.").partition(".")[0]]
            return "" if value in (row.value, row.low, row.high) else f"it is {row.value} in the table"
        case "constant" if rest.startswith("atomic_masses."):
            found = molar_mass_g_per_mol(rest.rpartition(".")[2])
            return "" if found == value else f"it is {found} in the table"
        case "constant" if rest.rpartition(".")[2].strip("_").isupper():
            module, _, name = about.key.rpartition(".")
            found = getattr(import_module(f"backreef.{module}"), name)
            return "" if found == value else f"it is {found} in {room}"
        case "log":
            known = {f"log.{one.id}.value": getattr(one.what, "value", None) for one in entries}
            return "" if known.get(about.key) == value else f"the log says {known.get(about.key)}"
        case "plan" | "assumed" | "constant" | "drawn" | "simulated":
            return "" if about.source or about.place else "it stands nowhere"
    return f"'{about.kind}' is no kind of leaf"


def _inside(whole: Any, path: str) -> Any:
    """What stands at a path of names and places."""
    for part in re.findall(r"[^.\[\]]+", path):
        if isinstance(whole, Mapping):
            whole = whole[part]
        elif isinstance(whole, tuple | list):
            whole = whole[int(part)]
        else:
            whole = getattr(whole, part)
    return getattr(whole, "value", whole)


def faults_of(asking: Asking, known: Mapping[str, Figure], one: Shown, *counts: float) -> list[str]:
    """What is wrong with a number that leads to its working, if it is not what it is shown as.

    `counts` may stand beside it, as that of the readings.
    """
    try:
        figure, found = answered(asking, known, one.figure)
    except InputFaults as refusal:
        return [f"{one.figure}: {refusal.faults[0].message}"]
    check_tree(found.tree)
    values = [
        float(found.tree.root.value),
        *(each.value for each in _beside(asking, known, figure, one.figure)),
    ]
    shares = [value for value in values if 0.0 <= value <= 1.0]
    members = asking.members
    values += [members, *(members * value for value in shares), *(100.0 * value for value in shares), *counts]
    if re.search(r"over 99|under 1", one.text) and any(0.0 < value < 1.0 for value in shares):
        return []
    lost = [number for number in one.numbers if not any(agrees(number, value) for value in values)]
    return [f"{one.figure} is shown as '{one.text}': {lost} not among {values}"] if lost else []


def groups(found: list[Shown]) -> Iterator[tuple[str, list[Shown]]]:
    """Pieces by where they stand."""
    by_place: dict[str, list[Shown]] = {}
    for one in found:
        by_place.setdefault(one.where, []).append(one)
    yield from by_place.items()


def forecast_of_asked(asking: Asking) -> Forecast:
    """The forecast of a plan that was marched to be asked about; none of its remedies is tried."""
    course = asking.course
    with not_recording():
        known = beforehand(course.prepared)
        return forecast_of(course, worst_first((*findings_of(course), *known.findings)), known)
