"""What a first day, an arrival, a meal or a device does to the state, as events with their ledgers."""

from __future__ import annotations

from backreef.aquarium.plan import DeviceEntry, Plan
from backreef.catalogue.entries import Catalogue
from backreef.models.matrix import packaged_matrix
from backreef.models.mouths import POOLS
from backreef.models.room import WEARING
from backreef.schedule.meals import MealOccasion
from backreef.simulation.bookings import CARBON_ALONE, Bookings
from backreef.simulation.chore_events import OFF, READ_OF_SERIES, ChoreEvents
from backreef.simulation.cohorts import Cohort, lives_on_light
from backreef.simulation.events import Drawn, EventProgram, InItsUnit
from backreef.simulation.foods import FoodSlot
from backreef.simulation.layout import LEDGER_ELEMENTS, OPERATORS, Layout
from backreef.simulation.system import (
    devices_of,
    number_of,
    surface_m2,
    swapped_frac_per_d,
    tidy_algae_mmol,
)
from backreef.simulation.tables import system_number
from backreef.units import atomic_mass_g_per_mol

READ = ("S_NH", "S_NO2", "S_NO3", "S_PO4", "S_ALK", "S_Ca")
"""Components of which the last reading is kept."""
MMOL_PER_MOL = 1000.0
CALCIUM_PER_ALKALINITY = 0.5
"""Two charges to each calcium: what carbonate takes, dosing brings back."""


class Operators:
    """Writes events for one plan."""

    def __init__(
        self,
        plan: Plan,
        catalogue: Catalogue,
        layout: Layout,
        *,
        cohorts: list[Cohort],
        foods: tuple[FoodSlot, ...],
        drawn: Drawn,
    ) -> None:
        self.plan, self.catalogue, self.layout = plan, catalogue, layout
        self.cohorts, self.foods = cohorts, foods
        self.matrix = packaged_matrix()
        self.book = Bookings(self.matrix, layout, drawn)
        self.chores = ChoreEvents(plan, catalogue, self.book)
        self.food_place = {food.food.id: index for index, food in enumerate(foods)}
        self.surfaces = self._surface_arrivals()
        self._daily: dict[tuple[bool, bool, bool], EventProgram] = {}
        """What a day's devices do, by what of them runs."""

    # --- beginnings -----------------------------------------------------------------------------------------

    def begin(self, program: EventProgram) -> None:
        """The first day: books start at nought; nutrients are set to the readings the plan gives."""
        book, tank, slots = self.book, self.plan.tank, len(self.cohorts)
        doors = (f"{door}_{element}" for door in OPERATORS for element in LEDGER_ELEMENTS)
        for ledger in (*self.layout.components[self.layout.active :], *doors, "evaporated_l", "spilled_l"):
            book.set_to(program, ledger, 0.0)
        book.set_to(program, "V", tank.water_volume_l)
        book.set_to(program, "salt", tank.salinity_psu * tank.water_volume_l)
        book.set_to(program, "reservoir", sum(self.chores.top_offs.values()))
        book.set_to(program, "float_fouled", 0.0)
        for instrument in OFF.values():  # what the plan says of the first day was measured
            book.set_to(program, instrument, 0.0)
        for machine in WEARING:  # when they were served last nobody says: they are in ordinary care
            book.set_to(program, machine[0], 1.0)
        self._tidy(program)
        for slot in range(slots):
            for name in ("got", "need", *(f"ate_{pool}" for pool in POOLS)):
                row = book.slot_row(slot, name, slots)
                program.put("set", target=row, source=book.at("one"), factor=0.0)
        for name, value in self._readings().items():
            book.set_to(program, name, value, source="V")
        for name in READ:
            self.chores.read(program, name, book.drawn.row("exact"))

    def _tidy(self, program: EventProgram) -> None:
        """Hair and nuisance algae begin no thicker than a tidy tank's: a plan says so if it is overgrown."""
        for name, most in tidy_algae_mmol(self.plan).items():
            program.put("everyone")
            program.put("where_above", source=self.book.at(name), factor=most)
            self.book.set_to(program, name, most)
        program.put("everyone")

    def _readings(self) -> dict[str, InItsUnit]:
        """Component -> mmol per litre, from the plan's readings or as in new sea water."""
        given, mass = self.plan.tank.start.readings, atomic_mass_g_per_mol()
        result = {
            component: given[series] / mass[element] if element else given[series]
            for series, (component, element) in READ_OF_SERIES.items()
            if series in given
        }
        result.setdefault("S_ALK", system_number("new_alkalinity_meq_per_l"))
        result.setdefault("S_Ca", system_number("new_calcium_mmol_per_l"))
        result["S_DIC"] = system_number("carbon_per_alkalinity_ratio") * result["S_ALK"]
        return result

    def settle_anew(self, program: EventProgram, slot: int, cohort: Cohort) -> None:
        """Residents begin the first day with the length the plan gives, whatever the spin-up made of them."""
        book, slots, one = self.book, len(self.cohorts), self.book.at("one")
        for name in ("structure", "reserve", "hazard", "lost", "arrived"):
            program.put("set", target=book.slot_row(slot, name, slots), source=one, factor=0.0)
        for name in ("structure", "reserve"):
            row = book.drawn.row("body", cohort.entry.id, name)
            target = book.slot_row(slot, name, slots)
            program.put("add_drawn", target=target, source=one, extra=row, factor=float(cohort.entry.count))
        arrived = book.slot_row(slot, "arrived", slots)
        program.put("add", target=arrived, source=one, factor=float(cohort.entry.count))

    def arrive(self, program: EventProgram, slot: int, cohort: Cohort) -> None:
        """Animals come: bodies by the member's own mass for their length."""
        book, slots, count = self.book, len(self.cohorts), float(cohort.entry.count)
        for name in ("structure", "reserve"):
            row = book.drawn.row("body", cohort.entry.id, name)
            target = book.slot_row(slot, name, slots)
            book.bring_drawn(program, target, row, count, content=book.flesh, door="animals")
        arrived = book.slot_row(slot, "arrived", slots)
        program.put("add", target=arrived, source=book.at("one"), factor=count)

    def _surface_arrivals(self) -> dict[int, float]:
        """Day -> living surface that comes, m2."""
        arrivals: dict[int, float] = {}
        for entry in self.plan.animals:
            species = self.catalogue.species[entry.species]
            if entry.arrives_on is not None and lives_on_light(species, self.catalogue.guilds[species.guild]):
                day = (entry.arrives_on - self.plan.start_on).days
                area_m2 = entry.count * surface_m2(entry.species, self.catalogue)
                arrivals[day] = arrivals.get(day, 0.0) + area_m2
        return arrivals

    def surfaces_arrive(self, program: EventProgram, day: int) -> None:
        """Corals, anemones and clams that come today."""
        area_m2 = self.surfaces.get(day)
        if area_m2:
            tissue = area_m2 * self.matrix.tables.parameters["T_coral"].value
            self.book.bring(program, "C_T", "one", tissue, "animals")
            self.book.bring(program, "C_S", "one", area_m2, "animals")
            reserve = tissue * system_number("coral_reserve_ratio")
            self.book.bring(program, "C_R", "one", reserve, "animals")

    # --- every day ------------------------------------------------------------------------------------------

    def daily(
        self, program: EventProgram, *, doses: bool = True, drains: bool = True, refills: bool = True
    ) -> None:
        """What devices do each day: make-up water, dosing, a daily part of an automatic water change."""
        running = (doses, drains, refills)
        if running not in self._daily:
            self._daily[running] = self._day(*running)
        program.follow(self._daily[running])

    def _day(self, doses: bool, drains: bool, refills: bool) -> EventProgram:  # noqa: FBT001
        program = EventProgram()
        self.chores.make_up(program)
        self._swap(program, drains=drains, refills=refills)
        for device in devices_of(self.plan, "doser", "reactor_ca") if doses else ():
            self._dose(program, device)
        for device in devices_of(self.plan, "carbon_dosing") if doses else ():
            carbon_g = number_of(device, "carbon_g_per_d") or 0.0
            mmol = carbon_g / atomic_mass_g_per_mol()["C"] * MMOL_PER_MOL
            self.book.bring(program, "S_CS", "one", device.count * mmol, "dose")
        return program

    def _swap(self, program: EventProgram, *, drains: bool, refills: bool) -> None:
        """A day's part of an automatic water change; with one pump standing, the other goes on alone."""
        share_frac = swapped_frac_per_d(self.plan)
        if share_frac and drains and refills:
            self.chores.water_change(program, share_frac)
        elif share_frac and drains:
            self.chores.drain(program, share_frac)
        elif share_frac and refills:
            self.chores.refill(program, share_frac * self.plan.tank.water_volume_l)

    def _dose(self, program: EventProgram, device: DeviceEntry) -> None:
        """Dose what the plan states, else towards the alkalinity of new sea water."""
        stated = number_of(device, "alkalinity_meq_per_l_per_d")
        if stated is None:
            self._dose_to_set_point(program, system_number("new_alkalinity_meq_per_l"))
            return
        for name, part in (("S_DIC", 1.0), ("S_Ca", CALCIUM_PER_ALKALINITY), ("S_ALK", 1.0)):
            self.book.bring(program, name, "one", stated * part * self.plan.tank.water_volume_l, "dose")

    def _dose_to_set_point(self, program: EventProgram, alkalinity_meq_per_l: float) -> None:
        """Dose a part of what is missing to the set point as bicarbonate, with calcium; nothing above it."""
        book, share = self.book, system_number("dose_of_missing_frac")
        volume, alkalinity = book.at("V"), book.at("S_ALK")
        litres = self.plan.tank.water_volume_l
        program.put("everyone")
        program.put("where_below", source=alkalinity, factor=alkalinity_meq_per_l * litres)
        for source, factor in ((volume, share * alkalinity_meq_per_l), (alkalinity, -share)):
            for name, part in (("S_DIC", 1.0), ("S_Ca", CALCIUM_PER_ALKALINITY)):
                program.put("add", target=book.at(name), source=source, factor=factor * part)
            book.ledger(program, "dose", source, CARBON_ALONE, -factor)
        # last, because both lines above read the old value
        program.put("add", target=alkalinity, source=alkalinity, factor=-share)
        program.put("add", target=alkalinity, source=volume, factor=share * alkalinity_meq_per_l)
        program.put("everyone")

    # --- meals ----------------------------------------------------------------------------------------------

    def feed(self, program: EventProgram, meal: MealOccasion, refused_frac: float = 0.0) -> None:
        """Food goes into its slot, times the member's portion; what is refused of it lies on the bottom."""
        book, place = self.book, self.food_place[meal.food_id]
        food = self.foods[place]
        row = book.drawn.row("portion", meal.meal_id, meal.by, str(meal.day), f"{meal.hour:.4f}")
        carbon = meal.food_g * food.carbon_mmol_per_g
        offered, content = carbon * (1.0 - refused_frac), (*food.composition, 0.0)
        book.bring_drawn(program, book.at(f"Q_{place + 1}"), row, offered, content=content, door="feed")
        if refused_frac > 0.0:
            for name, part in self._lying(food).items():
                amount = carbon * refused_frac * part
                book.bring_drawn(program, book.at(name), row, amount, content=book.content[name], door="feed")

    def _lying(self, food: FoodSlot) -> dict[str, float]:
        """What a mmol of carbon of a food becomes on the bottom."""
        shares = food.shares
        in_protein = self.matrix.tables.macronutrients["protein"]["phosphorus_per_carbon"]
        return {
            "X_FP": shares["protein"],
            "X_FL": shares["lipid"],
            "X_FC": shares["carbohydrate"],
            "X_FM": shares["phosphorus"] - in_protein * shares["protein"],
        }
