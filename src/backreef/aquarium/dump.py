"""Writes a plan as the text of a plan file, so that loading it gives the same plan again.

What was assumed is left out, so that the file stays as short as it was and the same defaults are taken when
it is read; who changes an assumed value must drop its entry from `Plan.assumptions`. Numbers are written in
canonical units and exactly. Comments of the first file are not kept; a bare `mg/L` comes back with its
basis, and without the note that it had none.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from backreef.aquarium.build import PLUMBED, device_number_names
from backreef.aquarium.limits import InKeyUnit, all_keys
from backreef.aquarium.phrases import (
    SHORT_WEEKDAYS,
    MonthDays,
    write_hour,
    write_meal_days,
    write_month_days,
    write_weekdays,
)
from backreef.aquarium.plan import (
    AnimalEntry,
    BandGoal,
    ClosedRule,
    DeviceEntry,
    Goals,
    Helper,
    Keeper,
    Meal,
    Plan,
    PresenceWindow,
    Tank,
    Upkeep,
    Wish,
)
from backreef.aquarium.series import series_of, write_series
from backreef.aquarium.toml_text import Line, block, inline, lines_text, list_text, paragraph, quoted, texts
from backreef.catalogue.labels import Label
from backreef.units import write_quantity


def dump_plan(plan: Plan) -> str:
    """The text of a plan file that says what the plan says."""
    return "".join(_blocks(_Writer(plan)))


def _blocks(writer: _Writer) -> Iterator[str]:
    plan = writer.plan
    yield lines_text(
        [
            ("start_on", plan.start_on.isoformat()),
            *writer.text("story", plan.story),
            *writer.text("catalogue", plan.catalogue),
        ]
    )
    yield block("[tank]", writer.tank(plan.tank))
    yield block("[tank.start]", writer.start(plan.tank))
    yield block("[keeper]", writer.keeper(plan.keeper))
    for number, animal in enumerate(plan.animals):
        yield block("[[animals]]", writer.animal(animal, number))
    for number, meal in enumerate(plan.meals):
        yield block("[[meals]]", writer.meal(meal, number))
    for food in plan.foods:
        yield block("[[foods]]", writer.food(food))
    for number, upkeep in enumerate(plan.upkeep):
        yield block("[[upkeep]]", writer.upkeep(upkeep, number))
    for device in plan.devices:
        yield block("[[devices]]", writer.device(device))
    yield block("[goals]", writer.goals(plan.goals))
    for series, band in plan.goals.bands.items():
        yield block(f"[goals.bands.{series_of(series).word}]", _band(series, band), even_if_empty=True)


class _Writer:
    """Lines of each part of a plan, without those that were assumed."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.assumed = {taken.key for taken in plan.assumptions}

    def text(self, key: str, text: str, *, path: str | None = None) -> Iterator[Line]:
        """A text, if there is one and it was not assumed."""
        if text and (path or key) not in self.assumed:
            yield key, paragraph(text) if "\n" in text else quoted(text)

    def measure(self, path: str, value: InKeyUnit | None, *, key: str | None = None) -> Iterator[Line]:
        """A quantity with its canonical unit; `key` is the row of the table where the path has a number."""
        if value is None or path in self.assumed:
            return
        row = all_keys()[key or path]
        yield (
            path.rpartition(".")[2],
            quoted(write_quantity(value, dimension=row.dimension, token=row.token)),
        )

    def hour(self, path: str, hour: float | None) -> Iterator[Line]:
        """A time of day."""
        if hour is not None and path not in self.assumed:
            yield path.rpartition(".")[2], quoted(write_hour(hour))

    def tank(self, tank: Tank) -> Iterator[Line]:
        """`[tank]`."""
        yield from self.text("name", tank.name, path="tank.name")
        yield "display", self.display(tank)
        numbers = {
            "water_volume": tank.water_volume_l,
            "sump": tank.sump_l,
            "refugium": tank.refugium_l,
            "rock": tank.rock_kg,
            "sand_area": tank.sand_area_m2,
            "sand_depth": tank.sand_depth_cm,
            "glass_area": tank.glass_area_m2,
            "viewing_glass": tank.viewing_glass_area_m2,
            "surface_area": tank.surface_area_m2,
            "light_par": tank.light_par_umol_m2_s,
            "light_hours": tank.light_hours_h,
            "light_ramp": tank.light_ramp_h,
            "temperature": tank.temperature_c,
            "salinity": tank.salinity_psu,
            "room_temperature": tank.room_temperature_c,
            "room_temperature_swing": tank.room_temperature_swing_c,
            "room_humidity": tank.room_humidity_frac,
            "turnover": tank.turnover_per_h,
            "evaporation": tank.evaporation_frac_per_d,
            "coral_cover": tank.coral_cover_frac,
        }
        for name, value in numbers.items():
            yield from self.measure(f"tank.{name}", value)
        yield from self.hour("tank.light_on_at", tank.light_on_at)
        yield from self.text("lid", tank.lid, path="tank.lid")
        yield from self.text("corals", tank.corals, path="tank.corals")

    def display(self, tank: Tank) -> str:
        """The display as its volume and the sides that were given."""
        sides = {
            "length": tank.display_length_cm,
            "width": tank.display_width_cm,
            "height": tank.display_height_cm,
        }
        lines = list(self.measure("tank.display.volume", tank.display_gross_l))
        for name, side in sides.items():
            lines += self.measure(f"tank.display.{name}", side)
        return lines[0][1] if len(lines) == 1 else inline(lines)

    def start(self, tank: Tank) -> Iterator[Line]:
        """`[tank.start]`."""
        start = tank.start
        yield from self.text("kind", start.kind, path="tank.start.kind")
        yield from self.measure("tank.start.age", start.age_months)
        for name, value in start.readings.items():
            series = series_of(name)
            if f"tank.start.{series.word}" not in self.assumed:
                written = write_series(series, value)
                yield series.word, written if series.dimension == "none" else quoted(written)

    def keeper(self, keeper: Keeper) -> Iterator[Line]:
        """`[keeper]`."""
        yield from self.text("name", keeper.name, path="keeper.name")
        yield from self.measure("keeper.minutes_per_month", keeper.minutes_per_month)
        if "keeper.presence" not in self.assumed:
            yield "presence", texts(_presence(keeper.presence))
        if keeper.time_zone is not None:
            yield "time_zone", quoted(keeper.time_zone)
        if keeper.closed:
            yield "closed", list_text(inline(_closed(rule)) for rule in keeper.closed)
        if keeper.helpers:
            yield "helpers", list_text(inline(self.helper(helper)) for helper in keeper.helpers)
        if keeper.refuses:
            yield "refuses", texts(keeper.refuses)
        if keeper.wishes:
            yield "wishes", list_text(inline(_wish(wish)) for wish in keeper.wishes)
        if keeper.stops_after:
            yield "stops_after", inline(_stops(keeper.stops_after))
        if keeper.money is not None:
            yield "money", repr(keeper.money)
        if keeper.prices:
            yield "prices", inline((name, repr(price)) for name, price in keeper.prices.items())

    def helper(self, helper: Helper) -> Iterator[Line]:
        """One of `keeper.helpers`."""
        yield "name", quoted(helper.name)
        if helper.tasks:
            yield "tasks", texts(helper.tasks)
        yield "days", quoted(write_weekdays(helper.weekdays))
        yield from self.hour("keeper.helpers[].at", helper.at_hour)
        yield from self.hour("keeper.helpers[].until", helper.until_hour)
        if helper.when_closed:
            yield "when_closed", "true"
        row = "keeper.helpers[].minutes_per_visit"
        yield from self.measure(row, helper.minutes_per_visit)
        if helper.first_on is not None:
            yield "first", _date(helper.first_on)
        if helper.last_on is not None:
            yield "last", _date(helper.last_on)

    def animal(self, animal: AnimalEntry, number: int) -> Iterator[Line]:
        """One of `[[animals]]`."""
        path = f"animals[{number}]"
        yield "id", quoted(animal.id)
        yield "species", quoted(animal.species)
        yield "count", str(animal.count)
        yield from self.measure(f"{path}.length", animal.length_cm, key="animals[].length")
        if animal.arrives_on is not None and f"{path}.arrives_on" not in self.assumed:
            yield "arrives_on", _date(animal.arrives_on)
        yield from self.measure(f"{path}.quarantine", animal.quarantine_d, key="animals[].quarantine")
        if animal.treated:
            yield "treated", "true"
        yield from self.text("sex", animal.sex or "")
        yield from self.text("gate", animal.gate or "")
        yield from self.text("why", animal.why)

    def meal(self, meal: Meal, number: int) -> Iterator[Line]:
        """One of `[[meals]]`."""
        path = f"meals[{number}]"
        yield "id", quoted(meal.id)
        yield "food", quoted(meal.food)
        yield from self.measure(f"{path}.amount", meal.grams_as_fed, key="meals[].amount")
        yield from self.text("enough_for", meal.enough_for or "")
        if meal.who:
            yield "who", texts(meal.who)
        yield "by", quoted(meal.by)
        if f"{path}.times" not in self.assumed:
            yield "times", texts(write_hour(hour) for hour in meal.times)
        yield "days", quoted(write_meal_days(meal.weekdays, only_when_present=meal.only_when_present))
        yield from self.measure(f"{path}.pump_pause", meal.pump_pause_min, key="meals[].pump_pause")

    def food(self, food: Label) -> Iterator[Line]:
        """One of `[[foods]]`."""
        yield "id", quoted(food.id)
        yield from self.text("name", food.name)
        yield "like", quoted(food.like)
        yield "basis", quoted(food.basis)
        for part, share in food.printed_frac.items():
            yield from self.measure(f"foods[].{part}", share)
        yield from self.measure("foods[].grain", food.grain_mm)
        yield from self.measure("foods[].pack", food.pack_g)
        yield from self.text("packaging", food.packaging)

    def upkeep(self, upkeep: Upkeep, number: int) -> Iterator[Line]:
        """One of `[[upkeep]]`."""
        path = f"upkeep[{number}]"
        yield "id", quoted(upkeep.id)
        yield "task", quoted(upkeep.task)
        yield from self.measure(f"{path}.share", upkeep.share_frac, key="upkeep[].share")
        yield from self.measure(f"{path}.amount", upkeep.amount_g, key="upkeep[].amount.mass")
        yield from self.measure(f"{path}.amount", upkeep.amount_l, key="upkeep[].amount.volume")
        if f"{path}.every" not in self.assumed:
            yield "every", quoted(upkeep.rhythm.text)
        yield "by", quoted(upkeep.by)
        if upkeep.when is not None:
            yield "when", quoted(upkeep.when.text)
        yield from self.measure(f"{path}.minutes", upkeep.minutes, key="upkeep[].minutes")
        yield from self.hour(f"{path}.at", upkeep.at_hour)
        yield from self.measure("upkeep[].within", upkeep.within_days)

    def device(self, device: DeviceEntry) -> Iterator[Line]:
        """One of `[[devices]]`."""
        yield "id", quoted(device.id)
        yield "kind", quoted(device.kind)
        yield "count", str(device.count)
        yield from self.hour("on_at", device.on_at)
        yield from self.measure("devices[].hours", device.hours)
        if PLUMBED in device.numbers:
            yield "plumbed", "true"
        for key, name in device_number_names().items():
            value = device.numbers.get(name)
            if value is not None and not all_keys()[f"devices[].{key}"].dimension:
                yield key, str(round(value))
            else:
                yield from self.measure(f"devices[].{key}", value)

    def goals(self, goals: Goals) -> Iterator[Line]:
        """`[goals]`."""
        yield from self.measure("goals.horizon", goals.horizon_years)
        yield from self.text("optimise", goals.optimise, path="goals.optimise")
        if goals.keep:
            yield "keep", texts(goals.keep)


def _date(day: date) -> str:
    return day.isoformat()


def _presence(windows: tuple[PresenceWindow, ...]) -> Iterator[str]:
    """Windows with the same hours on later and later days share a text."""
    at = 0
    while at < len(windows):
        first, days = windows[at], [windows[at].weekday]
        at += 1
        while at < len(windows) and windows[at].weekday > days[-1] and _same_hours(first, windows[at]):
            days.append(windows[at].weekday)
            at += 1
        names = ", ".join(SHORT_WEEKDAYS[day] for day in days)
        yield f"{names} {write_hour(first.from_hour)}-{write_hour(first.to_hour)}"


def _same_hours(one: PresenceWindow, other: PresenceWindow) -> bool:
    return (one.from_hour, one.to_hour) == (other.from_hour, other.to_hour)


def _closed(rule: ClosedRule) -> Iterator[Line]:
    if rule.country is not None:
        yield "country", quoted(rule.country)
    if rule.region is not None:
        yield "region", quoted(rule.region)
    if rule.weekday is not None:
        yield "weekday", quoted(SHORT_WEEKDAYS[rule.weekday])
    days = (rule.first_month, rule.first_day, rule.last_month, rule.last_day)
    if None not in days:
        yield "every_year", quoted(write_month_days(MonthDays(*(day or 0 for day in days))))
    if rule.first_on is not None and rule.last_on is not None:
        yield "first", _date(rule.first_on)
        yield "last", _date(rule.last_on)
    yield "label", quoted(rule.label)


def _wish(wish: Wish) -> Iterator[Line]:
    yield "text", quoted(wish.text)
    yield "weight", repr(wish.weight)
    if wish.species:
        yield "species", texts(wish.species)


def _stops(stops_after: dict[str, float]) -> Iterator[Line]:
    row = all_keys()["keeper.stops_after[]"]
    for task, months in stops_after.items():
        yield task, quoted(write_quantity(months, dimension=row.dimension, token=row.token))


def _band(name: str, band: BandGoal) -> Iterator[Line]:
    series = series_of(name)
    for key in ("act_low", "act_high", "harm_low", "harm_high"):
        value: InKeyUnit | None = getattr(band, key)
        if value is not None:
            written = write_series(series, value)
            yield key, written if series.dimension == "none" else quoted(written)
