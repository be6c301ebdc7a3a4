"""The page about the findings of a forecast, made from the tables that the judge reads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from backreef.aquarium.series import all_series
from backreef.judgement.findings import sentence, words
from backreef.judgement.remedies import MENDS, says
from backreef.judgement.rules import all_rules, rows_of, source_words
from backreef.units import unit_words

HEAD = """# Findings of a forecast

Made from the tables of `src/backreef/judgement/data` by tests/unit/judgement/test_manual.py; do not edit. To
write it anew: `BACKREEF_RECORD_FINDINGS=1 python3 go.py test tests/unit/judgement/test_manual.py`.

A forecast asks these of every day and every member; what needs no simulation is asked by the
[rules of living together](rules.md). A finding about *harm* breaks the plan when too many members suffer it;
one about *act* is to be watched. A remedy marked *tried* is simulated for the gravest findings; the others
are advice. How these come together in a verdict: [the three balances](three-balances.md).
"""
KEPT = {"any": "", "none": "no corals", "soft": "soft corals", "stony": "stony corals"}
SIDES = {"low": ("below", "act_low", "harm_low"), "high": ("above", "act_high", "harm_high")}
MOUTHS = {
    "eater": "An animal that is fed grows thin or starves",
    "grazer": "A grazer grows thin or starves",
    "protein": "A fish eats too little protein",
    "coral": "Corals shrink or lose their living surface",
}
Row = Mapping[str, str]


def findings_page() -> str:
    """Every finding with its bounds, why it comes and what may help; then the numbers of the judge."""
    lines = [HEAD, "## Water", ""]
    by_series: dict[str, list[Row]] = {}
    for row in rows_of("water_bands.csv"):
        by_series.setdefault(row["series"], []).append(row)
    for series, rows in by_series.items():
        lines += _water(series, rows)
    labels = {one.door_series: one.label for one in all_series()}
    for series in (name for name in words()["water"] if name not in by_series):
        label = labels[series]
        lines += [
            f"### {sentence(label)}",
            "",
            "Only where a plan sets bounds of its own.",
            "",
            *_sides(series),
        ]
    lines += ["## Mouths", ""]
    for key, title in MOUTHS.items():
        lines += [f"### {title}", "", *_reason(words()["mouths"][key]), ""]
    lines += ["## Hands", ""]
    for said in words()["hands"].values():
        lines += [f"### {sentence(said['what'])}", "", *_reason(said), ""]
    return "\n".join([*lines, *_numbers()]) + "\n"


def _water(series: str, rows: list[Row]) -> Iterator[str]:
    """One quantity: a line for each side and kind of corals, then the reasons."""
    unit = unit_words(rows[0]["unit"])
    yield from (f"### {sentence(rows[0]['label'])}", "")
    yield from (
        f"| kept | side | act, {unit} | harm, {unit} | harm after | on whose word |",
        "| --- " * 6 + "|",
    )
    for row in rows:
        for side, (direction, act, harm) in SIDES.items():
            if row[act] or row[harm]:
                note = row.get(f"note_{side}") or row["note"]
                cells = (
                    KEPT[row["kept"]] or "any",
                    direction,
                    row[act] or "-",
                    row[harm] or "-",
                    f"{row['harm_days']} d" if row[harm] else "-",
                    f"{source_words(row['source'], note)}; {row['status']}",
                )
                yield f"| {' | '.join(cells)} |"
    yield ""
    yield from _sides(series)


def _sides(series: str) -> Iterator[str]:
    """Why a quantity gets too low or too high, and what may help."""
    for side, (direction, *_bounds) in SIDES.items():
        said = words()["water"].get(series, {}).get(side)
        if said:
            yield from (f"*{sentence(direction)}.* {said['why']}", "", *_helps(said), "")


def _reason(said: Mapping[str, Any]) -> Iterator[str]:
    yield str(said["why"])
    yield ""
    yield from _helps(said)


def _helps(said: Mapping[str, Any]) -> Iterator[str]:
    for name in said["remedies"]:
        yield f"- {says(name)} ({'tried' if name in MENDS else 'advice'})"


def _numbers() -> Iterator[str]:
    yield from (
        "## Numbers",
        "",
        "| number | value | range | unit | what for | on whose word |",
        "| --- " * 6 + "|",
    )
    for one in all_rules().values():
        span = f"{one.low:g} to {one.high:g}"
        cells = (
            f"`{one.name}`",
            f"{one.value:g}",
            span,
            one.unit,
            one.meaning,
            f"{one.said_by}; {one.status}",
        )
        yield f"| {' | '.join(cells)} |"
