"""How the fields of a plan file are read: quantities, readings, phrases, dates and amounts.

Each field type is put beside a type in `schema`; it reads what was found, or refuses it with a message that
says what was found, what is allowed and what to do.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from backreef.aquarium.limits import PERCENT, Key, all_keys, range_text
from backreef.aquarium.series import Reading, read_series
from backreef.errors import BackreefError
from backreef.units import UnitError, parse_quantity

JsonSchema = dict[str, Any]


class FieldType:
    """A field whose text is read by a function of ours; refusals become faults with our own words."""

    json_schema: JsonSchema = {"type": "string"}  # noqa: RUF012  replaced, never changed

    def read(self, found: object) -> object:
        """The value of what was found, or a `BackreefError` that says why not."""
        raise NotImplementedError

    def _read(self, found: object) -> object:
        try:
            return self.read(found)
        except BackreefError as refusal:
            raise said(str(refusal)) from None

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchema:
        return dict(self.json_schema)


def said(message: str) -> PydanticCustomError:
    """A refusal whose message is complete."""
    return PydanticCustomError("said", "{message}", {"message": message})


def shown(found: object) -> str:
    """What was found, short enough for a message."""
    text = f"'{found}'" if isinstance(found, str) else str(found)
    return text if len(text) <= 60 else f"{text[:57]}..."  # noqa: PLR2004  a line of a terminal


class Measure(FieldType):
    """A quantity with its unit, as the key's row in the table describes it."""

    def __init__(self, key: str, *, bare: bool = False) -> None:
        self.key: Key = all_keys()[key]
        self.bare = bare
        self.json_schema = {"type": ["string", "number"] if bare else "string"}

    def read(self, found: object) -> float:
        """The number in the key's unit."""
        if self.bare and _is_number(found):
            value = float(found)  # type: ignore[arg-type]
        elif isinstance(found, str):
            value = parse_quantity(found, dimension=self.key.dimension, token=self.key.token)
        else:
            raise UnitError(
                f"{shown(found)} is no quantity in quotes; write a number and its unit, as {self.key.example}"
            )
        low, high = self.key.lowest, self.key.highest
        if (
            not math.isfinite(value)
            or (low is not None and value < low)
            or (high is not None and value > high)
        ):
            percent = isinstance(found, int | float) and self.key.token == "frac" and 1 < value <= PERCENT
            hint = f'; did you mean "{found} %"?' if percent else ""
            raise UnitError(
                f"{shown(found)} is not believable here; it lies between {range_text(self.key)}{hint}"
            )
        return value


def _is_number(found: object) -> bool:
    return isinstance(found, int | float) and not isinstance(found, bool)


class Water(FieldType):
    """A reading of a water quantity."""

    def __init__(self, word: str) -> None:
        self.word = word
        self.json_schema = {"type": ["string", "number"] if word == "ph" else "string"}

    def read(self, found: object) -> Reading:
        """The reading in the unit of its series."""
        if isinstance(found, str) or (self.word == "ph" and _is_number(found)):
            return read_series(self.word, str(found))
        example = all_keys()[f"tank.start.{self.word}"].example
        raise UnitError(f"{shown(found)} is no reading; write a number and its unit in quotes, as {example}")


class Phrase(FieldType):
    """A phrase read by one of `phrases`."""

    def __init__(self, reader: Callable[[str], object]) -> None:
        self.reader = reader

    def read(self, found: object) -> object:
        """What the phrase means."""
        if not isinstance(found, str):
            raise UnitError(f"{shown(found)} must be a phrase in quotes")
        return self.reader(found)


class Day(FieldType):
    """A date of TOML."""

    json_schema: JsonSchema = {"type": "string", "format": "date"}  # noqa: RUF012

    def read(self, found: object) -> date:
        """The date itself, if it is one."""
        if isinstance(found, date) and not isinstance(found, datetime):
            return found
        quoted = isinstance(found, str) and len(found) == len("2027-01-04")
        hint = "; leave the quotes away" if quoted else ""
        raise UnitError(
            f"{shown(found)} is no date; write year-month-day without quotes, as 2027-01-04{hint}"
        )


class Amount(FieldType):
    """A mass or a volume, whichever the unit says."""

    def read(self, found: object) -> tuple[str, float]:
        """'g' or 'l', and the number."""
        refusals: list[str] = []
        for name in ("mass", "volume"):
            try:
                measure = Measure(f"upkeep[].amount.{name}")
                return measure.key.token, measure.read(found)
            except UnitError as refusal:
                refusals.append(str(refusal))
        other = [refusal for refusal in refusals if "is no unit of" not in refusal]
        raise UnitError(
            other[0] if other else f"{shown(found)} is no amount; write grams or litres, as '40 g' or '30 L'"
        )


class Coins(FieldType):
    """A sum of money: a plain number in whatever coin the keeper counts in."""

    json_schema: JsonSchema = {"type": "number"}  # noqa: RUF012

    def __init__(self, key: str) -> None:
        self.key: Key = all_keys()[key]

    def read(self, found: object) -> float:
        """The number, if it is one within the table's bounds."""
        low, high = self.key.lowest or 0.0, self.key.highest or 0.0
        if _is_number(found) and low <= found <= high:  # type: ignore[operator]
            return float(found)  # type: ignore[arg-type]
        raise UnitError(
            f"{shown(found)} is no sum of money; write a plain number from {low:g} to {high:g}, and no coin"
        )


class Weight(FieldType):
    """How much a wish counts beside others."""

    json_schema: JsonSchema = {"type": "number"}  # noqa: RUF012

    def read(self, found: object) -> float:
        """The number, if it is one within the table's bounds."""
        key = all_keys()["keeper.wishes[].weight"]
        if _is_number(found) and (key.lowest or 0) <= found <= (key.highest or 0):  # type: ignore[operator]
            return float(found)  # type: ignore[arg-type]
        raise UnitError(
            f"{shown(found)} is no weight; write a plain number from {key.lowest:g} to {key.highest:g}"
        )


def whole(key: str) -> Any:  # noqa: ANN401  pydantic's own type of a field
    """The bounds of a whole number, as the key's row has them."""
    row = all_keys()[key]
    return Field(ge=int(row.lowest or 0), le=int(row.highest or 0))


def display_table(found: object) -> object:
    """A volume or three sides in one text, as the table they stand for."""
    if not isinstance(found, str):
        return found
    sides = found.lower().replace("×", "x").split("x")
    if len(sides) != len(("length", "width", "height")):
        return {"volume": found}
    number, _, unit = sides[2].strip().partition(" ")
    texts = (sides[0].strip(), sides[1].strip(), number)
    return {
        name: text if text[-1:].isalpha() else f"{text} {unit}"
        for name, text in zip(("length", "width", "height"), texts, strict=True)
    }
