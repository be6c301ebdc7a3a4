"""Files that a command is to write: looked at before the work begins, written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

import click

STANDARD_OUTPUT = "-"


class CannotWrite(click.ClickException):
    """A file that was asked for cannot be written."""

    exit_code = 2

    def __init__(self, path: Path, why: str) -> None:
        super().__init__(f"{path}: {why}")


def check_target(path: Path, *, sources: Iterable[Path] = ()) -> None:
    """Refuse a file that cannot be written, before any time is spent.

    Raises
    ------
    CannotWrite
        If it is a directory, in a folder that is not there or closed, or one of the files that are read.
    """
    try:
        _check(path, sources)
    except (OSError, ValueError) as trouble:
        why = getattr(trouble, "strerror", None) or str(trouble)
        raise CannotWrite(path, f"cannot be written ({why}); name another file") from trouble


def _check(path: Path, sources: Iterable[Path]) -> None:
    if str(path).startswith("-"):
        raise CannotWrite(path, f"looks like an option; a file of that name is written ./{path}")
    if path.is_dir():
        raise CannotWrite(path, "is a directory; name a file in it")
    if not path.parent.is_dir():
        raise CannotWrite(path, f"cannot be written: the folder {path.parent} is not there; make it first")
    for source in sources:
        if path.exists() and source.exists() and path.samefile(source):
            raise CannotWrite(path, "is the plan itself and would be lost; name another file")
    writable = path if path.exists() else path.parent
    if not os.access(writable, os.W_OK):
        raise CannotWrite(path, "may not be written by this user; name another file")


def write_target(path: Path, content: str | bytes) -> None:
    """Write a file as a whole: until all of it is on the disk, the old one stays.

    Raises
    ------
    CannotWrite
        If it cannot be written, as on a full disk.
    """
    data = content if isinstance(content, bytes) else content.encode("utf-8", errors="backslashreplace")
    try:
        if path.exists() and not path.is_file():
            path.write_bytes(data)
        else:
            _replace(path.resolve(), data)
    except (OSError, ValueError) as trouble:
        why = getattr(trouble, "strerror", None) or str(trouble)
        raise CannotWrite(path, f"cannot be written ({why})") from trouble


def _replace(path: Path, data: bytes) -> None:
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}-", suffix=".part")
    except PermissionError:
        path.write_bytes(data)  # the file is open, its folder is not
        return
    unfinished = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        unfinished.chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
        unfinished.replace(path)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise


def _umask() -> int:
    """What this process keeps from others in the files it makes; reading it means setting it for a moment."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
