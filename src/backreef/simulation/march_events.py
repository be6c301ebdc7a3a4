"""Events of the compiled march: row operations under a mask of lanes, midnights, the output of a day."""

from __future__ import annotations

from typing import Any

from llvmlite import ir

from backreef.simulation.events import OPERATIONS
from backreef.simulation.ir_blocks import SHORT, WHOLE
from backreef.simulation.layout import NATURE, SLOT_MARCHED
from backreef.simulation.march_frame import Frame
from backreef.simulation.signature import EXTREMES


class EventWriter:
    """Writes what happens before a segment."""

    def __init__(self, frame: Frame) -> None:
        self.frame, self.c = frame, frame.c

    def write(self, segment: Any) -> None:
        """Carry out the events before a segment."""
        c, b = self.c, self.c.b
        first = c.load(self.frame.p["event_from"], segment, WHOLE)
        last = c.load(self.frame.p["event_from"], b.add(segment, c.whole(1)), WHOLE)
        c.store_row(c.constant_row(1.0), self.frame.work["mask"], 0)
        with c.counted(last, first) as event:
            self._event(event)

    def _event(self, event: Any) -> None:
        c, b = self.c, self.c.b
        operation = c.load(self.frame.p["operations"], event, SHORT)
        target = b.sext(c.load(self.frame.p["targets"], event, SHORT), WHOLE)
        source = b.sext(c.load(self.frame.p["sources"], event, SHORT), WHOLE)
        extra = b.sext(c.load(self.frame.p["extras"], event, SHORT), WHOLE)
        factor = c.lanes_of(c.load(self.frame.p["factors"], event))
        after = c.function.append_basic_block("next_event")
        choice = b.switch(operation, after)
        for number, name in enumerate(OPERATIONS):
            block = c.function.append_basic_block(name)
            choice.add_case(ir.Constant(SHORT, number), block)
            b.position_at_end(block)
            getattr(self, f"_event_{name}")(target, source, extra, factor)
            b.branch(after)
        b.position_at_end(after)

    def _event_add(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        c, b, state = self.c, self.c.b, self.frame.state
        moved = b.fmul(b.fmul(factor, c.load_row(self.frame.work["mask"], 0)), c.load_row(state, source))
        c.store_row(b.fadd(c.load_row(state, target), moved), state, target)

    def _event_add_drawn(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        drawn = self.c.b.fmul(factor, self.c.load_row(self.frame.p["lane_table"], extra))
        self._event_add(target, source, extra, drawn)

    def _event_set(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        c, b, state = self.c, self.c.b, self.frame.state
        old, mask = c.load_row(state, target), c.load_row(self.frame.work["mask"], 0)
        new = b.fmul(factor, c.load_row(state, source))
        c.store_row(b.fadd(old, b.fmul(mask, b.fsub(new, old))), state, target)

    def _event_read(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        """A test: amount over volume, with the kit's error of this reading."""
        c, b, state = self.c, self.c.b, self.frame.state
        old, mask = c.load_row(state, target), c.load_row(self.frame.work["mask"], 0)
        volume = c.load_row(state, self.frame.layout.address("V"))
        seen = b.fdiv(b.fmul(factor, c.load_row(state, source)), volume)
        seen = b.fmul(seen, c.load_row(self.frame.p["lane_table"], extra))
        c.store_row(b.fadd(old, b.fmul(mask, b.fsub(seen, old))), state, target)

    def _event_everyone(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self.c.store_row(self.c.constant_row(1.0), self.frame.work["mask"], 0)

    def _narrow(self, comparison: str, source: Any, factor: Any) -> None:
        c, b = self.c, self.c.b
        test = b.fcmp_ordered(comparison, c.load_row(self.frame.state, source), factor)
        kept = b.select(test, c.load_row(self.frame.work["mask"], 0), c.constant_row(0.0))
        c.store_row(kept, self.frame.work["mask"], 0)

    def _event_where_above(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self._narrow(">", source, factor)

    def _event_where_below(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self._narrow("<", source, factor)

    def _event_note(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        self.c.store_row(self.c.load_row(self.frame.work["mask"], 0), self.frame.p["fired"], extra)

    def _event_midnight(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        c, b, frame = self.c, self.c.b, self.frame
        fallen, most = frame.work["fallen"], frame.count["thresholds"]
        with c.counted(frame.count["slots"]) as slot:
            own = frame.slot_state(slot)
            hazard = c.load_row(own, SLOT_MARCHED.index("hazard"))
            base = b.mul(slot, most)
            c.store_row(c.constant_row(0.0), fallen, 0)
            with c.counted(most) as number:
                limit = c.load_row(frame.p["thresholds"], b.add(base, number))
                passed = b.fcmp_ordered(">", hazard, limit)
                one = b.select(passed, c.constant_row(1.0), c.constant_row(0.0))
                c.store_row(b.fadd(c.load_row(fallen, 0), one), fallen, 0)
            arrays = frame.arrays(frame.y) | {"ys": own, "kept": frame.slot_kept(slot), "out": frame.y}
            arrays |= {"fallen": fallen, "traits": frame.slot_traits(slot)}
            arrays |= {"nature": frame.block(frame.p["nature"], slot, len(NATURE))}
            frame.call("midnight", **arrays)

    def _event_write_day(self, target: Any, source: Any, extra: Any, factor: Any) -> None:
        """Copy the whole state to the output of the day; begin the extremes of the next."""
        c, b = self.c, self.c.b
        day = b.load(self.frame.day, typ=WHOLE)
        rows = self.frame.count["rows"]
        base = b.mul(day, rows)
        with c.counted(rows) as row:
            c.store_row(c.load_row(self.frame.state, row), self.frame.p["output"], b.add(base, row))
        b.store(b.add(day, c.whole(1)), self.frame.day)
        for name, (_, start) in EXTREMES.items():
            c.store_row(c.constant_row(start), self.frame.state, self.frame.layout.address(name))
