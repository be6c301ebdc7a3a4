"""A few structured helpers over llvmlite's builder: rows of lanes, counted loops, branches."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from llvmlite import ir

DOUBLE = ir.DoubleType()
WHOLE = ir.IntType(64)
SHORT = ir.IntType(32)
FLAG = ir.IntType(1)
POINTER = ir.PointerType()


class Blocks:
    """A function under construction."""

    def __init__(self, function: Any, lanes: int) -> None:
        self.function = function
        self.lanes = lanes
        self.row_type = DOUBLE if lanes == 1 else ir.VectorType(DOUBLE, lanes)
        self.b = ir.IRBuilder(function.append_basic_block("entry"))
        self.entry = self.b.block

    # -- numbers -------------------------------------------------------------------------------------------
    @staticmethod
    def whole(value: int) -> Any:
        """A 64-bit whole number."""
        return ir.Constant(WHOLE, value)

    @staticmethod
    def number(value: float) -> Any:
        """A double."""
        return ir.Constant(DOUBLE, value)

    def lanes_of(self, value: Any) -> Any:
        """A number in all lanes."""
        if self.lanes == 1:
            return value
        first = self.b.insert_element(ir.Constant(self.row_type, ir.Undefined), value, ir.Constant(SHORT, 0))
        mask = ir.Constant(ir.VectorType(SHORT, self.lanes), [0] * self.lanes)
        return self.b.shuffle_vector(first, ir.Constant(self.row_type, ir.Undefined), mask)

    def constant_row(self, value: float) -> Any:
        """A constant in all lanes."""
        return ir.Constant(self.row_type, value if self.lanes == 1 else [value] * self.lanes)

    def fused(self, left: Any, right: Any, more: Any) -> Any:
        """Left times right plus more, rounded once."""
        suffix = "f64" if self.lanes == 1 else f"v{self.lanes}f64"
        name = f"llvm.fma.{suffix}"
        declared = self.function.module.globals.get(name)
        if declared is None:
            kind = ir.FunctionType(self.row_type, [self.row_type] * 3)
            declared = ir.Function(self.function.module, kind, name)
        return self.b.call(declared, [left, right, more])

    # -- memory --------------------------------------------------------------------------------------------
    def row_at(self, pointer: Any, index: Any) -> Any:
        """Pointer to a row of lanes."""
        return self.b.gep(pointer, [self._index(index)], source_etype=self.row_type)

    def load_row(self, pointer: Any, index: Any) -> Any:
        """Load a row of lanes."""
        return self.b.load(self.row_at(pointer, index), align=8 * self.lanes, typ=self.row_type)

    def store_row(self, value: Any, pointer: Any, index: Any) -> None:
        """Store a row of lanes."""
        self.b.store(value, self.row_at(pointer, index), align=8 * self.lanes)

    def load(self, pointer: Any, index: Any, kind: Any = DOUBLE) -> Any:
        """Load a single number."""
        return self.b.load(self.b.gep(pointer, [self._index(index)], source_etype=kind), typ=kind)

    def store(self, value: Any, pointer: Any, index: Any, kind: Any = DOUBLE) -> None:
        """Store a single number."""
        self.b.store(value, self.b.gep(pointer, [self._index(index)], source_etype=kind))

    def variable(self, kind: Any) -> Any:
        """A local variable, made in the entry block."""
        with self.b.goto_entry_block():
            return self.b.alloca(kind)

    def zero_row(self) -> Any:
        """A local row of lanes that begins as 0."""
        place = self.variable(self.row_type)
        self.b.store(self.constant_row(0.0), place)
        return place

    def _index(self, index: Any) -> Any:
        return self.whole(index) if isinstance(index, int) else index

    # -- control -------------------------------------------------------------------------------------------
    @contextmanager
    def counted(self, until: Any, since: Any = 0) -> Iterator[Any]:
        """Loop over whole numbers from `since` up to, without, `until`."""
        before = self.b.block
        head, body, done = (self.function.append_basic_block(name) for name in ("head", "body", "done"))
        self.b.branch(head)
        self.b.position_at_end(head)
        index = self.b.phi(WHOLE)
        index.add_incoming(self._index(since), before)
        self.b.cbranch(self.b.icmp_signed("<", index, self._index(until)), body, done)
        self.b.position_at_end(body)
        yield index
        following = self.b.add(index, self.whole(1))
        index.add_incoming(following, self.b.block)
        self.b.branch(head)
        self.b.position_at_end(done)

    @contextmanager
    def repeat(self) -> Iterator[Any]:
        """Loop until the block that `yield` hands out is branched to."""
        head, done = self.function.append_basic_block("again"), self.function.append_basic_block("enough")
        self.b.branch(head)
        self.b.position_at_end(head)
        yield done
        self.b.branch(head)
        self.b.position_at_end(done)

    # -- reductions ----------------------------------------------------------------------------------------
    def greatest(self, row: Any) -> Any:
        """Largest of the lanes (NaN is ignored; test sums for it)."""
        return self._reduce("fmax", row)

    def least(self, row: Any) -> Any:
        """Smallest of the lanes."""
        return self._reduce("fmin", row)

    def _reduce(self, kind: str, row: Any) -> Any:
        if self.lanes == 1:
            return row
        name = f"llvm.vector.reduce.{kind}.v{self.lanes}f64"
        declared = self.function.module.globals.get(name)
        if declared is None:
            declared = ir.Function(self.function.module, ir.FunctionType(DOUBLE, [self.row_type]), name)
        return self.b.call(declared, [row])

    def larger(self, left: Any, right: Any) -> Any:
        """Lane by lane, the larger value."""
        return self.b.select(self.b.fcmp_ordered(">", left, right), left, right)

    def smaller(self, left: Any, right: Any) -> Any:
        """Lane by lane, the smaller value."""
        return self.b.select(self.b.fcmp_ordered("<", left, right), left, right)
