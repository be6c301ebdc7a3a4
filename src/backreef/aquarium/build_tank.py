"""The `[tank]` of a plan file as a `Tank`: given values as they are, the others by default or worked out."""

from __future__ import annotations

from collections.abc import Callable

from backreef.aquarium import geometry
from backreef.aquarium.defaults import Assumptions, all_defaults, default
from backreef.aquarium.faults import Faults
from backreef.aquarium.geometry import KnownSides, Sides
from backreef.aquarium.limits import InKeyUnit, limit
from backreef.aquarium.phrases import read_hour
from backreef.aquarium.plan import DefaultTaken, Lid, StartKind, StartState, Tank
from backreef.aquarium.schema import DisplayTable, StartTable, TankTable
from backreef.aquarium.series import Reading, Series, all_series, read_series

_AIR_GAP = "tank.display.air_gap_frac"
_STONY = ("sps", "mixed")
ALWAYS_READ = ("nitrate", "nitrite", "ammonia", "phosphate", "alkalinity")
"""Readings of the first day that every plan has: given, or assumed by the kind of start."""


def build_tank(table: TankTable, *, animals_there: bool, assumed: Assumptions, faults: Faults) -> Tank:
    """The tank of the plan; contradictions between its measures are added to the faults."""
    return _Builder(table, assumed, faults).tank(animals_there=animals_there)


def is_complete(display: DisplayTable) -> bool:
    """Whether the display's volume is given or follows from its sides."""
    return display.volume is not None or None not in (display.length, display.width, display.height)


class _Builder:
    """One tank in the making; each method settles one value."""

    def __init__(self, table: TankTable, assumed: Assumptions, faults: Faults) -> None:
        self.table = table
        self.assumed = assumed
        self.faults = faults
        self.sides = self._sides(table.display)
        self.gross_l = table.display.volume if table.display.volume is not None else self.sides.volume_l
        self.sump_l = self._given_or(table.sump, "tank.sump")
        self.refugium_l = self._given_or(table.refugium, "tank.refugium")
        self.rock_kg = self._rock()
        self.sand_area_m2 = self._sand_area()
        self.sand_depth_cm = self._sand_depth()
        self.corals = table.corals or assumed.text("tank.corals")
        self.lid: Lid = table.lid or self._lid()

    def tank(self, *, animals_there: bool) -> Tank:
        """All values together."""
        table = self.table
        return Tank(
            name=table.name or self.assumed.text("tank.name"),
            display_gross_l=self.gross_l,
            display_length_cm=self.sides.length_cm,
            display_width_cm=self.sides.width_cm,
            display_height_cm=self.sides.height_cm,
            water_volume_l=self._water(),
            sump_l=self.sump_l,
            refugium_l=self.refugium_l,
            rock_kg=self.rock_kg,
            sand_area_m2=self.sand_area_m2,
            sand_depth_cm=self.sand_depth_cm,
            glass_area_m2=self._glass(),
            viewing_glass_area_m2=self._viewing_glass(),
            surface_area_m2=self._surface(),
            lid=self.lid,
            light_par_umol_m2_s=self._given_or(
                table.light_par, "tank.light_par", row=f"tank.light_par.{self.corals}"
            ),
            light_hours_h=self._given_or(table.light_hours, "tank.light_hours"),
            light_on_at=self._light_on_at(),
            light_ramp_h=self._given_or(table.light_ramp, "tank.light_ramp"),
            temperature_c=self._given_or(table.temperature, "tank.temperature"),
            salinity_psu=self._given_or(table.salinity, "tank.salinity"),
            room_temperature_c=self._given_or(table.room_temperature, "tank.room_temperature"),
            room_temperature_swing_c=self._given_or(
                table.room_temperature_swing, "tank.room_temperature_swing"
            ),
            turnover_per_h=self._turnover(),
            room_humidity_frac=table.room_humidity,
            evaporation_frac_per_d=self._evaporation(),
            corals=self.corals,
            coral_cover_frac=self._coral_cover(),
            start=_start(table.start, animals_there=animals_there, assumed=self.assumed),
        )

    def _given_or(self, given: InKeyUnit | None, key: str, *, row: str | None = None) -> float:
        return given if given is not None else self.assumed.value(row or key, of=key)

    def _sides(self, display: DisplayTable) -> Sides:
        """The sides as given or, where some are missing, by common proportions."""
        length, width, height = display.length, display.width, display.height
        if length is not None and width is not None and height is not None:
            sides = Sides(length_cm=length, width_cm=width, height_cm=height)
            self._compare(display.volume, sides)
            return sides
        volume_l = display.volume if display.volume is not None else 0.0  # refused before: is_complete
        return self._filled(volume_l, KnownSides(length_cm=length, width_cm=width, height_cm=height))

    def _filled(self, volume_l: float, known: KnownSides) -> Sides:
        length_row, height_row = "tank.display.length_to_width_ratio", "tank.display.height_to_width_ratio"
        length_ratio, height_ratio = default(length_row).value, default(height_row).value

        def box(length_to_width_ratio: float, height_to_width_ratio: float) -> Sides:
            return geometry.fill_sides(
                volume_l,
                known,
                length_to_width_ratio=length_to_width_ratio,
                height_to_width_ratio=height_to_width_ratio,
            )

        rules: dict[str, tuple[str, Callable[[float], float]]] = {
            "length": (length_row, lambda ratio: round(box(ratio, height_ratio).length_cm, 2)),
            "width": (length_row, lambda ratio: round(box(ratio, height_ratio).width_cm, 2)),
            "height": (height_row, lambda ratio: round(box(length_ratio, ratio).height_cm, 2)),
        }
        found: dict[str, float] = {}
        for name, (row, rule) in rules.items():
            given: InKeyUnit | None = getattr(known, f"{name}_cm")
            key = f"tank.display.{name}"
            found[name] = (
                given
                if given is not None
                else self.assumed.worked_out(key, rule, unit="cm", of=row, how="from the volume")
            )
        return Sides(length_cm=found["length"], width_cm=found["width"], height_cm=found["height"])

    def _compare(self, volume_l: float | None, sides: Sides) -> None:
        """A fault where a volume and three sides do not agree."""
        if volume_l is None or abs(sides.volume_l / volume_l - 1.0) <= limit("sides_mismatch_frac"):
            return
        message = (
            f"the sides hold {sides.volume_l:.0f} L to the brim, but volume says {volume_l:.0f} L; "
            "give inner sides, or keep one of the two"
        )
        self.faults.add(("tank", "display"), message)

    def _rock(self) -> float:
        if self.table.rock is not None:
            return self.table.rock
        return self.assumed.worked_out(
            "tank.rock",
            lambda kg_per_l: kg_per_l * self.gross_l,
            unit="kg",
            of="tank.rock.kg_per_l",
            how="from the volume of the display",
        )

    def _sand_area(self) -> float:
        floor_m2, area = self.sides.floor_m2, self.table.sand_area
        if area is None:
            return self.assumed.worked_out(
                "tank.sand_area",
                lambda share: share * floor_m2,
                unit="m2",
                of="tank.sand.floor_frac",
                how="a share of the floor",
            )
        if area > floor_m2 * (1.0 + limit("sand_beyond_floor_frac")):
            message = f"{area:g} m2 of sand do not fit on a floor of {floor_m2:.2f} m2; check the unit"
            self.faults.add(("tank", "sand_area"), message)
        return area

    def _sand_depth(self) -> float:
        if self.sand_area_m2 > 0 or self.table.sand_depth is not None:
            return self._given_or(self.table.sand_depth, "tank.sand_depth")
        return 0.0

    def _lid(self) -> Lid:
        self.assumed.text("tank.lid")
        return "open"

    def _water(self) -> float:
        """Water of the whole system. [L]"""
        if self.table.water_volume is not None:
            return self.table.water_volume
        sand_l = geometry.sand_displaced_l(
            self.sand_area_m2,
            sand_depth_cm=self.sand_depth_cm,
            solid_frac=default("tank.sand.solid_frac").value,
        )

        def display_l(displaced_l_per_kg: float) -> float:
            rock_l = geometry.rock_displaced_l(self.rock_kg, displaced_l_per_kg=displaced_l_per_kg)
            air_gap = default(_AIR_GAP).value
            return geometry.net_display_l(self.gross_l, air_gap_frac=air_gap, displaced_l=rock_l + sand_l)

        row = "tank.rock.displaced_l_per_kg"
        if display_l(default(row).value) < limit("least_water_frac") * self.gross_l:
            message = f"{self.rock_kg:g} kg leave hardly any water in {self.gross_l:g} L; check the unit"
            self.faults.add(("tank", "rock"), message)
        return self.assumed.worked_out(
            "tank.water_volume",
            lambda ratio: display_l(ratio) + self.sump_l + self.refugium_l,
            unit="L",
            of=row,
            how="display less air gap, rock and sand, with sump and refugium",
        )

    def _glass(self) -> float:
        if self.table.glass_area is not None:
            return self.table.glass_area
        return self.assumed.worked_out(
            "tank.glass_area",
            lambda gap: geometry.wetted_glass_m2(
                self.sides, air_gap_frac=gap, sand_area_m2=self.sand_area_m2
            ),
            unit="m2",
            of=_AIR_GAP,
            how="four panes to the water line and the bare floor",
        )

    def _viewing_glass(self) -> float:
        if self.table.viewing_glass is not None:
            return self.table.viewing_glass
        air_gap = default(_AIR_GAP).value
        return self.assumed.worked_out(
            "tank.viewing_glass",
            lambda ends: geometry.viewing_glass_m2(self.sides, air_gap_frac=air_gap, ends_count=ends),
            unit="m2",
            of="tank.viewing_ends",
            how="to the water line",
        )

    def _surface(self) -> float:
        if self.table.surface_area is not None:
            return self.table.surface_area
        sump_l = self.sump_l + self.refugium_l
        return self.assumed.worked_out(
            "tank.surface_area",
            lambda depth: geometry.water_surface_m2(
                self.sides, sump_and_refugium_l=sump_l, sump_depth_cm=depth
            ),
            unit="m2",
            of="tank.sump.water_depth",
            how="the display's surface and that of sump and refugium",
        )

    def _light_on_at(self) -> float:
        given = self.table.light_on_at
        return given if given is not None else read_hour(self.assumed.text("tank.light_on_at"))

    def _turnover(self) -> float:
        row = "tank.turnover.strong" if self.corals in _STONY else "tank.turnover.gentle"
        return self._given_or(self.table.turnover, "tank.turnover", row=row)

    def _evaporation(self) -> float:
        if self.table.evaporation is not None:
            return self.table.evaporation
        cover = default("tank.evaporation.glass_lid_ratio").value if self.lid == "glass" else 1.0
        how = "as an open tank" if self.lid != "glass" else f"as an open tank, times {cover:g} under a cover"
        return self.assumed.worked_out(
            "tank.evaporation",
            lambda share: share * cover,
            unit="of the water a day",
            of="tank.evaporation",
            how=how,
        )

    def _coral_cover(self) -> float:
        if self.table.coral_cover is None and self.corals == "none":
            return 0.0
        return self._given_or(self.table.coral_cover, "tank.coral_cover")


def _start(table: StartTable, *, animals_there: bool, assumed: Assumptions) -> StartState:
    """What is known of the first day, and the readings that every plan has."""
    kind = table.kind or _start_kind(animals_there=animals_there, assumed=assumed)
    stage = "established" if kind == "established" else "new"
    age = table.age
    if age is None:
        age = assumed.value(f"tank.start.age.{stage}", of="tank.start.age")
    readings: dict[str, float] = {}
    for series in all_series():
        given: Reading | None = getattr(table, series.word, None)
        if given is not None:
            readings[series.series] = given.value
            note_reading(f"tank.start.{series.word}", given.notes, assumed)
        elif series.word in ALWAYS_READ:
            readings[series.series] = _assumed_reading(series, stage, assumed)
    return StartState(kind=kind, age_months=age, readings=readings)


def _start_kind(*, animals_there: bool, assumed: Assumptions) -> StartKind:
    assumed.text(f"tank.start.kind.{'with' if animals_there else 'without'}_animals", of="tank.start.kind")
    return "established" if animals_there else "live_rock"


def _assumed_reading(series: Series, stage: str, assumed: Assumptions) -> float:
    row = all_defaults()[f"tank.start.{series.word}.{stage}"]
    assumed.value(row.key, of=f"tank.start.{series.word}")
    return read_series(series.word, f"{row.value} {row.unit}").value


def note_reading(key: str, notes: tuple[str, ...], assumed: Assumptions) -> None:
    """Note what had to be assumed to read a water quantity."""
    for note in notes:
        assumed.note(
            DefaultTaken(
                key=f"{key} (unit)",
                value=note,
                unit="",
                low=None,
                high=None,
                status="practice",
                source="test kits for aquaria show the ion; common practice, no source",
                changes="Read as nitrogen or phosphorus it would be three to four times as much.",
            )
        )
