"""Every number that a page for a terminal prints, with the figure that it can be asked as.

Such a page has no links. But what it prints of a forecast that is asked about are numbers that know how they
came about, so each says of itself whose it is while it is written down.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from unittest import mock

from backreef.usecases.told_numbers import Number
from backreef.working.number import Worked
from backreef.working.steps import Step
from tests.number_census import DATES, NUMBERS, agrees, named_numbers

FIRST = 0xF0000
"""Letters that no page uses: one for each number."""
_MARKED = re.compile("[\U000f0000-\U000fffff]" + NUMBERS.pattern.replace(r"(?<![\w.,])", ""))
_MOST_STEPS = 400


@contextmanager
def marked(numbers: Iterable[Number]) -> Iterator[list[str]]:
    """Numbers that know how they came about print a letter of their own first; yields those of no figure."""
    known = {
        id(one.value.step): chr(FIRST + place)
        for place, one in enumerate(numbers)
        if one.title and isinstance(one.value, Worked)
    }
    lost: list[str] = []

    def written(number: Worked, form: str) -> str:
        plain = float.__format__(number, form)
        mark = _mark(number.step, known)
        lost.extend([] if mark else [plain])
        return f"{mark}{plain}"

    with mock.patch.object(Worked, "__format__", written):
        yield lost


def _mark(step: Step, known: dict[int, str]) -> str:
    """The letter of the nearest figure from which a number was made; empty for none."""
    seen: set[int] = set()
    waiting = [step]
    while waiting and len(seen) < _MOST_STEPS:
        one = waiting.pop(0)
        if id(one) in known:
            return known[id(one)]
        if id(one) not in seen:
            seen.add(id(one))
            waiting.extend(one.args)
    return ""


def faults_of_text(
    draw: Callable[[], str],
    numbers: Iterable[Number],
    kind: str,
    names: Collection[str],
    values_of: Callable[[str], Collection[float]] = lambda _: (),
) -> tuple[list[str], int]:
    """Numbers of a page that neither are figures nor are named with a reason; and how many are figures.

    Named is a pattern of words around a number; one that is no longer needed is a fault too. Where it says of
    which figures its numbers are, they must be `values_of` these.
    """
    rules = named_numbers(kind)
    with marked(numbers) as lost:
        text = draw()
    faults: list[str] = []
    used: Counter[str] = Counter()
    figures = 0
    for line in text.splitlines():
        plain = DATES.sub("", line)
        for name in names:
            plain = plain.replace(name, "")
        figures += len(_MARKED.findall(plain))
        plain = _MARKED.sub("@", plain)
        for rule in rules:
            said = [found[0] for found in re.finditer(rule["said"], plain)]
            used[rule["said"]] += len(said)
            plain = re.sub(rule["said"], "", plain)
            if said and "figures" in rule:
                values = values_of(rule["figures"])
                told = [number for words in said for number in NUMBERS.findall(words)]
                lost += [one for one in told if not any(agrees(one, value) for value in values)]
        faults += [f"{number} in '{line.strip()}'" for number in NUMBERS.findall(plain)]
    faults += [f"{number} is worked out, and no figure" for number in lost]
    unused = [rule["said"] for rule in rules if not used[rule["said"]]]
    return [*faults, *(f"no longer needed: {said}" for said in unused)], figures
