"""Small faults put into the code, to see whether tests notice: `python -m tests.mutate models --count 40`.

A seeded sample of what can be changed (a comparison, an operation, a number, a condition) is tried one after
the other in a copy of the repository: first with the tests of the room itself, then, if these notice nothing,
with those that stand behind them. What nobody notices is listed at the end.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
COPIED = ("src", "tests", "scripts", "bench", "examples", "docs", "changelog.d", "pyproject.toml", "go.py")
MOST_CPU_S = 240
"""Processor time of one try; what takes longer hangs, and is noticed by that."""
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
    "planning": (("src/backreef/planning/*.py",), (("tests/unit/planning",), ("tests/unit/usecases",))),
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


def _noticed(folder: Path, tests: tuple[str, ...]) -> bool:
    """Whether tests fail, or hang, in the copy."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *tests],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": str(folder / "src"), "XDG_CACHE_HOME": str(folder / "cache")},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_S, MOST_CPU_S)),
    )
    if done.returncode in (4, 5):  # what to ask is not there
        raise SystemExit(done.stdout.decode(errors="replace"))
    return done.returncode != 0


def _notices(folder: Path, stage: tuple[str, ...], fault: Fault, sound: set[tuple[str, ...]]) -> bool:
    """Whether tests notice a fault; before they are first asked they have to pass without any."""
    if stage not in sound and _noticed(folder, stage):
        raise SystemExit(f"{stage} fails before anything is changed")
    sound.add(stage)
    path = folder / fault.path
    text = path.read_bytes()
    path.write_bytes(text[: fault.start] + fault.after.encode() + text[fault.end :])
    try:
        return _noticed(folder, stage)
    finally:
        path.write_bytes(text)


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def main() -> None:
    """Try a sample in one room."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    patterns, stages = ROOMS[wanted.room]
    files = sorted(path for pattern in patterns for path in ROOT.glob(pattern))
    known = [fault for path in files for fault in faults_of(path)]
    chosen = random.Random(wanted.seed).sample(known, min(wanted.count, len(known)))
    missed = []
    with tempfile.TemporaryDirectory(prefix="mutate-") as name:
        folder = Path(name)
        for one in COPIED:
            copy = shutil.copytree if (ROOT / one).is_dir() else shutil.copy
            copy(ROOT / one, folder / one)
        sound: set[tuple[str, ...]] = set()
        for number, fault in enumerate(chosen, start=1):
            by = next((one for one in stages if _notices(folder, one, fault, sound)), None)
            if by is None:
                missed.append(fault)
            _tell(f"{number}/{len(chosen)} {by[0] if by else 'MISSED'}: {fault}")
    killed = len(chosen) - len(missed)
    _tell(f"{wanted.room}: {len(known)} places, {len(chosen)} tried, {killed} noticed")
    for fault in missed:
        _tell(f"  missed {fault}")


if __name__ == "__main__":
    main()
