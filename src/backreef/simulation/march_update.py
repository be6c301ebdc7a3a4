"""What the slots owe to eagerness, taken off the shared step matrix for all slots together in one loop."""

from __future__ import annotations

from typing import Any

from llvmlite import ir

from backreef.simulation.ir_blocks import POINTER, WHOLE, Blocks
from backreef.simulation.march_frame import Frame
from backreef.simulation.slot_programs import store_at


def write_slot_update(frame: Frame) -> Any:
    """Write `slot_update(m, store, slots)`: m[row, column] -= sum over slots of effect[row] eager[column].

    The entries that slots touch stand first in `m`, row by row; a row of them stays in registers while
    all slots are taken off it.
    """
    kind = ir.FunctionType(ir.VoidType(), [POINTER, POINTER, WHOLE])
    function = ir.Function(frame.module, kind, "kernel_slot_update")
    function.linkage = "internal"
    function.attributes.add("nounwind")
    c = Blocks(function, frame.lanes)
    matrix, store, slots = function.args
    at = store_at(frame.kernel.recording)
    width = at.columns
    with c.counted(c.whole(at.rows)) as row:
        first = c.b.mul(row, c.whole(width))
        before = [c.load_row(matrix, c.b.add(first, c.whole(i))) for i in range(width)]
        after = _over_slots(c, frame, before, row, store, slots)
        for i, value in enumerate(after):
            c.store_row(value, matrix, c.b.add(first, c.whole(i)))
    c.b.ret_void()
    return function


def _over_slots(c: Blocks, frame: Frame, values: list[Any], row: Any, store: Any, slots: Any) -> list[Any]:
    """Carry a row of the matrix in registers through a loop over the slots."""
    b, entry, at = c.b, c.b.block, store_at(frame.kernel.recording)
    head, body, done = (c.function.append_basic_block(name) for name in ("slots", "slot", "row_done"))
    b.branch(head)
    b.position_at_end(head)
    slot = b.phi(WHOLE)
    slot.add_incoming(c.whole(0), entry)
    carried = [b.phi(c.row_type) for _ in values]
    for phi, value in zip(carried, values, strict=True):
        phi.add_incoming(value, entry)
    b.cbranch(b.icmp_signed("<", slot, slots), body, done)
    b.position_at_end(body)
    base = c.row_at(store, b.mul(slot, c.whole(frame.kernel.slot_store_rows)))
    effect = b.fneg(c.load_row(base, b.add(row, c.whole(at.effect))))
    for i, phi in enumerate(carried):
        less = c.fused(effect, c.load_row(base, at.eager + i), phi)
        phi.add_incoming(less, body)
    slot.add_incoming(b.add(slot, c.whole(1)), body)
    b.branch(head)
    b.position_at_end(done)
    return carried
