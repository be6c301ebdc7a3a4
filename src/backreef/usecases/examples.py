"""The plans that ship with the program."""

from __future__ import annotations

from pathlib import Path

from backreef.errors import BackreefError

DEMO = "reading_room"
_PACKAGE = Path(__file__).resolve().parents[1]
_PLACES = (_PACKAGE / "examples", _PACKAGE.parents[1] / "examples")
"""Where an installed program has them, and where a checkout has them."""


class ExampleMissing(BackreefError):
    """An example plan is not where it was installed."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"The example plan '{name}' is not there; looked in {' and '.join(map(str, _PLACES))}. "
            "The installation is not complete: install backreef again."
        )


def example_plan(name: str = DEMO) -> Path:
    """The file of an example plan.

    Raises
    ------
    ExampleMissing
        If it is not where it should have been installed.
    """
    for folder in _PLACES:
        path = folder / f"{name}.toml"
        if path.is_file():
            return path
    raise ExampleMissing(name)
