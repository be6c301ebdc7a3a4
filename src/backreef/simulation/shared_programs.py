"""Programs of the shared system: what holds for a segment, rates, their derivatives, the room, midnights."""

from __future__ import annotations

from backreef.models.carbonate import hydrogen_near
from backreef.models.mathops import Quantity
from backreef.models.midnight import midnight
from backreef.models.mouths import SLOT_TRAITS
from backreef.models.room import after
from backreef.models.symbols import Symbol
from backreef.models.water import (
    OBSERVED_NAMES,
    SEGMENT_NAMES,
    carbonate_constants,
    segment_terms,
    water_terms,
)
from backreef.simulation.layout import LIGHTS, NATURE, REGISTERS, SLOT_KEPT, SLOT_MARCHED
from backreef.simulation.program import Program
from backreef.simulation.recording import Known, Recording

SHIFT, SUM_WEIGHT, SUM_TIME_WEIGHT, LENGTH = range(4)
"""Numbers of a step in the array `step`: one over gamma h (for the room: days), how much this stage counts
for sums, how much the slope in time does, and the length of the step in days."""
HYDROGEN, HYDROGEN_BEFORE = range(2)
"""Rows of `acidity`: the hydrogen ion of the water that is looked at, and of the start of the step."""
Entries = dict[tuple[int, int], Symbol]
"""Derivatives of components (by row) to active states (by place)."""


def recorded(program: Program, value: Quantity) -> Symbol:
    """Give a value as a symbol; a component that no row changes has the number 0."""
    return program.recorder.symbol(value)


def segment(recording: Recording) -> Program:
    """Record the terms that temperature, salinity, volume and pumps fix for a segment."""
    program = Program("segment")
    known = recording.known(program)
    for name in SEGMENT_NAMES:
        del known[name]
    terms = segment_terms(known)
    for index, name in enumerate(SEGMENT_NAMES):
        program.write("out", index, terms[name])
    return program


def _known_with_hydrogen(recording: Recording, program: Program) -> Known:
    """Give what laws use; the hydrogen ion has been solved for already."""
    known = recording.known(program)
    known["hydrogen"] = program.read("acidity", HYDROGEN)
    return known | water_terms(known)


def acidity(recording: Recording) -> Program:
    """Record the hydrogen ion and the pH at the start of a step, from nothing but the water."""
    program = Program("acidity")
    terms = water_terms(recording.known(program))
    for row in (HYDROGEN, HYDROGEN_BEFORE):
        program.write("acidity", row, terms["hydrogen"])
    program.write("seen", OBSERVED_NAMES.index("ph"), terms["ph"])
    return program


def acidity_near(recording: Recording) -> Program:
    """Record the hydrogen ion within a step, from that of its start."""
    program = Program("acidity_near")
    known = recording.known(program)
    dic, alkalinity = (known[name] * known["per_l"] for name in ("S_DIC", "S_ALK"))
    start = program.read("acidity", HYDROGEN_BEFORE)
    found = hydrogen_near(dic, alkalinity, start, carbonate_constants(known))
    program.write("acidity", HYDROGEN, found)
    return program


def shared_rates(recording: Recording) -> Program:
    """Record the change of every component by the table, and what is observed at this instant but the pH."""
    program = Program("shared_rates")
    known = _known_with_hydrogen(recording, program)
    change = recording.matrix.derivatives(known)
    weight = program.read("step", SUM_WEIGHT)
    for index, name in enumerate(recording.layout.components):
        if name in recording.active:
            program.write("out", index, change[name])
        else:
            ledger = index - len(recording.active)
            program.write("sums", ledger, recorded(program, change[name]) * weight, add=True)
    for index, name in enumerate(OBSERVED_NAMES):
        if name != "ph":
            program.write("seen", index, known[name])
    return program


def shared_gradients(recording: Recording, program: Program) -> tuple[Entries, dict[int, Symbol]]:
    """Record derivatives of components by active states and, by row, by time; of active rows the negatives.

    The step matrix holds the negatives, and a coefficient costs nothing to turn.
    """
    known = _known_with_hydrogen(recording, program)
    states = [known[name] for name in recording.active]
    wanted = [*states, *(known[name] for name in LIGHTS)]
    rates = recording.matrix.rates(known)
    at = {symbol.place: number for number, symbol in enumerate(states)}
    slope = {known[shape].place: known[change] for shape, change in LIGHTS.items()}
    entries: Entries = {}
    in_time: dict[int, Symbol] = {}
    outputs = [program.recorder.symbol(rates[process.row.id]) for process in recording.matrix.processes]
    gradients = program.recorder.gradients(outputs, wanted)
    for process, gradient in zip(recording.matrix.processes, gradients, strict=True):
        for name in process.changes if gradient else ():
            row = recording.layout.component(name)
            coefficient = process.coefficient(name, known)
            turned = coefficient if row >= len(states) else -coefficient
            for place, derivative in sorted(gradient.items()):
                if place in at:
                    key, term = (row, at[place]), turned * derivative
                    entries[key] = entries[key] + term if key in entries else term
                else:
                    moved = coefficient * derivative * slope[place]
                    in_time[row] = in_time[row] + moved if row in in_time else moved
    return entries, in_time


def room(recording: Recording) -> Program:
    """Record temperature, volume, salinity and fading media after a segment of `step[0]` days."""
    program = Program("room")
    changed = after(recording.known(program), program.read("step", SHIFT))
    for name, value in changed.items():
        program.write("r", REGISTERS.index(name), value)
    return program


def midnights(recording: Recording) -> Program:
    """Record deaths, growth and new traits of a slot; carcasses go to the bottom."""
    program = Program("midnight")
    known = recording.known(program)
    slot = {name: program.read("ys", i) for i, name in enumerate(SLOT_MARCHED)}
    slot |= {name: program.read("kept", i) for i, name in enumerate(SLOT_KEPT)}
    nature = {name: program.read("nature", i) for i, name in enumerate(NATURE)}
    amounts, traits, given = midnight(slot, nature, known, program.read("fallen", 0), recording.body)
    for name, value in amounts.items():
        if name in SLOT_MARCHED:
            program.write("ys", SLOT_MARCHED.index(name), value)
        else:
            program.write("kept", SLOT_KEPT.index(name), value)
    for name, value in traits.items():
        program.write("traits", SLOT_TRAITS.index(name), value)
    for name, value in given.items():
        program.write("out", recording.layout.component(name), value, add=True)
    return program
