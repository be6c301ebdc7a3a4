"""A sieve for many plans that are judged after each other: one that breaks is left as soon as that is sure.

Members with weak tanks break again and again. Blocks in which many broke before are marched first, so that a
plan that breaks is known for it after few of them; the others come the longest first. A plan that holds is
marched for all, and whichever comes first changes no bit of what is said of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Sieve:
    """Which blocks of members broke before, and how many members may break."""

    hits_allowed: int = 0
    broke: dict[int, int] = field(default_factory=dict)
    """Block -> members of it that broke, in all plans so far."""
    steps: dict[int, int] = field(default_factory=dict)
    """Block -> steps of the last march of it: long ones are long in every plan."""

    @property
    def order(self) -> tuple[int, ...]:
        """The weakest blocks, then the longest, so that no core waits for one that was begun last."""
        weak = self.weakest_first
        longest = sorted(self.steps, key=lambda number: (-self.steps[number], number))
        return (*weak, *(number for number in longest if number not in weak))

    @property
    def weakest_first(self) -> tuple[int, ...]:
        """Blocks in which any broke, those with the most first."""
        hit = [number for number, members in self.broke.items() if members]
        return tuple(sorted(hit, key=lambda number: (-self.broke[number], number)))

    def note(self, block: int, members: int, steps: int) -> None:
        """Remember that so many members of a block broke in one plan more, and how long its march was."""
        self.broke[block] = self.broke.get(block, 0) + members
        self.steps[block] = steps
