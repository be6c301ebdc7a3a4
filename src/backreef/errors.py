"""The two kinds of trouble: faults, which are mistakes in what somebody wrote, and errors, which are ours.

A *fault* is a value: it is collected with all others and shown with its place, what was found, what is
allowed and what to do. A `BackreefError` is raised; its subclasses stand beside the code that raises them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

_LONG = re.compile(r"(?:(?<=[\s(:])|^)'(?=\S)[^']{200,}'|\S{240,}|[ \t]{40,}")
"""What a message quotes at such a length helps nobody: a quoted text, a word, a gap."""
_KEPT_LETTERS = 60
_MOST_LETTERS = 1400


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Fault:
    """One mistake in a file somebody wrote: where it is, and one sentence of what, why and what to do."""

    file: str
    line: int | None
    key: str
    message: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "message", shortened(self.message))
        object.__setattr__(self, "key", shortened(self.key))

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{place}: {self.key}: {self.message}" if self.key else f"{place}: {self.message}"


def shortened(message: str) -> str:
    """The message with what it quotes cut short, where somebody wrote pages of it."""
    if len(message) <= _KEPT_LETTERS:
        return message
    cut = _LONG.sub(lambda found: f"{found[0][:_KEPT_LETTERS].rstrip()}...", message)
    return cut if len(cut) <= _MOST_LETTERS else f"{cut[:_MOST_LETTERS].rstrip()}..."


class BackreefError(Exception):
    """Anything that backreef itself raises."""

    def __str__(self) -> str:
        return shortened(super().__str__())


class InputFaults(BackreefError):
    """What was written has faults; all of them are in `faults`, in the order of their lines."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(dict.fromkeys(faults))
        super().__init__("\n".join(str(fault) for fault in self.faults))

    def __str__(self) -> str:
        return "\n".join(str(fault) for fault in self.faults)
