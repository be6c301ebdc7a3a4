"""The two kinds of trouble: faults, which are mistakes in what somebody wrote, and errors, which are ours.

A *fault* is a value: it is collected with all others and shown with its place, what was found, what is
allowed and what to do. A `BackreefError` is raised; its subclasses stand beside the code that raises them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Fault:
    """One mistake in a file somebody wrote: where it is, and one sentence of what, why and what to do."""

    file: str
    line: int | None
    key: str
    message: str

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{place}: {self.key}: {self.message}" if self.key else f"{place}: {self.message}"


class BackreefError(Exception):
    """Anything that backreef itself raises."""


class InputFaults(BackreefError):
    """What was written has faults; all of them are in `faults`, in the order of their lines."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))
