"""Everything that the rooms can say to a reader, as sentences with blanks, read from their code and tables.

Nobody marks a sentence: a text of the code counts where somebody could read it. What the code writes as
`f"{name} starves"` is the sentence `{name} starves`; a choice of words within it makes two.
"""

from __future__ import annotations

import ast
import csv
import itertools
import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from backreef.tongue.forms import BLANK, LETTERS
from backreef.tongue.speaker import SPECIAL

ROOT = Path(__file__).parents[1]
ROOMS = ROOT / "src" / "backreef"
SPEAKING = (
    "aquarium",
    "calibration",
    "catalogue",
    "company",
    "judgement",
    "logbook",
    "planning",
    "plots",
    "reports",
    "schedule",
    "usecases",
    "web",
    "errors.py",
    "units.py",
)
"""The rooms whose words reach a page; of the web room what it does not say through Django's own door."""
SILENT_CALLS = frozenset(
    (
        "files", "joinpath", "open", "get", "pop", "getattr", "hasattr", "setattr", "startswith", "endswith",
        "partition", "rpartition", "split", "removeprefix", "removesuffix", "replace", "compile", "search",
        "fullmatch", "match", "sub", "findall", "rule", "rule_number", "rule_words", "rule_source", "number",
        "rate_of", "TypeVar", "ContextVar", "namedtuple", "strftime", "strptime", "encode", "decode",
        "setdefault", "path", "frozenset", "import_module", "NewType", "dtype", "warn", "key_of",
        "_", "_lazy", "gettext", "gettext_lazy", "ngettext", "pgettext", "npgettext", "execute",
    )
)  # fmt: skip
SILENT_KEYS = frozenset(
    (
        "class_", "id", "ident", "d", "href", "role", "anchor", "text_anchor", "rule", "balance", "weight",
        "status", "kind", "key", "symbol", "number", "fill", "transform", "points", "style", "scope", "dtype",
        "encoding", "errors", "mode", "field", "series", "task", "viewBox", "xmlns", "source_key", "sep",
        "type_", "method", "action", "reads", "plan", "by",
    )
)  # fmt: skip
SPOKEN_KEYS = frozenset(
    (
        "columns",
        "words",
        "caption",
        "title",
        "lead",
        "heading",
        "what",
        "why",
        "label",
        "who",
        "unit",
        "condition",
        "eats",
    )
)
SILENT_MODULES = frozenset(
    (
        "aquarium/manual.py", "catalogue/build.py", "catalogue/check.py", "catalogue/coverage.py",
        "catalogue/tables.py", "company/manual.py", "judgement/manual.py", "reports/compare_text.py",
        "reports/fleet_text.py", "reports/sheet_text.py", "reports/text.py", "reports/text_ribbon.py",
        "reports/work_text.py", "usecases/kernel.py", "usecases/machines.py", "usecases/fleet.py",
        "usecases/fleet_tank.py", "usecases/demo.py", "web/bootstrap.py", "web/settings.py", "web/models.py",
        "web/urls.py", "web/middleware.py", "web/assets.py", "web/serving.py", "web/gate.py",
        "web/foreman.py",
    )
)  # fmt: skip
"""Of the terminal, of the documentation, of those who work on the catalogue."""
TABLES: dict[str, tuple[str, ...]] = {
    "aquarium/data/defaults.toml": ("text", "changes", "place"),
    "aquarium/data/keys.csv": ("doc", "key"),
    "calibration/data/causes.csv": ("what", "check"),
    "calibration/data/fitted.csv": ("what", "more", "less"),
    "catalogue/data/digestion.csv": ("place",),
    "catalogue/data/fields.csv": ("meaning",),
    "catalogue/data/guilds.csv": ("name", "describes"),
    "catalogue/data/labels.csv": ("place",),
    "catalogue/data/packaging.csv": ("name",),
    "catalogue/data/sources.toml": ("text",),
    "catalogue/data/tokens.toml": ("*",),
    "catalogue/data/devices/*.toml": ("*",),
    "catalogue/data/foods/*.toml": ("*",),
    "catalogue/data/species/*.toml": ("*",),
    "catalogue/data/tasks/*.toml": ("*",),
    "company/data/counted_deaths.csv": ("whose", "place"),
    "company/data/hazards.toml": ("place",),
    "company/data/remedies.toml": ("*",),
    "company/data/rules.toml": ("place",),
    "company/data/sexes.csv": ("place",),
    "judgement/data/cautions.toml": ("text",),
    "judgement/data/changes.toml": ("*",),
    "judgement/data/mishaps.toml": ("what", "says", "words", "does", "place", "label"),
    "judgement/data/remedies.toml": ("says",),
    "judgement/data/risks.csv": ("what",),
    "judgement/data/rules.csv": ("meaning", "note"),
    "judgement/data/sources.csv": ("text",),
    "judgement/data/static_harm.toml": ("mixed",),
    "judgement/data/water_bands.csv": ("label", "unit", "note", "note_low", "note_high"),
    "judgement/data/why.toml": ("what", "why", "said_by"),
    "logbook/data/words.csv": ("means",),
    "models/data/bodies.toml": ("place", "textbook_composition", "molecular_formula", "own_rule"),
    "models/data/components.csv": ("meaning",),
    "models/data/parameters.csv": ("meaning", "place", "note"),
    "models/data/processes.csv": ("about",),
    "models/data/sources.csv": ("text",),
    "schedule/data/effects.toml": ("place",),
    "schedule/data/feeders.toml": ("place",),
    "schedule/data/habits.toml": ("place", "why"),
    "schedule/data/implied_tasks.toml": ("*",),
    "schedule/data/pantry.csv": ("meaning",),
    "schedule/data/workload.toml": ("place",),
    "simulation/data/animals.csv": ("meaning",),
    "simulation/data/bodies_by_kind.csv": ("note",),
    "simulation/data/mishaps.csv": ("meaning",),
    "simulation/data/sources.csv": ("text",),
    "simulation/data/start_states.csv": ("note",),
    "simulation/data/system.csv": ("meaning",),
    "usecases/data/figure_names.toml": ("*",),
    "usecases/data/sheet.toml": ("*",),
    "usecases/data/told_names.toml": ("numbers", "called"),
}
"""Table, and the columns or keys of it that are read by people; a star for every text of it."""
NOTES = tuple(f"catalogue/data/{kind}/*.toml" for kind in ("species", "foods", "devices", "tasks"))
"""Tables whose notes on where a number comes from differ in their figures alone."""
SILENT_COLUMNS = frozenset(
    (
        "id",
        "scientific_name",
        "synonyms",
        "family",
        "source",
        "sources",
        "status",
        "unit",
        "numbers",
        "driver_rule",
    )
)
WRITTEN = (
    *("{thing} visible", "{thing} gone", "Bounds of {what}", "Length of {who}", "Number of {who}"),
    *("act below {n} or above {n2} {unit}", "act below {n} {unit}", "act above {n} {unit}"),
    *(
        "per d",
        "per h",
        "harm {harm} for a day{at_once}",
        "Pause of the return pump at the meal of {meal}",
        "size of its mouth",
    ),
    *(f"{{kind}} food {taken}" for taken in ("reliable", "usual", "sometimes", "rarely", "no", "unknown")),
)
"""What a plan and the catalogue are written with, and no room says: a gate, how readily a food is taken."""
_NUMBER = re.compile(r"\d[\d.,]*\d|\d")
_CITED = re.compile(r"\b(1[89]|20)\d\d\b")
"""A year: what names one is a citation, which stays as it was printed."""
_WORD = re.compile(r"[a-z][a-z0-9_.-]*")
_PATH_OR_CODE = re.compile(r"%\(|^[-./\w]*[/_][-./\w]*$|^[MLHV]\d|^--|[<>]|^\W*$|^[A-Z_]+$|^#")
_NAME = re.compile(
    r"[\w*@-]*(?:[.@]+[\w*@-]+)+|\w[\w-]*:\w[\w.:-]*|[\w.]+\[\w?\][\w.]*|\[+[\w.]+\]+"
    r"|t(?: t-\w+)+|PRAGMA .*|[\w-]+; filename=.*|\w+/\w+; .*|[\w-]+ 'none'.*|[\w-]+=[\w-]+, .*|-\w+"
)
"""What is no sentence: a key of the plan file, a file, a mark, what is said to a browser or a database."""
_FIGURES = frozenset(
    ("len", "count", "round", "count_words", "max", "min", "abs", "sum", "figure", "reading", "minutes_words")
)
"""Functions that give a number, or the words in its place."""
_FIGURE_FORMAT = re.compile(r"[+,]?\.?\d*[dfge]$")


@cache
def sentences() -> dict[str, tuple[str, ...]]:
    """Every sentence with the files that say it."""
    found: dict[str, set[str]] = {special: {"tongue/speaker.py"} for special in SPECIAL}
    found |= {written: {"aquarium/data/keys.csv"} for written in WRITTEN}
    for place, text in itertools.chain(_of_code(), _of_tables(), _of_notes()):
        for one in split(text):
            found.setdefault(one, set()).add(place)
    return {one: tuple(sorted(places)) for one, places in sorted(found.items())}


def split(text: str) -> Iterator[str]:
    """The sentences of a text, without the space around them; those only that say something."""
    whole = re.split(r"(?<=[.!?]) (?=[A-Z0-9“{])", " ".join(text.split(" ")))
    after_blanks = [one.partition("} ")[2] for one in whole if re.match(r"\{\w+\} [A-Z][a-z]+ ", one)]
    for one in (*whole, *after_blanks):
        words = one.strip().rstrip(".").strip(" ;:,·")
        words = re.sub(r"^[)\]]\W*|\W*[(\[]$", "", words)
        if LETTERS.search(BLANK.sub(" ", words)) and len(BLANK.sub("", words)) > 1:
            yield words


def _of_code() -> Iterator[tuple[str, str]]:
    for room in SPEAKING:
        place = ROOMS / room
        for path in [place] if place.is_file() else sorted(place.rglob("*.py")):
            if "migrations" not in path.parts and str(path.relative_to(ROOMS)) not in SILENT_MODULES:
                reader = _Reader()
                reader.visit(ast.parse(path.read_text(encoding="utf-8")))
                for text in reader.found:
                    yield str(path.relative_to(ROOMS)), text


class _Reader(ast.NodeVisitor):
    """Gathers the texts of a module that somebody could read."""

    def __init__(self) -> None:
        self.found: list[str] = []
        self._spoken = False

    def _note(self, text: str, *, spoken: bool) -> None:
        words = text.strip()
        if not LETTERS.search(BLANK.sub(" ", words)) or _PATH_OR_CODE.search(BLANK.sub("", words)):
            return
        if _NAME.fullmatch(BLANK.sub("x", words)):
            return
        if spoken or not _WORD.fullmatch(words):
            self.found.append(text)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, str):
            self._note(node.value, spoken=self._spoken)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        for text in _written(node):
            self._note(text, spoken=True)
        for part in node.values:
            if isinstance(part, ast.FormattedValue) and not _choices(part.value):
                self._silently(part.value)

    def _silently(self, node: ast.AST) -> None:
        was, self._spoken = self._spoken, False
        self.visit(node)
        self._spoken = was

    def _aloud(self, node: ast.AST) -> None:
        was, self._spoken = self._spoken, True
        self.visit(node)
        self._spoken = was

    def visit_Expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):
            self.visit(node.value)

    def visit_Call(self, node: ast.Call) -> None:
        name = _name(node.func)
        if isinstance(node.func, ast.Attribute):
            self.visit(node.func.value)
        if name in ("plural", "counted"):
            self._plural(node)
            return
        if name not in SILENT_CALLS:
            for argument in node.args[1:] if name in ("element", "table") else node.args:
                self._aloud(argument) if name in ("label", "element", "KeyEntry", "_beside") else self.visit(
                    argument
                )
        for keyword in node.keywords:
            if keyword.arg in SPOKEN_KEYS:
                self._aloud(keyword.value)
            elif keyword.arg not in SILENT_KEYS or not isinstance(
                keyword.value, (ast.Constant, ast.JoinedStr)
            ):
                self._silently(keyword.value)

    def _plural(self, node: ast.Call) -> None:
        words = [str(one.value) for one in node.args[1:] if isinstance(one, ast.Constant)]
        if words:
            self.found += [f"{{n}} {words[0]}", f"{{n}} {words[1] if len(words) > 1 else f'{words[0]}s'}"]
        self.visit(node.args[0])

    def visit_Subscript(self, node: ast.Subscript) -> None:
        self.visit(node.value)
        if not isinstance(node.slice, (ast.Constant, ast.JoinedStr)):
            self._silently(node.slice)

    def visit_Compare(self, node: ast.Compare) -> None:
        for one in (node.left, *node.comparators):
            if isinstance(one, (ast.Call, ast.Attribute, ast.BoolOp, ast.IfExp)):
                self._silently(one)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self._silently(node.test)
        self._aloud(node.body) if isinstance(node.body, ast.Constant) else self.visit(node.body)
        self._aloud(node.orelse) if isinstance(node.orelse, ast.Constant) else self.visit(node.orelse)

    def visit_Return(self, node: ast.Return) -> None:
        if node.value is not None:
            self._aloud(node.value) if isinstance(node.value, (ast.Constant, ast.IfExp)) else self.visit(
                node.value
            )

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        for one in node.values:
            self._aloud(one) if isinstance(one, ast.Constant) else self.visit(one)

    def visit_Dict(self, node: ast.Dict) -> None:
        keys = [key for key in node.keys if isinstance(key, ast.Constant)]
        for key in keys if any(" " in str(one.value) for one in keys) else ():
            self._aloud(key)
        for value in node.values:
            self._aloud(value) if isinstance(value, ast.Constant) else self.visit(value)

    def visit_Assign(self, node: ast.Assign) -> None:
        targets = [one for target in node.targets for one in getattr(target, "elts", [target])]
        named = {_name(target) for target in targets}
        spoken = {name.lower() for name in named} & SPOKEN_KEYS or all(map(str.isupper, named))
        self._aloud(node.value) if spoken else self.visit(node.value)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        for one in (*node.args.defaults, *(each for each in node.args.kw_defaults if each is not None)):
            self.visit(one)
        for line in node.body:
            self.visit(line)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for line in node.body:
            self.visit(line)


def _name(node: ast.expr) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""


def _choices(node: ast.expr) -> tuple[str, ...]:
    """The words of a choice between words; nothing for anything else."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return (node.value,)
    if isinstance(node, ast.IfExp):
        first, second = _choices(node.body), _choices(node.orelse)
        return (*first, *second) if first and second else ()
    return ()


def _written(node: ast.JoinedStr) -> Iterator[str]:
    """What a text with fields says, with names for its fields, once for each choice in it."""
    names: dict[str, int] = {}
    parts: list[tuple[str, ...]] = []
    for value in node.values:
        if isinstance(value, ast.Constant):
            parts.append((str(value.value).replace("{", "").replace("}", ""),))
        elif isinstance(value, ast.FormattedValue):
            words = _choices(value.value)
            name = "" if words else _blank(value)
            names[name] = names.get(name, 0) + 1
            number = names[name] if names[name] > 1 else ""
            parts.append(words or (f"{{{name}{number}}}",))
    for chosen in itertools.islice(itertools.product(*parts), 32):
        yield "".join(chosen)


def _blank(value: ast.FormattedValue) -> str:
    """The name of a field: n for figures, date for dates, otherwise what the code calls it."""
    shape = value.format_spec
    if shape is not None and _FIGURE_FORMAT.search("".join(_constant(one) for one in ast.walk(shape))):
        return "n"
    name = _called(value.value)
    if name in ("long_date", "short_date", "day_words"):
        return "date"
    if name in _FIGURES:
        return "n"
    name = re.sub(r"\W|\d|^_+", "", name) or "words"
    return f"{name}_" if re.fullmatch(r"n|date", name) else name


def _constant(node: ast.AST) -> str:
    return str(node.value) if isinstance(node, ast.Constant) else ""


def _called(node: ast.expr) -> str:
    if isinstance(node, ast.Call):
        return _name(node.func)
    if isinstance(node, ast.Subscript):
        return _called(node.value)
    if isinstance(node, ast.BoolOp):
        return _called(node.values[0])
    return _name(node)


def _of_tables() -> Iterator[tuple[str, str]]:
    for pattern, keys in TABLES.items():
        for path in sorted(ROOMS.glob(pattern)):
            place = str(path.relative_to(ROOMS))
            if path.suffix == ".csv":
                with path.open(encoding="utf-8", newline="") as file:
                    rows = list(csv.DictReader(file))
                texts = [_label(row[key]) if key == "key" else row[key] for row in rows for key in keys]
            else:
                with path.open("rb") as file:
                    texts = list(_texts(tomllib.load(file), keys, ()))
            for text in texts:
                if text and not _is_silent(text):
                    yield place, text.replace("`", "") if path.name == "keys.csv" else text


def _of_notes() -> Iterator[tuple[str, str]]:
    for pattern in NOTES:
        for path in sorted(ROOMS.glob(pattern)):
            with path.open("rb") as file:
                for text in _texts(tomllib.load(file), ("place",), ()):
                    if not _is_silent(text):
                        yield str(path.relative_to(ROOMS)), _without_figures(text)


def _without_figures(text: str) -> str:
    count = itertools.count(1)
    return _NUMBER.sub(lambda _: "{n}" if (place := next(count)) == 1 else f"{{n{place}}}", text)


def _is_silent(text: str) -> bool:
    """Whether what stands in a table is for machines, or a citation."""
    words = BLANK.sub("x", text)
    return bool(("_" in words and " " not in words) or _CITED.search(text) or _NAME.fullmatch(words))


def _label(key: str) -> str:
    """What a form calls a key of the plan file."""
    words = key.replace("[]", "").split(".")
    return " ".join(words[2:] if words[:2] == ["goals", "bands"] else words[-1:]).replace("_", " ")


def _texts(value: Any, keys: tuple[str, ...], path: tuple[str, ...]) -> Iterator[str]:  # noqa: ANN401  of TOML
    if isinstance(value, dict):
        for key, content in value.items():
            if "*" not in keys or (key not in SILENT_COLUMNS and key != "place"):
                yield from _texts(content, keys, (*path, key))
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one, keys, path)
    elif isinstance(value, str) and ("*" in keys or path[-1] in keys):
        yield value
