"""The doors: where nitrogen, phosphorus, carbon and oxygen come in and where they leave."""

from __future__ import annotations

from typing import Literal

from backreef.judgement.books import comes_in, leaves, remains
from backreef.judgement.verdict import FluxLine, Forecast
from backreef.plots.bars import Bar, bar_figure
from backreef.plots.figure import Figure, Table
from backreef.plots.words import figure
from backreef.usecases.told_numbers import told_name

Element = Literal["N", "P", "C", "O2"]
ELEMENTS: tuple[tuple[Element, str], ...] = (
    ("N", "Nitrogen"),
    ("P", "Phosphorus"),
    ("C", "Carbon"),
    ("O2", "Oxygen"),
)


def flux_charts(forecast: Forecast) -> tuple[Figure, ...]:
    """One picture per element that has doors."""
    return tuple(
        _chart(
            name, [line for line in forecast.fluxes if line.element == element], f"doors-{element.lower()}"
        )
        for element, name in ELEMENTS
        if any(line.element == element for line in forecast.fluxes)
    )


def ordered(lines: list[FluxLine]) -> list[FluxLine]:
    """Doors in from the largest, then doors out from the largest."""
    return sorted(lines, key=lambda line: (line.g_per_month_p50 < 0, -abs(line.g_per_month_p50)))


def remaining(lines: list[FluxLine]) -> float:
    """What came in and did not leave. [g/month]"""
    return remains(lines)


def flux_words(name: str, lines: list[FluxLine]) -> str:
    """In, out and what stays, in one sentence."""
    come, gone, stays = comes_in(lines), leaves(lines), remains(lines)
    verb = "stays in the tank" if stays >= 0 else "is taken from what was there"
    return (
        f"{name}: {figure(come)} g a month comes in, {figure(gone)} g leaves, {figure(abs(stays))} g {verb}."
    )


def _chart(name: str, lines: list[FluxLine], ident: str) -> Figure:
    title = f"{name}, g a month"
    description = flux_words(name, lines)
    bars = [
        Bar(
            name=line.door,
            value=line.g_per_month_p50,
            words=f"{'in' if line.g_per_month_p50 > 0 else 'out'} {figure(abs(line.g_per_month_p50))}",
            look="bar" if line.g_per_month_p50 > 0 else "bar-hatch",
        )
        for line in ordered(lines)
    ]
    net = remaining(lines)
    stays = f"{'more' if net >= 0 else 'less'} {figure(abs(net))}"
    bars.append(Bar(name="left in the tank", value=net, words=stays, look="bar-line", strong=True))

    rows = tuple((bar.name, bar.words) for bar in bars)
    rest = f"doors.{lines[0].element}.left_in_the_tank"
    asks = (*(("", told_name(line, "g_per_month_p50")) for line in ordered(lines)), ("", rest))
    caption = f"{title}, middle of the members"
    table = Table(caption=caption, columns=("door", "g a month"), rows=rows, asks=asks)
    return bar_figure(bars, (ident, title, description), table=table, caption=description, ask=rest)
