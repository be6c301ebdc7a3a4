"""The plan file as strict pydantic models: the edge where text becomes numbers; nothing above imports this.

Every model forbids keys it does not know. All mistakes of a file are found in one pass. What a key means,
its unit and its believable range stand in `data/keys.csv`. Annotations are no texts here: pydantic would have
to work out each of them.
"""

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from backreef.aquarium import phrases
from backreef.aquarium.fields import Amount, Coins, Day, Measure, Phrase, Water, Weight, display_table, whole
from backreef.aquarium.limits import limit
from backreef.aquarium.plan import Lid, Optimise, StartKind
from backreef.aquarium.series import Reading

Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
Text = Annotated[str, Field(max_length=5000)]
Hour = Annotated[float, Phrase(phrases.read_hour)]
MOST = int(limit("entries"))
Few = Field(max_length=MOST)


class Strict(BaseModel):
    """A table that takes no key it does not know and no text for a number."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, defer_build=True)


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
    display: Annotated[DisplayTable, BeforeValidator(display_table)]
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
    room_humidity: Annotated[float, Measure("tank.room_humidity")] | None = None
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
    calendar: Text | None = None
    first: Annotated[date, Day()] | None = None
    last: Annotated[date, Day()] | None = None
    label: Text | None = None


class HelperTable(Strict):
    """One of `keeper.helpers`."""

    name: Text
    tasks: Annotated[list[Name], Few] = []
    days: Annotated[tuple[int, ...], Phrase(phrases.read_weekdays)] | None = None
    at: Hour | None = None
    until: Hour | None = None
    when_closed: bool = False
    minutes_per_visit: Annotated[float, Measure("keeper.helpers[].minutes_per_visit", bare=True)] | None = (
        None
    )
    first: Annotated[date, Day()] | None = None
    last: Annotated[date, Day()] | None = None


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
    time_zone: Annotated[str, Phrase(phrases.read_time_zone)] | None = None
    closed: Annotated[list[ClosedTable], Few] = []
    helpers: Annotated[list[HelperTable], Few] = []
    refuses: Annotated[list[Name], Few] = []
    wishes: Annotated[list[WishTable], Few] = []
    stops_after: dict[Name, Annotated[float, Measure("keeper.stops_after[]")]] = {}
    money: Annotated[float, Coins("keeper.money")] | None = None
    prices: dict[Name, Annotated[float, Coins("keeper.prices[]")]] = {}


class AnimalTable(Strict):
    """One of `[[animals]]`."""

    id: Name | None = None
    species: Name
    count: Annotated[int, whole("animals[].count")] = 1
    length: Annotated[float, Measure("animals[].length")] | None = None
    arrives_on: Annotated[date, Day()] | None = None
    quarantine: Annotated[float, Measure("animals[].quarantine")] | None = None
    treated: bool = False
    sex: Literal["male", "female", "pair", "harem", "young"] | None = None
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


class FoodTable(Strict):
    """One of `[[foods]]`."""

    id: Name
    name: Text = ""
    like: Name | None = None
    basis: Literal["as fed", "dry"] = "as fed"
    protein: Annotated[float, Measure("foods[].protein", bare=True)] | None = None
    fat: Annotated[float, Measure("foods[].fat", bare=True)] | None = None
    fibre: Annotated[float, Measure("foods[].fibre", bare=True)] | None = None
    ash: Annotated[float, Measure("foods[].ash", bare=True)] | None = None
    moisture: Annotated[float, Measure("foods[].moisture", bare=True)] | None = None
    phosphorus: Annotated[float, Measure("foods[].phosphorus", bare=True)] | None = None
    grain: Annotated[float, Measure("foods[].grain")] | None = None
    pack: Annotated[float, Measure("foods[].pack")] | None = None
    packaging: Literal["tin", "clear_jar", "zip_bag", "foil_bag", "portions"] | None = None


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
    within: Annotated[float, Measure("upkeep[].within")] | None = None


class DeviceTable(Strict):
    """One of `[[devices]]`."""

    id: Name | None = None
    kind: Name
    count: Annotated[int, whole("devices[].count")] = 1
    on_at: Hour | None = None
    hours: Annotated[float, Measure("devices[].hours")] | None = None
    hopper: Annotated[float, Measure("devices[].hopper")] | None = None
    portion: Annotated[float, Measure("devices[].portion")] | None = None
    cells: Annotated[int, whole("devices[].cells")] | None = None
    area: Annotated[float, Measure("devices[].area")] | None = None
    volume: Annotated[float, Measure("devices[].volume")] | None = None
    light_par: Annotated[float, Measure("devices[].light_par")] | None = None
    media: Annotated[float, Measure("devices[].media")] | None = None
    reservoir: Annotated[float, Measure("devices[].reservoir")] | None = None
    dose: Annotated[float, Measure("devices[].dose")] | None = None
    plumbed: bool = False
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
    keep: Annotated[list[Name], Few] = []
    bands: dict[str, BandTable] = {}


class PlanFile(Strict):
    """The whole plan file."""

    start_on: Annotated[date, Day()]
    story: Text = ""
    catalogue: Text = ""
    tank: TankTable
    keeper: KeeperTable = KeeperTable()
    animals: Annotated[list[AnimalTable], Few] = []
    meals: Annotated[list[MealTable], Few] = []
    foods: Annotated[list[FoodTable], Few] = []
    upkeep: Annotated[list[UpkeepTable], Few] = []
    devices: Annotated[list[DeviceTable], Few] = []
    goals: GoalsTable = GoalsTable()
