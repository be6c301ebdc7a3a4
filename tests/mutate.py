"""Small faults put into the code, to see whether tests notice: `python -m tests.mutate models --count 40`.

A seeded sample of what can be changed (a comparison, an operation, a number, a condition) is tried one after
the other in a copy of the repository. Each lot of tests is run once as the code is, and what each reaches is
kept; a fault is shown to the tests that reach its line, the quickest first, lot by lot, and then to the whole
first lot, as what is computed once for many tests is reached by one of them only. What nobody notices is
listed at the end.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import json
import os
import random
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import coverage
import pytest

ROOT = Path(__file__).resolve().parents[1]
COPIED = ("src", "tests", "scripts", "bench", "examples", "docs", "changelog.d", "pyproject.toml", "go.py")
LEAST_CPU_S, MOST_RATIO = 15, 5
"""Processor time that tests may take at least, and over what they take as the code is; what takes longer
hangs, and is noticed by that."""
LOADED = ("numpy", "highspy", "pydantic", "PIL.Image", "llvmlite.binding", "click", "icalendar", "holidays")
"""Libraries that are read once, before a process is split off for each try."""
ROOMS = {
    "units": (
        ("src/backreef/units.py",),
        (("tests/unit/test_units.py",), ("tests/unit/aquarium", "tests/unit/catalogue")),
    ),
    "models": (
        ("src/backreef/models/*.py",),
        (
            ("tests/unit/models",),
            ("tests/reference",),
            ("tests/unit/simulation", "tests/property/test_engine.py"),
        ),
    ),
    "planning": (("src/backreef/planning/*.py",), (("tests/unit/planning",),)),
}
"""Room -> its files, and its tests in the order in which they are asked."""
SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
CALLED = {"min": "max", "max": "min", "any": "all", "all": "any"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A change of a file at one place."""

    path: str
    line: int
    start: int
    end: int
    """Where it begins and ends in the file's bytes."""
    before: str
    after: str

    @property
    def lines(self) -> range:
        """The lines on which it stands."""
        return range(self.line, self.line + self.before.count("\n") + 1)

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.before}  ->  {self.after}"


def faults_of(path: Path) -> list[Fault]:
    """Every change that can be made in a file."""
    text = path.read_bytes()
    starts = [0]
    for line in text.split(b"\n"):
        starts.append(starts[-1] + len(line) + 1)
    found = []
    for node in _reached(ast.parse(text)):
        for after in _changed(node):
            assert isinstance(node, ast.expr)
            assert node.end_lineno is not None
            assert node.end_col_offset is not None
            first = starts[node.lineno - 1] + node.col_offset
            last = starts[node.end_lineno - 1] + node.end_col_offset
            before = text[first:last].decode()
            name = str(path.relative_to(ROOT))
            found.append(
                Fault(path=name, line=node.lineno, start=first, end=last, before=before, after=f"({after})")
            )
    return found


def _reached(node: ast.AST) -> Iterator[ast.AST]:
    """Every expression that does something: no annotations, decorators, texts, or what only checkers read."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for one in value if isinstance(value, list) else [value]:
            if not isinstance(one, ast.AST) or isinstance(one, ast.JoinedStr | ast.Assert):
                continue
            if isinstance(one, ast.If) and ast.unparse(one.test) == "TYPE_CHECKING":
                continue
            yield one
            yield from _reached(one)


def _changed(node: ast.AST) -> Iterator[str]:  # noqa: C901  one case for each kind of expression
    """What an expression may become."""
    match node:
        case ast.Compare(left=left, ops=[op], comparators=[right]) if type(op) in SWAPPED:
            yield ast.unparse(ast.Compare(left, [SWAPPED[type(op)]()], [right]))  # type: ignore[list-item]
        case ast.BinOp(left=left, op=op, right=right) if type(op) in SWAPPED:
            if not any(isinstance(one, ast.Constant) and isinstance(one.value, str) for one in (left, right)):
                yield ast.unparse(ast.BinOp(left, SWAPPED[type(op)](), right))  # type: ignore[arg-type]
        case ast.BoolOp(op=op, values=values):
            yield ast.unparse(ast.BoolOp(SWAPPED[type(op)](), values))  # type: ignore[arg-type]
        case ast.UnaryOp(op=ast.Not() | ast.USub(), operand=operand):
            yield ast.unparse(operand)
        case ast.Constant(value=bool() as value):
            yield str(not value)
        case ast.Constant(value=int() as value):
            yield str(value + 1)
        case ast.Constant(value=float() as value):
            yield repr(value * 1.5 if value else 1.0)
        case ast.Call(func=ast.Name(id=name)) if name in CALLED:
            yield CALLED[name] + ast.unparse(node)[len(name) :]
        case ast.IfExp(test=test, body=body, orelse=orelse):
            yield ast.unparse(ast.IfExp(test, orelse, body))


@dataclass(slots=True, kw_only=True)
class Reached:
    """What a lot of tests reaches while the code is as it is."""

    seconds: dict[str, float] = field(default_factory=dict)
    """How long each test takes."""
    tests: dict[str, list[str]] = field(default_factory=dict)
    """`file:line` -> the tests that reach it."""
    at_once: set[str] = field(default_factory=set)
    """Lines that are run when a file is read: every test rests on them."""

    def told_of(self, fault: Fault) -> list[str]:
        """Tests that reach a fault, the quickest first."""
        places = [f"{fault.path}:{line}" for line in fault.lines]
        if any(place in self.at_once for place in places):
            return list(self.seconds)
        reaching = {test for place in places for test in self.tests.get(place, ())}
        return sorted(reaching, key=lambda test: (self.seconds[test], test))


class _Recorder:
    """Notes while tests run what each reaches and how long it takes."""

    def __init__(self, folder: Path, files: list[str]) -> None:
        self.folder, self.files = folder, files
        self.reached = Reached()
        self.covered = coverage.Coverage(
            data_file=None, branch=False, include=[str(folder / one) for one in files], config_file=False
        )
        self.covered.start()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        self.covered.switch_context(item.nodeid)
        began = time.perf_counter()
        done = yield
        self.reached.seconds[item.nodeid] = time.perf_counter() - began
        self.covered.switch_context("")
        return done

    def write(self, path: Path) -> None:
        """Keep it for the process that asked."""
        self.covered.stop()
        data = self.covered.get_data()
        for name in self.files:
            for line, by in data.contexts_by_lineno(str(self.folder / name)).items():
                place = f"{name}:{line}"
                self.reached.tests[place] = [one for one in by if one]
                if "" in by:
                    self.reached.at_once.add(place)
        kept = {"seconds": self.reached.seconds, "tests": self.reached.tests}
        path.write_text(json.dumps(kept | {"at_once": sorted(self.reached.at_once)}), encoding="utf-8")


@dataclass(slots=True, kw_only=True)
class Copy:
    """A copy of the repository in which faults are tried."""

    folder: Path
    files: list[str]
    known: dict[tuple[str, ...], Reached] = field(default_factory=dict)

    def reached(self, lot: tuple[str, ...]) -> Reached:
        """What a lot of tests reaches; they have to pass as the code is."""
        if lot not in self.known:
            kept = self.folder / "reached.json"
            if self._fails(list(lot), record=kept):
                told = (self.folder / "said").read_text(encoding="utf-8", errors="replace")
                raise SystemExit(f"{told}\n{lot} fails before anything is changed")
            read = json.loads(kept.read_text(encoding="utf-8"))
            self.known[lot] = Reached(
                seconds=read["seconds"], tests=read["tests"], at_once=set(read["at_once"])
            )
        return self.known[lot]

    def notices(self, lot: tuple[str, ...], tests: list[str], fault: Fault) -> bool:
        """Whether tests of a lot fail, or hang, where a fault is put in."""
        usual_s = sum(self.reached(lot).seconds[test] for test in tests)
        path = self.folder / fault.path
        text, times = path.read_bytes(), path.stat()
        path.write_bytes(text[: fault.start] + fault.after.encode() + text[fault.end :])
        os.utime(path, (0, 0))  # what Python compiled of this file before does not count
        try:
            return self._fails(tests, limit_s=LEAST_CPU_S + round(MOST_RATIO * usual_s))
        finally:
            path.write_bytes(text)
            os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))

    def _fails(self, tests: list[str], *, record: Path | None = None, limit_s: int | None = None) -> bool:
        """Run tests in a process that is split off from this one, which has read the libraries."""
        child = os.fork()
        if not child:
            if limit_s is not None:
                resource.setrlimit(resource.RLIMIT_CPU, (limit_s, limit_s))
            self._run(tests, record)
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 0

    def _run(self, tests: list[str], record: Path | None) -> None:
        """Never comes back."""
        said = os.open(self.folder / "said", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(said, 1)
        os.dup2(said, 2)
        os.chdir(self.folder)
        os.environ["XDG_CACHE_HOME"] = str(self.folder / "cache")
        os.environ["PYTHONPATH"] = str(self.folder / "src")
        sys.path[:0] = [str(self.folder / "src"), str(self.folder)]
        sys.modules.pop("tests", None)
        sys.dont_write_bytecode = record is None
        recorder = _Recorder(self.folder, self.files) if record else None
        options = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", f"--rootdir={self.folder}"]
        code = 1
        try:
            code = int(pytest.main([*options, *tests], plugins=[recorder] if recorder else None))
            if recorder and record:
                recorder.write(record)
            sys.stdout.flush()
        finally:
            os._exit(code)


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> None:
    """Try a sample in one room."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="Files of the room whose path holds this.")
    wanted = parser.parse_args()
    patterns, lots = ROOMS[wanted.room]
    files = sorted(path for one in patterns for path in ROOT.glob(one) if wanted.only in path.name)
    known = [fault for path in files for fault in faults_of(path)]
    chosen = random.Random(wanted.seed).sample(known, min(wanted.count, len(known)))
    missed = []
    for name in LOADED:
        importlib.import_module(name)
    with tempfile.TemporaryDirectory(prefix="mutate-") as name:
        folder = Path(name).resolve()
        for one in COPIED:
            copy = shutil.copytree if (ROOT / one).is_dir() else shutil.copy
            copy(ROOT / one, folder / one)
        tried = Copy(folder=folder, files=[str(path.relative_to(ROOT)) for path in files])
        for number, fault in enumerate(chosen, start=1):
            by = _noticed(tried, lots, fault)
            if not by:
                missed.append(fault)
            _tell(f"{number}/{len(chosen)} {by or 'MISSED'}: {fault}")
    killed = len(chosen) - len(missed)
    _tell(f"{wanted.room}: {len(known)} places, {len(chosen)} tried, {killed} noticed")
    for fault in missed:
        _tell(f"  missed {fault}")


def _noticed(tried: Copy, lots: tuple[tuple[str, ...], ...], fault: Fault) -> str:
    """Which lot of tests noticed a fault, or none."""
    for lot in lots:
        reaching = tried.reached(lot).told_of(fault)
        if reaching and tried.notices(lot, reaching, fault):
            return lot[0]
    first = lots[0]
    known = tried.reached(first)
    others = sorted(known.seconds.keys() - set(known.told_of(fault)))
    return first[0] if others and tried.notices(first, others, fault) else ""


if __name__ == "__main__":
    main()
