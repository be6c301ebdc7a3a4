"""What a chore does to the water, where its condition was true at the last test."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from backreef.aquarium.plan import Condition, Plan
from backreef.catalogue.entries import Catalogue
from backreef.schedule.chores import Chore
from backreef.schedule.effects import (
    Calibration,
    CoverClean,
    Dose,
    Effect,
    FeederRefill,
    GlassClean,
    HandRemoval,
    Harvest,
    LampClean,
    MediaChange,
    Other,
    PumpService,
    ResinChange,
    SensorClean,
    Siphon,
    SkimmerCup,
    SkimmerService,
    SockChange,
    Test,
    TopOffRefill,
    WaterChange,
)
from backreef.simulation.bookings import Bookings
from backreef.simulation.events import EventProgram, InItsUnit
from backreef.simulation.system import brim_l, fresh_machines, resin_litres, sand_frac, top_offs
from backreef.simulation.tables import system_number
from backreef.units import atomic_mass_g_per_mol

UMOL_PER_MMOL = 1000.0
READ_OF_SERIES: Mapping[str, tuple[str, str]] = {
    "ammonia_total_mg_n_per_l": ("S_NH", "N"),
    "nitrite_mg_n_per_l": ("S_NO2", "N"),
    "nitrate_mg_n_per_l": ("S_NO3", "N"),
    "phosphate_mg_p_per_l": ("S_PO4", "P"),
    "calcium_mg_per_l": ("S_Ca", "Ca"),
    "alkalinity_meq_per_l": ("S_ALK", ""),
}
"""Series whose last reading is kept: component, and the element that the unit counts (none: mmol)."""
SEEN_AT_ONCE: Mapping[str, tuple[str, str]] = {
    "temperature_c": ("T", "T"),
    "salinity_psu": ("S", "S"),
    "ph_total": ("ph_least", "ph_most"),
    "oxygen_mg_per_l": ("o2_least", "o2_least"),
}
"""Series that a thermometer or a probe shows at any time: what a lower, and what a higher bound is held
against. Of pH and oxygen it is the day so far."""
RAW_WATER = {
    "S_Si": "raw_silicate_mmol_per_l",
    "S_NO3": "raw_nitrate_mmol_per_l",
    "S_PO4": "raw_phosphate_mmol_per_l",
}
"""What comes with make-up water behind spent resin, and which number of the system's table says how much."""
SETTLED = ("X_DL", "X_DR", "X_FP", "X_FL", "X_FC", "X_FM")
"""What lies on sand and in the sump."""
PORES = {"N_PW": "S_NH", "P_PW": "S_PO4"}
"""What the pores of sand hold, and what it is in the water."""
OFF = {"salinity": "salinity_off", "temperature": "thermostat_off"}
"""Instrument -> register of what it shows too little of."""
ALL_PROBES = "probes"
SPILL_FIRST_FRAC = 0.25
SPILL_STEPS = 12
"""Water above the brim leaves in parts: a quarter, then each time the square root; the last is 0.014 %."""
SILENT = (Other, FeederRefill)
"""Effects that the model has no part for."""


class ChoreEvents:
    """Writes the events of chores."""

    def __init__(self, plan: Plan, catalogue: Catalogue, bookings: Bookings) -> None:
        self.plan, self.book = plan, bookings
        self.top_offs = top_offs(plan, catalogue)
        self._steps: Mapping[type, Callable[[EventProgram, Any], None]] = {
            WaterChange: self._change,
            Harvest: self._harvest,
            Siphon: self._siphon,
            GlassClean: self._glass,
            HandRemoval: self._remove,
            SockChange: self._sock,
            MediaChange: self._media,
            TopOffRefill: self._top_off,
            Dose: self._dose,
            LampClean: partial(self._cleaned, "lamp_clean"),
            ResinChange: self._resin,
            SkimmerCup: partial(self._cleaned, "neck_clean"),
            SkimmerService: partial(self._cleaned, "skimmer_clean"),
            PumpService: partial(self._cleaned, "pump_clean"),
            CoverClean: partial(self._cleaned, "cover_clean"),
            SensorClean: self._wiped,
            Calibration: self._calibrate,
        }

    def touches_water(self, chore: Chore) -> bool:
        """Whether a chore changes anything in the model, or has a condition to be noted."""
        return not isinstance(chore.effect, SILENT) or chore.condition is not None

    def do(self, program: EventProgram, chore: Chore, note: int | None) -> None:
        """Do a chore, where its condition was true at the last test."""
        if chore.condition is not None:
            self._where(program, chore.condition)
            if note is not None:
                program.put("note", extra=note)
        if isinstance(chore.effect, Test):
            self._test(program, chore.effect, chore.id)
        elif not isinstance(chore.effect, SILENT):
            self._steps[type(chore.effect)](program, chore.effect)
        if chore.condition is not None:
            program.put("everyone")

    def ask(self, program: EventProgram, chore: Chore, note: int) -> None:
        """Note in which members a chore that nobody does would be wanted."""
        if chore.condition is not None:
            self._where(program, chore.condition)
        program.put("note", extra=note)
        program.put("everyone")

    def water_change(self, program: EventProgram, share_frac: float) -> None:
        """Take a share of what is dissolved and suspended; bring as much new sea water."""
        self._dissolved_out(program, share_frac)
        self._new_water(program, "V", share_frac, new_l=share_frac * self.plan.tank.water_volume_l)
        salt = self.book.at("salt")
        program.put("add", target=salt, source=salt, factor=-share_frac)
        self._new_salt(program, "V", share_frac, new_l=share_frac * self.plan.tank.water_volume_l)

    def drain(self, program: EventProgram, share_frac: float) -> None:
        """Take a share of the water, with what is in it."""
        self._dissolved_out(program, share_frac)
        for row in (self.book.at("salt"), self.book.at("V")):
            program.put("add", target=row, source=row, factor=-share_frac)

    def refill(self, program: EventProgram, new_l: float) -> None:
        """Pour so much new sea water in, whatever the level is."""
        book = self.book
        self._new_water(program, "one", new_l, new_l=new_l)
        self._new_salt(program, "one", new_l, new_l=new_l)
        program.put("add", target=book.at("V"), source=book.at("one"), factor=new_l)

    def spill(self, program: EventProgram) -> None:
        """Let run out what stands above the brim, with what is in it, and count the litres.

        In steps that halve (of the logarithm), each only where it does not take too much.
        """
        volume, spilled = self.book.at("V"), self.book.at("spilled_l")
        for step in range(SPILL_STEPS):
            share_frac = 1.0 - (1.0 - SPILL_FIRST_FRAC) ** (0.5**step)
            program.put("everyone")
            program.put("where_above", source=volume, factor=brim_l(self.plan) / (1.0 - share_frac))
            program.put("add", target=spilled, source=volume, factor=share_frac)
            self.drain(program, share_frac)
        program.put("everyone")

    def _dissolved_out(self, program: EventProgram, share_frac: float) -> None:
        for component in self.book.components:
            if component.suspended:
                self.book.take(program, component.name, share_frac, "water_change")

    def _new_water(self, program: EventProgram, source: str, factor: InItsUnit, *, new_l: float) -> None:
        """What so many litres, a row times a factor, bring with them; the resin wears by `new_l`."""
        book = self.book
        for name, amount in new_water_mmol_per_l().items():
            book.bring(program, name, source, factor * amount, "water_change")
        program.put("add", target=book.at("raw_l"), source=book.at("leak"), factor=new_l)
        program.put("add", target=book.at("resin_l"), source=book.at("one"), factor=-new_l)

    def _new_salt(self, program: EventProgram, source: str, factor: InItsUnit, *, new_l: float) -> None:
        """New sea water is mixed until the instrument shows what the plan wants, whatever it is off by."""
        salt, salinity = self.book.at("salt"), self.plan.tank.salinity_psu
        program.put("add", target=salt, source=self.book.at(source), factor=factor * salinity)
        program.put("add", target=salt, source=self.book.at("salinity_off"), factor=new_l)

    def make_up(self, program: EventProgram) -> None:
        """What spent resin let through with the make-up water of the day comes into the tank."""
        for name, number in RAW_WATER.items():
            self.book.bring(program, name, "raw_l", system_number(number), "top_off")
        self.book.set_to(program, "raw_l", 0.0)

    def _where(self, program: EventProgram, condition: Condition) -> None:
        """Narrow to the members whose reading fulfils a condition; to all where the model has none of it."""
        program.put("everyone")
        above = condition.comparison in (">", ">=")
        kind = "where_above" if above else "where_below"
        if condition.series in READ_OF_SERIES:
            component, element = READ_OF_SERIES[condition.series]
            mmol = condition.value / atomic_mass_g_per_mol()[element] if element else condition.value
            program.put(kind, source=self.book.at(f"read_{component}"), factor=mmol * UMOL_PER_MMOL)
        elif condition.series in SEEN_AT_ONCE:
            row = SEEN_AT_ONCE[condition.series][above]
            program.put(kind, source=self.book.at(row), factor=_as_kept(condition))

    def _change(self, program: EventProgram, effect: WaterChange) -> None:
        self.water_change(program, effect.share_frac)

    def _harvest(self, program: EventProgram, effect: Harvest) -> None:
        """Algae of a refugium and of a scrubber's screen are one growth in the model."""
        self.book.take(program, "A_R", effect.take_frac, "harvest")

    def _siphon(self, program: EventProgram, effect: Siphon) -> None:
        """A share of the dirt comes out; dug sand gives the rest, and what its pores held, to the water."""
        taken_frac = effect.share_frac * system_number("siphon_taken_frac")
        for name in SETTLED:
            self.book.take(program, name, taken_frac, "siphon")
        if effect.where == "sand":
            stirred_frac = effect.share_frac - taken_frac
            self._move(program, "X_DL", "X_POM", stirred_frac * sand_frac(self.plan))
            for pores, water in PORES.items():
                self.book.take(program, pores, taken_frac, "siphon")
                self._move(program, pores, water, stirred_frac / (1.0 - taken_frac))

    def _move(self, program: EventProgram, name: str, to: str, share_frac: float) -> None:
        """Turn a share of a component into another one of the same composition."""
        source = self.book.at(name)
        program.put("add", target=self.book.at(to), source=source, factor=share_frac)
        program.put("add", target=source, source=source, factor=-share_frac)

    def _glass(self, program: EventProgram, effect: GlassClean) -> None:
        wiped_frac = effect.share_frac * system_number("film_wiped_glass_frac")
        self.book.take(program, "A_F", wiped_frac * system_number("film_carried_off_frac"), "harvest")

    def _remove(self, program: EventProgram, effect: HandRemoval) -> None:
        names = ("A_C",) if effect.of == "coralline" else ("A_T", "A_N")
        for name in names:
            self.book.take(program, name, effect.share_frac, "harvest")

    def _sock(self, program: EventProgram, effect: SockChange) -> None:
        self.book.take(program, "X_SK", 1.0, "siphon")

    def _media(self, program: EventProgram, effect: MediaChange) -> None:
        book = self.book
        if effect.kind == "iron_oxide":
            book.take(program, "P_FE", effect.share_frac, "media")
            medium = book.at("m_fe")
            program.put("add", target=medium, source=medium, factor=-effect.share_frac)
            program.put("add", target=medium, source=book.at("one"), factor=effect.medium_g)
        else:
            full_g = system_number("carbon_full_g_per_l") * self.plan.tank.water_volume_l
            charges = min(system_number("carbon_most_ratio"), effect.medium_g / full_g)
            book.set_to(program, "carbon", charges)

    def _cleaned(self, register: str, program: EventProgram, effect: Effect) -> None:
        self.book.set_to(program, register, fresh_machines(self.plan)[register])

    def _wiped(self, program: EventProgram, effect: SensorClean) -> None:
        self.book.set_to(program, "float_fouled", 0.0)

    def look(self, program: EventProgram) -> None:
        """Whoever looks at the machines frees a sensor that sticks."""
        if self.top_offs:
            fouled = self.book.at("float_fouled")
            program.put("everyone")
            program.put("where_above", source=fouled, factor=1.0)
            self.book.set_to(program, "float_fouled", 0.0)
            program.put("everyone")

    def _calibrate(self, program: EventProgram, effect: Calibration) -> None:
        for instrument, register in OFF.items():
            if effect.of in (instrument, ALL_PROBES):
                self.book.set_to(program, register, 0.0)

    def _resin(self, program: EventProgram, effect: ResinChange) -> None:
        self.book.set_to(program, "resin_l", resin_litres(self.plan))

    def _top_off(self, program: EventProgram, effect: TopOffRefill) -> None:
        """Fill the reservoir of one device, if it is one, and the tank up to its mark; the salt stays.

        Reservoirs are one in the model, drained alike: filling one of several leaves the share of the others.
        """
        if effect.device is not None:
            reservoir = self.book.at("reservoir")
            full_l = max(sum(self.top_offs.values()), effect.water_l)
            others_frac = 1.0 - effect.water_l / full_l if full_l > 0 else 0.0
            program.put("set", target=reservoir, source=reservoir, factor=others_frac)
            program.put("add", target=reservoir, source=self.book.at("one"), factor=effect.water_l)
        self.book.set_to(program, "V", self.plan.tank.water_volume_l)

    def _test(self, program: EventProgram, effect: Test, chore_id: str) -> None:
        wanted = {READ_OF_SERIES[series][0] for series in effect.series if series in READ_OF_SERIES}
        for component in sorted(wanted):
            self.read(program, component, self.book.drawn.row("kit", component, chore_id))

    def read(self, program: EventProgram, component: str, row: int) -> None:
        """Keep what a test says of a component, times a drawn error."""
        target, source = self.book.at(f"read_{component}"), self.book.at(component)
        program.put("read", target=target, source=source, extra=row, factor=UMOL_PER_MMOL)

    def _dose(self, program: EventProgram, effect: Dose) -> None:
        """Pods by weight or by volume of their water; nothing else that is dosed by hand has a part here."""
        if effect.kind == "pods" and effect.value:
            per_unit = system_number("pods_mmol_c_per_g" if effect.unit == "g" else "pods_mmol_c_per_l")
            self.book.bring(program, "Z_PC", "one", effect.value * per_unit, "animals")


def _as_kept(condition: Condition) -> float:
    """The bound of a condition in the unit of the row it is held against."""
    if condition.series != "oxygen_mg_per_l":
        return condition.value
    return condition.value / (2.0 * atomic_mass_g_per_mol()["O"]) * UMOL_PER_MMOL


def new_water_mmol_per_l() -> dict[str, float]:
    """Give what a litre of freshly mixed sea water holds. [mmol/L]"""
    alkalinity = system_number("new_alkalinity_meq_per_l")
    return {
        "S_ALK": alkalinity,
        "S_DIC": alkalinity * system_number("carbon_per_alkalinity_ratio"),
        "S_Ca": system_number("new_calcium_mmol_per_l"),
        "S_NO3": system_number("new_nitrate_umol_per_l") * 1e-3,
        "S_PO4": system_number("new_phosphate_umol_per_l") * 1e-3,
        "S_Si": system_number("new_silicate_umol_per_l") * 1e-3,
    }
