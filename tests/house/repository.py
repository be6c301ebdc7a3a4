"""The repository as the house tests see it: its files, its modules, and a way to run its tools."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "backreef"


@cache
def files() -> tuple[str, ...]:
    """Every file that is or would be committed, as paths from the root."""
    listing = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
        text=True,
    ).stdout
    return tuple(sorted(name for name in listing.split("\0") if name and (ROOT / name).is_file()))


def python_files(*folders: str) -> list[Path]:
    """Every Python file below the folders."""
    return [ROOT / name for name in files() if name.endswith(".py") and name.startswith(folders)]


@cache
def syntax(path: Path) -> ast.Module:
    """The parsed file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def functions(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Every function and method of the file, nested ones too."""
    for node in ast.walk(syntax(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


@cache
def pyproject() -> dict[str, Any]:
    """The project file."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def place(path: Path, line: int) -> str:
    """Where something stands, as editors jump to it."""
    return f"{path.relative_to(ROOT).as_posix()}:{line}"


def complaints_of(module: str, *arguments: str) -> str:
    """What a Python tool complains about; empty when it is content."""
    done = subprocess.run(
        [sys.executable, "-m", module, *arguments], cwd=ROOT, capture_output=True, check=False, text=True
    )
    return done.stdout + done.stderr if done.returncode else ""
