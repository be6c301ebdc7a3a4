"""The plan file as strict pydantic models: the edge where text becomes numbers; nothing above imports this.

Every model forbids keys it does not know. Quantities and phrases are read by the field types below, so that
all mistakes of a file are found in one pass. What a key means, its unit and its believable range stand in
`data/keys.csv`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from backreef.aquarium import phrases
from backreef.aquarium.limits import Key, all_keys, limit
from backreef.aquarium.plan import Lid, Optimise, StartKind
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
            percent = isinstance(found, int | float) and self.key.token == "frac" and 1 < value <= 100  # noqa: PLR2004
            hint = f'; did you mean "{found} %"?' if percent else ""
            raise UnitError(f"{shown(found)} is not believable here; it lies between {self._range()}{hint}")
        return value

    def _range(self) -> str:
        unit = {"c": "degC", "umol_m2_s": "umol/m2/s", "frac": "(100 % is 1)", "per_h": "/h"}.get(
            self.key.token, self.key.token.replace("_per_", "/").replace("frac", "")
        )
        return f"{self.key.lowest:g} and {self.key.highest:g} {unit}"


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


def _whole(key: str) -> Any:  # noqa: ANN401  pydantic's own type of a field
    row = all_keys()[key]
    return Field(ge=int(row.lowest or 0), le=int(row.highest or 0))


def _display(found: object) -> object:
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


Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
Text = Annotated[str, Field(max_length=5000)]
Hour = Annotated[float, Phrase(phrases.read_hour)]
MOST = int(limit("entries"))
Few = Field(max_length=MOST)


class Strict(BaseModel):
    """A table that takes no key it does not know and no text for a number."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class DisplayTable(Strict):
    """`[tank.display]`."""

    volume: Annotated[float, Measure("tank.display.volume")] | None = None
    length: Annotated[float, Measure("tank.display.length")] | None = None
    width: Annotated[float, Measure("tank.display.width")] | None = None
    height: Annotated[float, Measure("tank.display.height")] | None = None


class StartTable(Strict):
    """`[tank.start]`."""

    kind: StartKind | None = None
    age: Annotated[float, Measure("tank.start.age")] | None = None
    nitrate: Annotated[Reading, Water("nitrate")] | None = None
    nitrite: Annotated[Reading, Water("nitrite")] | None = None
    ammonia: Annotated[Reading, Water("ammonia")] | None = None
    phosphate: Annotated[Reading, Water("phosphate")] | None = None
    alkalinity: Annotated[Reading, Water("alkalinity")] | None = None
    calcium: Annotated[Reading, Water("calcium")] | None = None
    magnesium: Annotated[Reading, Water("magnesium")] | None = None
    oxygen: Annotated[Reading, Water("oxygen")] | None = None
    ph: Annotated[Reading, Water("ph")] | None = None


class TankTable(Strict):
    """`[tank]`."""

    name: Text | None = None
    display: Annotated[DisplayTable, BeforeValidator(_display)]
    water_volume: Annotated[float, Measure("tank.water_volume")] | None = None
    sump: Annotated[float, Measure("tank.sump")] | None = None
    refugium: Annotated[float, Measure("tank.refugium")] | None = None
    rock: Annotated[float, Measure("tank.rock")] | None = None
    sand_area: Annotated[float, Measure("tank.sand_area")] | None = None
    sand_depth: Annotated[float, Measure("tank.sand_depth")] | None = None
    glass_area: Annotated[float, Measure("tank.glass_area")] | None = None
    viewing_glass: Annotated[float, Measure("tank.viewing_glass")] | None = None
    surface_area: Annotated[float, Measure("tank.surface_area")] | None = None
    lid: Lid | None = None
    light_par: Annotated[float, Measure("tank.light_par")] | None = None
    light_hours: Annotated[float, Measure("tank.light_hours")] | None = None
    light_on_at: Hour | None = None
    light_ramp: Annotated[float, Measure("tank.light_ramp")] | None = None
    temperature: Annotated[float, Measure("tank.temperature")] | None = None
    salinity: Annotated[float, Measure("tank.salinity")] | None = None
    room_temperature: Annotated[float, Measure("tank.room_temperature")] | None = None
    room_temperature_swing: Annotated[float, Measure("tank.room_temperature_swing")] | None = None
    turnover: Annotated[float, Measure("tank.turnover")] | None = None
    evaporation: Annotated[float, Measure("tank.evaporation")] | None = None
    corals: Literal["none", "soft", "lps", "sps", "mixed"] | None = None
    coral_cover: Annotated[float, Measure("tank.coral_cover", bare=True)] | None = None
    start: StartTable = StartTable()


class ClosedTable(Strict):
    """One rule of `keeper.closed`."""

    country: Text | None = None
    region: Text | None = None
    weekday: Annotated[int, Phrase(phrases.read_weekday)] | None = None
    every_year: Annotated[phrases.MonthDays, Phrase(phrases.read_month_days)] | None = None
    first: Annotated[date, Day()] | None = None
    last: Annotated[date, Day()] | None = None
    label: Text | None = None


class HelperTable(Strict):
    """One of `keeper.helpers`."""

    name: Text
    tasks: Annotated[list[Name], Few] = []
    days: Annotated[tuple[int, ...], Phrase(phrases.read_weekdays)] | None = None
    when_closed: bool = False
    minutes_per_visit: Annotated[float, Measure("keeper.helpers[].minutes_per_visit", bare=True)] | None = (
        None
    )


class WishTable(Strict):
    """One of `keeper.wishes`."""

    text: Text
    weight: Annotated[float, Weight()] = 1.0
    species: Annotated[list[Name], Few] = []


class KeeperTable(Strict):
    """`[keeper]`."""

    name: Text | None = None
    minutes_per_month: Annotated[float, Measure("keeper.minutes_per_month", bare=True)] | None = None
    presence: Annotated[list[Annotated[Any, Phrase(phrases.read_presence)]], Few] | None = None
    closed: Annotated[list[ClosedTable], Few] = []
    helpers: Annotated[list[HelperTable], Few] = []
    refuses: Annotated[list[Name], Few] = []
    wishes: Annotated[list[WishTable], Few] = []
    stops_after: dict[Name, Annotated[float, Measure("keeper.stops_after[]")]] = {}


class AnimalTable(Strict):
    """One of `[[animals]]`."""

    id: Name | None = None
    species: Name
    count: Annotated[int, _whole("animals[].count")] = 1
    length: Annotated[float, Measure("animals[].length")] | None = None
    arrives_on: Annotated[date, Day()] | None = None
    gate: Annotated[str, Phrase(lambda text: (phrases.read_gate(text), text)[1])] | None = None
    why: Text = ""


class MealTable(Strict):
    """One of `[[meals]]`."""

    id: Name | None = None
    food: Name
    amount: Annotated[float, Measure("meals[].amount")] | None = None
    enough_for: Literal["maintenance", "growth"] | None = None
    who: Annotated[list[Name], Few] = []
    by: Name = "hand"
    times: Annotated[list[Hour], Few] | None = None
    days: Annotated[phrases.MealDays, Phrase(phrases.read_meal_days)] | None = None
    pump_pause: Annotated[float, Measure("meals[].pump_pause")] | None = None


class UpkeepTable(Strict):
    """One of `[[upkeep]]`."""

    id: Name | None = None
    task: Name
    share: Annotated[float, Measure("upkeep[].share", bare=True)] | None = None
    amount: Annotated[tuple[str, float], Amount()] | None = None
    every: Annotated[Any, Phrase(phrases.read_rhythm)] | None = None
    by: Name = "hand"
    when: Annotated[Any, Phrase(phrases.read_condition)] | None = None
    minutes: Annotated[float, Measure("upkeep[].minutes", bare=True)] | None = None
    at: Hour | None = None


class DeviceTable(Strict):
    """One of `[[devices]]`."""

    id: Name | None = None
    kind: Name
    count: Annotated[int, _whole("devices[].count")] = 1
    on_at: Hour | None = None
    hours: Annotated[float, Measure("devices[].hours")] | None = None
    hopper: Annotated[float, Measure("devices[].hopper")] | None = None
    portion: Annotated[float, Measure("devices[].portion")] | None = None
    cells: Annotated[int, _whole("devices[].cells")] | None = None
    area: Annotated[float, Measure("devices[].area")] | None = None
    volume: Annotated[float, Measure("devices[].volume")] | None = None
    light_par: Annotated[float, Measure("devices[].light_par")] | None = None
    media: Annotated[float, Measure("devices[].media")] | None = None
    reservoir: Annotated[float, Measure("devices[].reservoir")] | None = None
    flow: Annotated[float, Measure("devices[].flow")] | None = None
    power: Annotated[float, Measure("devices[].power")] | None = None
    battery: Annotated[float, Measure("devices[].battery")] | None = None
    share_per_day: Annotated[float, Measure("devices[].share_per_day")] | None = None
    alkalinity_per_day: Annotated[float, Measure("devices[].alkalinity_per_day")] | None = None
    carbon_per_day: Annotated[float, Measure("devices[].carbon_per_day")] | None = None


class BandTable(Strict):
    """One of `[goals.bands]`; which unit is right depends on the series, so the texts are read beside it."""

    act_low: str | float | None = None
    act_high: str | float | None = None
    harm_low: str | float | None = None
    harm_high: str | float | None = None


class GoalsTable(Strict):
    """`[goals]`."""

    horizon: Annotated[float, Measure("goals.horizon")] | None = None
    optimise: Optimise | None = None
    bands: dict[str, BandTable] = {}


class PlanFile(Strict):
    """The whole plan file."""

    start_on: Annotated[date, Day()]
    story: Text = ""
    tank: TankTable
    keeper: KeeperTable = KeeperTable()
    animals: Annotated[list[AnimalTable], Few] = []
    meals: Annotated[list[MealTable], Few] = []
    upkeep: Annotated[list[UpkeepTable], Few] = []
    devices: Annotated[list[DeviceTable], Few] = []
    goals: GoalsTable = GoalsTable()
