"""A working as a tree of named quantities: what was asked, down to what was read somewhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from backreef.working.formula import Written, value_of
from backreef.working.number import step_of
from backreef.working.steps import LAW, LEAF, LITERAL, NAMED, About, InItsUnit, Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """A quantity with a name: a leaf, or a formula of others."""

    id: str
    about: About
    value: InItsUnit
    formula: str = ""
    """Of the symbols of `inputs`; empty for a leaf."""
    inputs: Mapping[str, str]
    """Symbol of the formula -> id of the node that it stands for."""

    @property
    def is_leaf(self) -> bool:
        """Whether it was read somewhere and not worked out."""
        return not self.formula


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """All quantities behind a number; the first is the number itself."""

    nodes: tuple[Node, ...]

    @property
    def root(self) -> Node:
        """The number that was asked for."""
        return self.nodes[0]

    def node(self, node_id: str) -> Node:
        """Give a quantity by its id."""
        return self.nodes[int(node_id.removeprefix("n")) - 1]

    def leaves(self) -> tuple[Node, ...]:
        """Give what was read somewhere."""
        return tuple(node for node in self.nodes if node.is_leaf)

    def recomputed(self) -> InItsUnit:
        """Give the number anew, by the formulas, from the leaves alone."""
        known: dict[str, InItsUnit] = {}

        def value(node_id: str) -> InItsUnit:
            if node_id not in known:
                node = self.node(node_id)
                inputs = {symbol: value(one) for symbol, one in node.inputs.items()}
                known[node_id] = value_of(node.formula, inputs) if node.formula else node.value
            return known[node_id]

        return value(self.root.id)


def tree_of(value: InItsUnit, about: About) -> Tree:
    """Give the tree behind a number, which is called as `about` says if it has no name yet."""
    step = step_of(value)
    if step.op not in (NAMED, LEAF):
        step = Step(NAMED, step.value, (step,), about)
    order = _in_order(step)
    ids = {id(each): f"n{number + 1}" for number, each in enumerate(order)}
    return Tree(nodes=tuple(_node(each, ids) for each in order))


def _in_order(root: Step) -> list[Step]:
    """The quantities with names: each before its inputs, in the order in which formulas name them."""
    order: list[Step] = []
    seen: set[int] = set()
    waiting = [root]
    while waiting:
        step = waiting.pop()
        if id(step) in seen:
            continue
        seen.add(id(step))
        order.append(step)
        if step.op == NAMED:
            written = Written()
            written.text(step.args[0])
            waiting.extend(reversed(written.symbols.values()))
    return order


def _node(step: Step, ids: Mapping[int, str]) -> Node:
    about = step.about or About(symbol="x", key="", kind=LAW)
    if step.op == LEAF:
        return Node(id=ids[id(step)], about=about, value=step.value, inputs={})
    written = Written()
    text = written.text(step.args[0])
    inputs = {symbol: ids[id(one)] for symbol, one in written.symbols.items()}
    return Node(id=ids[id(step)], about=about, value=step.value, formula=text, inputs=inputs)


def literals_of(value: InItsUnit) -> set[InItsUnit]:
    """Give the numbers of all formulas behind a number that have no name."""
    found: set[InItsUnit] = set()
    seen: set[int] = set()
    waiting = [step_of(value)]
    while waiting:
        step = waiting.pop()
        if id(step) not in seen:
            seen.add(id(step))
            if step.op == LITERAL:
                found.add(step.value)
            waiting.extend(step.args)
    return found
