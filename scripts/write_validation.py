"""Write docs/validation.md and its picture anew: every published case against what the functions give.

Run it from the root of a checkout: python scripts/write_validation.py

The cases are those of tests/reference/cases, computed by the functions that the tests themselves call.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module, resources
from pathlib import Path

from backreef.plots.markup import Safe, element, joined

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "validation.md"
PICTURE = ROOT / "docs" / "validation.svg"
HEAD = """# Predicted against published

Made by `python scripts/write_validation.py` from the cases of `tests/reference/cases`; do not edit. A test
holds it to them (tests/reference/test_validation_page.py). Each case says where its number comes from and how
near is near; the tests fail where it is not. Series, tanks and phenomena, which are no single numbers, are in
[the model against the world](trust_model.md).

![Predicted against published on logarithmic scales, one field for each subject; the line is where both
are equal](validation.svg)

The last column is how far the prediction is off, over what the case allows: 0 is equal, 1 the limit.
"""
TITLES = {
    "ammonia": "Toxic share of ammonia",
    "carbonate": "Carbonate system",
    "closed_forms": "Closed forms",
    "ecosystem_stoichiometry": "Stoichiometry",
    "excretion": "Excretion",
    "feed_energy": "Energy of feeds",
    "growth": "Growth",
    "metabolism": "Metabolism",
    "ration": "Rations",
    "seawater": "Sea water",
}
COLUMNS, SIDE, GAP, HEADROOM = 5, 150.0, 44.0, 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A case with what our function gives."""

    subject: str
    id: str
    published: float
    predicted: float
    off_ratio: float
    """How far off, over what the case allows."""
    source: str
    place: str


def points() -> list[Point]:
    """Every case of a single number, by subject, computed now."""
    if str(ROOT) not in sys.path:
        sys.path.insert(0, str(ROOT))
    from tests.reference.cases import FOLDER, Case, read

    found: list[Point] = []
    for runner in sorted((ROOT / "tests" / "reference").glob("test_*.py")):
        for name in re.findall(r'cases\("(\w+\.toml)"\)', runner.read_text(encoding="utf-8")):
            functions = import_module(f"tests.reference.{runner.stem}").FUNCTIONS
            for entry in read(name)["case"]:
                case = Case(**entry)
                predicted = float(functions[case.calls](**case.given))
                found.append(
                    Point(
                        subject=(FOLDER / name).stem,
                        id=case.id,
                        published=case.gives,
                        predicted=predicted,
                        off_ratio=_off_ratio(case, predicted),
                        source=case.source,
                        place=case.place,
                    )
                )
    return sorted(found, key=lambda point: point.subject)


def _off_ratio(case: object, predicted: float) -> float:
    from tests.reference.cases import Case

    assert isinstance(case, Case)  # noqa: S101  the caller made it
    if predicted == case.gives:
        return 0.0
    if case.absolute is not None:
        return abs(predicted - case.gives) / case.absolute if case.absolute else math.inf
    if case.relative is not None:
        return abs(predicted - case.gives) / (case.relative * max(abs(case.gives), abs(predicted)))
    assert case.factor is not None  # noqa: S101  one of the three is given
    return abs(math.log(predicted / case.gives)) / math.log(case.factor)


def by_subject(found: list[Point]) -> Iterator[tuple[str, list[Point]]]:
    """The points of each subject."""
    for subject in dict.fromkeys(point.subject for point in found):
        yield subject, [point for point in found if point.subject == subject]


# --- the page -----------------------------------------------------------------------------------------------


def page(found: list[Point]) -> str:
    """The whole page."""
    lines = [HEAD]
    for subject, mine in by_subject(found):
        lines += [f"## {TITLES[subject]}", ""]
        lines += ["| case | published | predicted | off | source |", "| --- | --- | --- | --- | --- |"]
        for point in mine:
            cells = (
                point.id,
                f"{point.published:.5g}",
                f"{point.predicted:.5g}",
                f"{point.off_ratio:.2f}",
                f"{point.source}; {point.place}",
            )
            lines.append(f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |")
        lines.append("")
    return "\n".join(lines)


# --- the picture --------------------------------------------------------------------------------------------


def picture(found: list[Point]) -> str:
    """One field a subject: published along, predicted up, both logarithmic; without values of 0 and below."""
    fields = list(by_subject(found))
    rows = -(-len(fields) // COLUMNS)
    width, height = COLUMNS * (SIDE + GAP) + GAP / 2, rows * (SIDE + HEADROOM + GAP) - GAP / 2
    style = resources.files("backreef.reports").joinpath("data", "chart.css").read_text(encoding="utf-8")
    own = "text { font: 12px var(--sans); fill: var(--ink) } .small { font-size: 10px; fill: var(--quiet) }"
    drawn = [
        _field(
            subject,
            mine,
            GAP + (n % COLUMNS) * (SIDE + GAP),
            HEADROOM + (n // COLUMNS) * (SIDE + HEADROOM + GAP),
        )
        for n, (subject, mine) in enumerate(fields)
    ]
    return (
        str(
            element(
                "svg",
                element("title", "Predicted against published"),
                element("desc", f"{len(found)} cases; docs/validation.md lists each."),
                element("style", Safe(f"\n{style}{own}\n")),
                element("rect", width=width, height=height, style="fill: var(--paper)"),
                *drawn,
                xmlns="http://www.w3.org/2000/svg",
                viewBox=f"0 0 {width:g} {height:g}",
                width=width,
                height=height,
                role="img",
            )
        )
        + "\n"
    )


def _field(subject: str, mine: list[Point], left: float, top: float) -> Safe:
    shown = [point for point in mine if point.published > 0 and point.predicted > 0]
    logs = [math.log10(value) for point in shown for value in (point.published, point.predicted)]
    low, high = math.floor(min(logs)), math.ceil(max(logs))

    def along(value: float) -> float:
        return left + SIDE * (math.log10(value) - low) / (high - low)

    def up(value: float) -> float:
        return top + SIDE * (high - math.log10(value)) / (high - low)

    dots = [
        element(
            "circle",
            element("title", f"{point.id}: published {point.published:.4g}, predicted {point.predicted:.4g}"),
            cx=along(point.published),
            cy=up(point.predicted),
            r=3,
            style="fill: var(--sea); fill-opacity: 0.6",
        )
        for point in shown
    ]
    thin = "fill: none; stroke: var(--hairline)"
    return joined(
        (
            element("text", f"{TITLES[subject]}, {len(shown)}", x=left, y=top - 8),
            element("rect", x=left, y=top, width=SIDE, height=SIDE, style=thin),
            element("line", x1=left, y1=top + SIDE, x2=left + SIDE, y2=top, style="stroke: var(--quiet)"),
            *dots,
            element("text", _power(low), x=left, y=top + SIDE + 13, class_="small"),
            element(
                "text", _power(high), x=left + SIDE, y=top + SIDE + 13, class_="small", text_anchor="end"
            ),
            element("text", _power(high), x=left - 4, y=top + 9, class_="small", text_anchor="end"),
        )
    )


def _power(exponent: int) -> str:
    return f"{10.0**exponent:g}"


def main() -> None:
    """Compute all cases and write both files."""
    found = points()
    PAGE.write_text(page(found), encoding="utf-8")
    PICTURE.write_text(picture(found), encoding="utf-8")


if __name__ == "__main__":
    main()
