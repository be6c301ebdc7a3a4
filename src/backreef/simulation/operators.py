"""What a meal, a chore, an arrival or a water change does to the state, as events with their ledgers."""

from __future__ import annotations

from backreef.aquarium.plan import Condition, Plan
from backreef.catalogue.entries import Catalogue
from backreef.models.matrix import Matrix, packaged_matrix
from backreef.schedule.chores import Chore
from backreef.schedule.effects import (
    Dose,
    FeederRefill,
    GlassClean,
    HandRemoval,
    Harvest,
    MediaChange,
    Other,
    Siphon,
    SkimmerCup,
    SockChange,
    Test,
    TopOffRefill,
    WaterChange,
)
from backreef.schedule.meals import MealOccasion
from backreef.simulation.cohorts import Cohort, lives_on_light
from backreef.simulation.events import EventProgram
from backreef.simulation.foods import FoodSlot
from backreef.simulation.layout import LEDGER_ELEMENTS, Layout
from backreef.simulation.bodies import body_of
from backreef.simulation.system import start_table, devices_of, number_of, surface_m2, system_table
from backreef.units import atomic_mass_g_per_mol

READ_OF_SERIES = {
    "ammonia_total_mg_n_per_l": ("S_NH", "N"),
    "nitrite_mg_n_per_l": ("S_NO2", "N"),
    "nitrate_mg_n_per_l": ("S_NO3", "N"),
    "phosphate_mg_p_per_l": ("S_PO4", "P"),
}
"""Series of tests whose reading is kept: component, and the element that the unit counts."""
DKH_PER_MEQ = 2.8
"""German degrees of carbonate hardness per mmol of alkalinity per litre. Source: definition, 1 dKH = 0.357 meq/L."""
CARBON_PER_ALKALINITY = 0.895
"""Inorganic carbon per alkalinity of sea water in balance with room air, pH about 8.1. Source: check C8."""
CARRIED_OFF_FRAC = 0.5
"""Of the film wiped, what cloth and net carry off; the rest stays in reach of grazers. Source: practice."""
TIDY_RATIO = 3.0
"""Hair algae of an established tank on the first day, at most, over the start table. Source: practice."""
SETTLED = ("X_DL", "X_DR", "X_FP", "X_FL", "X_FC", "X_FM")


class Operators:
    """Writes events for one plan."""

    def __init__(
        self,
        plan: Plan,
        catalogue: Catalogue,
        layout: Layout,
        cohorts: list[Cohort],
        foods: tuple[FoodSlot, ...],
        drawn: object,
    ) -> None:
        self.plan, self.catalogue, self.layout = plan, catalogue, layout
        self.cohorts, self.foods, self.drawn = cohorts, foods, drawn
        self.matrix: Matrix = packaged_matrix()
        self.content = {c.name: c.composition for c in self.matrix.components if c.composition}
        self.table = {name: value.span.value for name, value in system_table().items()}
        self.body = body_of(self.matrix)
        self.food_place = {food.food.id: index for index, food in enumerate(foods)}
        self.surfaces = self._surface_arrivals()
        self._portion_rows: dict[tuple[str, ...], int] = {}

    # -- small pieces ----------------------------------------------------------------------------------------------
    def _at(self, name: str) -> int:
        return self.layout.address(name)

    def _ledger(
        self, program: EventProgram, door: str, source: int, content: tuple[float, ...], factor: float
    ) -> None:
        for element, amount in zip(LEDGER_ELEMENTS, content, strict=True):
            if amount:
                program.put(
                    "add", target=self._at(f"{door}_{element}"), source=source, factor=factor * amount
                )

    def _take(self, program: EventProgram, name: str, share: float, door: str) -> None:
        """Take a share of a component out of the tank, into the ledger of a door."""
        self._ledger(program, door, self._at(name), self.content[name], share)
        program.put("add", target=self._at(name), source=self._at(name), factor=-share)

    def _bring(self, program: EventProgram, name: str, source: str, factor: float, door: str) -> None:
        """Bring in a component in proportion to a row (the volume, or one)."""
        program.put("add", target=self._at(name), source=self._at(source), factor=factor)
        self._ledger(program, door, self._at(source), self.content[name], -factor)

    def _row(self, *what: str) -> int:
        return self.drawn.row(*what)  # type: ignore[attr-defined,no-any-return]

    # -- beginnings ------------------------------------------------------------------------------------------------
    def begin(self, program: EventProgram) -> None:
        """The first day: books start at nought; nutrients are set to the readings the plan gives."""
        for ledger in self.layout.components[self.layout.active :]:
            program.put("set", target=self._at(ledger), source=self._at("one"), factor=0.0)
        for door in ("feed", "water_change", "harvest", "siphon", "media", "dose", "animals", "found"):
            for element in LEDGER_ELEMENTS:
                program.put("set", target=self._at(f"{door}_{element}"), source=self._at("one"), factor=0.0)
        tank = self.plan.tank
        full = {
            "evaporated_l": 0.0,
            "V": tank.water_volume_l,
            "salt": tank.salinity_psu * tank.water_volume_l,
            "reservoir": reservoir_l(self.plan),
        }
        for name, value in full.items():
            program.put("set", target=self._at(name), source=self._at("one"), factor=value)
        self._tidy(program)
        slots = len(self.cohorts)
        for slot in range(slots):
            for name in ("got", "need", *(f"ate_{pool}" for pool in _pools())):
                program.put(
                    "set",
                    target=self.layout.slot_address(slot, name, slots),
                    source=self._at("one"),
                    factor=0.0,
                )
        for name, value in self._readings().items():
            program.put("set", target=self._at(name), source=self._at("V"), factor=value)
        for name in ("S_NH", "S_NO2", "S_NO3", "S_PO4", "S_ALK", "S_Ca"):
            program.put(
                "read",
                target=self._at(f"read_{name}"),
                source=self._at(name),
                extra=self._row("exact"),
                factor=1000.0,
            )

    def _tidy(self, program: EventProgram) -> None:
        """Hair and nuisance algae begin no thicker than a tidy tank's: a plan says so if its tank is overgrown."""
        if self.plan.tank.start.kind != "established":
            return
        rock_m2 = self.table["rock_area_m2_per_kg"] * self.plan.tank.rock_kg
        for row in start_table():
            if row["component"] in ("A_T", "A_N"):
                most = float(row["established"]) * rock_m2 * TIDY_RATIO
                at = self._at(row["component"])
                program.put("everyone")
                program.put("where_above", source=at, factor=most)
                program.put("set", target=at, source=self._at("one"), factor=most)
        program.put("everyone")

    def _readings(self) -> dict[str, float]:
        """Component -> mmol per litre from the plan's readings."""
        given, result = self.plan.tank.start.readings, {}
        mass = atomic_mass_g_per_mol()
        for series, (component, element) in READ_OF_SERIES.items():
            if series in given:
                result[component] = given[series] / mass[element]
        result["S_ALK"] = self.table["new_alkalinity_meq_per_l"]
        if "alkalinity_meq_per_l" in given:
            result["S_ALK"] = given["alkalinity_meq_per_l"]
        if "alkalinity_dkh" in given:
            result["S_ALK"] = given["alkalinity_dkh"] / DKH_PER_MEQ
        result["S_DIC"] = CARBON_PER_ALKALINITY * result["S_ALK"]
        result["S_Ca"] = self.table["new_calcium_mmol_per_l"]
        if "calcium_mg_per_l" in given:
            result["S_Ca"] = given["calcium_mg_per_l"] / mass["Ca"]
        return result

    def settle_anew(self, program: EventProgram, slot: int, cohort: Cohort) -> None:
        """Residents begin the first day with the length the plan gives, whatever the spin-up made of them."""
        slots, one = len(self.cohorts), self._at("one")
        for name in ("structure", "reserve", "hazard", "lost", "arrived"):
            program.put("set", target=self.layout.slot_address(slot, name, slots), source=one, factor=0.0)
        for name in ("structure", "reserve"):
            row = self._row("body", cohort.entry.id, name)
            target = self.layout.slot_address(slot, name, slots)
            program.put("add_drawn", target=target, source=one, extra=row, factor=float(cohort.entry.count))
        arrived = self.layout.slot_address(slot, "arrived", slots)
        program.put("add", target=arrived, source=one, factor=float(cohort.entry.count))

    def arrive(self, program: EventProgram, slot: int, cohort: Cohort) -> None:
        """Animals come: bodies by the member's own mass for their length."""
        slots = len(self.cohorts)
        one, count = self._at("one"), float(cohort.entry.count)
        for name in ("structure", "reserve"):
            row = self._row("body", cohort.entry.id, name)
            target = self.layout.slot_address(slot, name, slots)
            program.put("add_drawn", target=target, source=one, extra=row, factor=count)
            content = (1.0, self.body.nitrogen, self.body.phosphorus, self.body.oxygen_demand, 0.0)
            for element, amount in zip(LEDGER_ELEMENTS, content, strict=True):
                if amount:
                    program.put(
                        "add_drawn",
                        target=self._at(f"animals_{element}"),
                        source=one,
                        extra=row,
                        factor=-count * amount,
                    )
        program.put("add", target=self.layout.slot_address(slot, "arrived", slots), source=one, factor=count)

    def _surface_arrivals(self) -> dict[int, float]:
        arrivals: dict[int, float] = {}
        for entry in self.plan.animals:
            species = self.catalogue.species[entry.species]
            if entry.arrives_on is not None and lives_on_light(species, self.catalogue.guilds[species.guild]):
                day = (entry.arrives_on - self.plan.start_on).days
                arrivals[day] = arrivals.get(day, 0.0) + entry.count * surface_m2(
                    entry.species, self.catalogue
                )
        return arrivals

    def surfaces_arrive(self, program: EventProgram, day: int) -> None:
        """Corals, anemones and clams that come today."""
        area = self.surfaces.get(day)
        if area:
            tissue = area * self.matrix.tables.parameters["T_coral"].value
            self._bring(program, "C_T", "one", tissue, "animals")
            self._bring(program, "C_R", "one", tissue * 0.1, "animals")

    # -- every day -------------------------------------------------------------------------------------------------
    def daily(self, program: EventProgram) -> None:
        """What devices do each day: dosing towards a set point, a daily part of an automatic water change."""
        for device in devices_of(self.plan, "doser", "reactor_ca"):
            self._dose_to_set_point(
                program, number_of(device, "alkalinity_meq_per_l") or self._usual_alkalinity()
            )
        for device in devices_of(self.plan, "awc"):
            share = number_of(device, "share_frac_per_d") or number_of(device, "share_frac")
            if share:
                self.water_change(program, share)

    def _usual_alkalinity(self) -> float:
        return self.table["new_alkalinity_meq_per_l"]

    def _dose_to_set_point(self, program: EventProgram, meq_per_l: float) -> None:
        """Where alkalinity is below the set point, half of what is missing is dosed as bicarbonate, with calcium."""
        volume, alkalinity = self._at("V"), self._at("S_ALK")
        program.put("everyone")
        program.put("where_below", source=alkalinity, factor=meq_per_l * self.plan.tank.water_volume_l)
        for source, factor in ((volume, 0.5 * meq_per_l), (alkalinity, -0.5)):
            for name, part in (("S_DIC", 1.0), ("S_Ca", 0.5)):
                program.put("add", target=self._at(name), source=source, factor=factor * part)
            self._ledger(program, "dose", source, (1.0, 0.0, 0.0, 0.0, 0.0), -factor)
        # last, because both lines above read the old value
        program.put("add", target=alkalinity, source=alkalinity, factor=-0.5)
        program.put("add", target=alkalinity, source=volume, factor=0.5 * meq_per_l)
        program.put("everyone")

    # -- meals -----------------------------------------------------------------------------------------------------
    def feed(self, program: EventProgram, meal: MealOccasion) -> None:
        """Food goes into its slot, times the member's portion."""
        place = self.food_place[meal.food_id]
        food = self.foods[place]
        row = self._row("portion", meal.meal_id, meal.by, str(meal.day), f"{meal.hour:.4f}")
        carbon = meal.food_g * food.carbon_mmol_per_g
        target, one = self._at(f"Q_{place + 1}"), self._at("one")
        program.put("add_drawn", target=target, source=one, extra=row, factor=carbon)
        for element, amount in zip(LEDGER_ELEMENTS, (*food.composition, 0.0), strict=True):
            if amount:
                program.put(
                    "add_drawn",
                    target=self._at(f"feed_{element}"),
                    source=one,
                    extra=row,
                    factor=-carbon * amount,
                )

    # -- chores ----------------------------------------------------------------------------------------------------
    def touches_water(self, chore: Chore) -> bool:
        """Whether a chore changes anything in the model, or has a condition to be noted."""
        silent = isinstance(chore.effect, (Other, FeederRefill, SkimmerCup))
        return not silent or chore.condition is not None

    def chore(self, program: EventProgram, chore: Chore, note: int | None) -> None:
        """Do a chore, where its condition was true at the last test."""
        if chore.condition is not None:
            self._where(program, chore.condition)
            if note is not None:
                program.put("note", extra=note)
        effect = chore.effect
        if isinstance(effect, WaterChange):
            self.water_change(program, effect.share_frac)
        elif isinstance(effect, Harvest):
            self._take(program, "A_R", effect.take_frac, "harvest")
        elif isinstance(effect, Siphon):
            self._siphon(program, effect)
        elif isinstance(effect, GlassClean):
            share = effect.share_frac * self.table["film_wiped_glass_frac"]
            self._take(program, "A_F", share * CARRIED_OFF_FRAC, "harvest")
        elif isinstance(effect, HandRemoval):
            self._remove(program, effect)
        elif isinstance(effect, SockChange):
            self._take(program, "X_SK", 1.0, "siphon")
        elif isinstance(effect, MediaChange):
            self._media(program, effect)
        elif isinstance(effect, TopOffRefill):
            self._top_off(program, effect)
        elif isinstance(effect, Test):
            self._test(program, effect, chore)
        elif isinstance(effect, Dose):
            self._dose(program, effect)
        if chore.condition is not None:
            program.put("everyone")

    def _where(self, program: EventProgram, condition: Condition) -> None:
        program.put("everyone")
        component, element = READ_OF_SERIES.get(condition.series, ("", ""))
        if component:
            bound = condition.value / atomic_mass_g_per_mol()[element] * 1000.0
        elif condition.series == "alkalinity_meq_per_l":
            component, bound = "S_ALK", condition.value * 1000.0
        elif condition.series == "alkalinity_dkh":
            component, bound = "S_ALK", condition.value / DKH_PER_MEQ * 1000.0
        else:
            return
        kind = "where_above" if condition.comparison in (">", ">=") else "where_below"
        program.put(kind, source=self._at(f"read_{component}"), factor=bound)

    def water_change(self, program: EventProgram, share: float) -> None:
        """Take a share of what is dissolved and suspended; bring as much new sea water."""
        for component in self.matrix.components:
            if component.suspended:
                self._take(program, component.name, share, "water_change")
        litre = {
            "S_ALK": self.table["new_alkalinity_meq_per_l"],
            "S_DIC": self.table["new_alkalinity_meq_per_l"] * CARBON_PER_ALKALINITY,
            "S_Ca": self.table["new_calcium_mmol_per_l"],
            "S_NO3": self.table["new_nitrate_umol_per_l"] * 1e-3,
            "S_PO4": self.table["new_phosphate_umol_per_l"] * 1e-3,
        }
        for name, amount in litre.items():
            self._bring(program, name, "V", share * amount, "water_change")
        salinity = self.plan.tank.salinity_psu
        program.put("add", target=self._at("salt"), source=self._at("salt"), factor=-share)
        program.put("add", target=self._at("salt"), source=self._at("V"), factor=share * salinity)

    def _siphon(self, program: EventProgram, effect: Siphon) -> None:
        share = effect.share_frac * 0.5
        for name in SETTLED:
            self._take(program, name, share, "siphon")

    def _remove(self, program: EventProgram, effect: HandRemoval) -> None:
        names = {"coralline": ("A_C",)}.get(effect.of, ("A_T", "A_N"))
        for name in names:
            self._take(program, name, effect.share_frac, "harvest")

    def _media(self, program: EventProgram, effect: MediaChange) -> None:
        if effect.kind == "iron_oxide":
            self._take(program, "P_FE", effect.share_frac, "media")
            old = self._at("m_fe")
            program.put("add", target=old, source=old, factor=-effect.share_frac)
            program.put("add", target=old, source=self._at("one"), factor=effect.medium_g)
        else:
            full = self.table["carbon_full_g_per_l"] * self.plan.tank.water_volume_l
            program.put(
                "set",
                target=self._at("carbon"),
                source=self._at("one"),
                factor=min(2.0, effect.medium_g / full),
            )

    def _top_off(self, program: EventProgram, effect: TopOffRefill) -> None:
        """A reservoir is filled; or the tank itself is topped up to its mark, which changes no amount of salt."""
        if effect.device is not None:
            program.put("set", target=self._at("reservoir"), source=self._at("one"), factor=effect.water_l)
        program.put("set", target=self._at("V"), source=self._at("one"), factor=self.plan.tank.water_volume_l)

    def _test(self, program: EventProgram, effect: Test, chore: Chore) -> None:
        wanted = {READ_OF_SERIES[s][0] for s in effect.series if s in READ_OF_SERIES}
        if any(series.startswith("alkalinity") for series in effect.series):
            wanted.add("S_ALK")
        if any(series.startswith("calcium") for series in effect.series):
            wanted.add("S_Ca")
        for component in sorted(wanted):
            row = self._row("kit", component, chore.id)
            program.put(
                "read",
                target=self._at(f"read_{component}"),
                source=self._at(component),
                extra=row,
                factor=1000.0,
            )

    def _dose(self, program: EventProgram, effect: Dose) -> None:
        if effect.kind == "pods" and effect.value:
            self._bring(program, "Z_PC", "one", effect.value * 7.0, "animals")


def reservoir_l(plan: Plan) -> float:
    """Give what the top-off reservoirs hold when full; 0 where the plan has none or does not say. [L]"""
    return sum(device.count * (number_of(device, "reservoir_l") or 0.0) for device in devices_of(plan, "ato"))


def _pools() -> tuple[str, ...]:
    from backreef.models.mouths import POOLS

    return POOLS
