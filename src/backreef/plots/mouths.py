"""Each animal's own strip: its condition above, and below it how far its food covers its need."""

from __future__ import annotations

import numpy as np

from backreef.judgement.verdict import AnimalOutcome, FloatArray, Forecast
from backreef.plots.axis import BORDER, axis_labels, border, year_lines
from backreef.plots.figure import (
    NARROW,
    SMALL,
    TEXT,
    WIDE,
    Drawing,
    Figure,
    Table,
    box,
    figure_of,
    label,
    path,
    rule,
)
from backreef.plots.living import condition_of, energy_met_of
from backreef.plots.markup import Safe, joined, printable
from backreef.plots.measure import shortened
from backreef.plots.months import Span, least, quarter_asked, quarters
from backreef.plots.panel import away_columns
from backreef.plots.path import line_path, series_paths
from backreef.plots.pattern import uprights
from backreef.plots.scale import TimeScale, ValueScale
from backreef.plots.words import count_words, month_name, percent, reading, short_date
from backreef.usecases.told_numbers import told_name

_CONDITION = 24.0
_MET = 20.0
_CAPTION = (
    "Each strip: above, the animal's condition, full at the upper edge and empty at the lower; below, "
    "its food against its need (the dashed line), hatched where it falls short. Grey columns: nobody there."
)
_MOST_MET = 1.6
"""Energy met is drawn up to this multiple of the need."""


def mouths_chart(forecast: Forecast, *, ident: str = "mouths-animals") -> Figure | None:
    """A strip per animal entry, the thinnest first; None without animals."""
    if not forecast.animals:
        return None
    animals = thinnest_first(forecast.animals)
    title = "Condition and food of each animal"
    description = "The thinnest first. " + " ".join(f"{animal_words(forecast, a)}." for a in animals[:12])

    def draw(_ident: str, *, narrow: bool) -> Drawing:
        strips, size = _strips(forecast, animals, narrow=narrow)
        return (strips,), size

    named = (ident, title, description)
    return figure_of(named, draw, table=_by_quarter(forecast, animals), caption=_CAPTION)


def thinnest_first(animals: tuple[AnimalOutcome, ...]) -> list[AnimalOutcome]:
    """Animals by the condition they end with in the lean members; unknown ones last."""
    return sorted(animals, key=lambda a: (not np.isfinite(a.condition_end_p05), a.condition_end_p05))


def animal_words(forecast: Forecast, animal: AnimalOutcome) -> str:
    """An animal's fate in one clause."""
    start, end = animal.count_start, animal.count_end_p50
    heads = f"{start}" if end == start else f"{start}, in the end {count_words(end)}"
    met = percent(animal.energy_met_share_p50)
    lowest = _lowest(condition_of(forecast, animal).p50)
    return f"{printable(animal.common_name)} ({heads}): lowest condition {lowest}, {met} of its need"


def is_broken(forecast: Forecast, animal: AnimalOutcome) -> bool:
    """Whether a finding that breaks the plan is about this animal."""
    names = {animal.id, animal.species, animal.common_name}
    return any(f.breaks and f.balance == "mouths" and f.who in names for f in forecast.findings)


def mouths_table(forecast: Forecast) -> Table:
    """The animals with their numbers, lengths, condition and food."""
    return Table(
        caption="Animals, middle of the members",
        columns=(
            "animal",
            "there from",
            "number, start to end",
            "length, cm",
            "condition, lowest and at the end",
            "energy met",
            "eats",
        ),
        rows=tuple(_row(forecast, a) for a in thinnest_first(forecast.animals)),
        asks=tuple(_asks(forecast, a) for a in thinnest_first(forecast.animals)),
    )


def _asks(forecast: Forecast, animal: AnimalOutcome) -> tuple[str, ...]:
    """What explains the condition at the end, the share of need and what is eaten."""
    end = f"{animal.id}.condition_ratio@{forecast.dates[-1]}" if forecast.dates else ""
    met, eaten = f"{animal.id}.energy_met_ratio_when_settled", f"{animal.id}.eaten_g_dry_per_d"
    if not animal.ration_g_dry_per_d_p50 and animal.length_start_cm is None:  # they live on light
        met, eaten = told_name(animal, "energy_met_share_p50"), told_name(animal, "eats", part="light")
    count, length = told_name(animal, "count_end_p50"), told_name(animal, "length_end_cm_p50")
    return ("", "", count, length, end, met, eaten)


def _by_quarter(forecast: Forecast, animals: list[AnimalOutcome]) -> Table:
    """Lowest condition and mean share of need met of each animal, quarter by quarter."""
    spans = quarters(forecast.dates)
    rows = tuple(
        (animal.common_name, *(_quarter_cell(forecast, animal, span) for span in spans)) for animal in animals
    )
    columns = ("animal", *(f"{month_name(span.on.month)} {span.on.year}" for span in spans))
    caption = "Lowest condition and share of need met, by quarter from"
    asks = tuple(
        ("", *(quarter_asked(f"{animal.id}.condition_ratio", span) for span in spans)) for animal in animals
    )
    return Table(caption=caption, columns=columns, rows=rows, asks=asks)


def _quarter_cell(forecast: Forecast, animal: AnimalOutcome, span: Span) -> str:
    lowest = least(condition_of(forecast, animal).p50[span.part])
    met = energy_met_of(forecast, animal).p50[span.part]
    met = met[np.isfinite(met)]
    if not np.isfinite(lowest) and not met.size:
        return "–"
    return f"{reading(lowest)}, {percent(float(met.mean())) if met.size else 'not known'}"


def _row(forecast: Forecast, animal: AnimalOutcome) -> tuple[str, ...]:
    grown = f"{reading(animal.length_start_cm)} to {reading(animal.length_end_cm_p50)}"
    if animal.length_start_cm is None and animal.length_end_cm_p50 is None:
        grown = "not known"
    if animal.adult_length_cm is not None:
        grown += f" (adult {reading(animal.adult_length_cm)})"
    eats = ", ".join(f"{what} {percent(share)}" for what, share in animal.eats) or "not known"
    return (
        animal.common_name,
        "the start" if animal.already_there else short_date(animal.arrives_on),
        f"{animal.count_start} to {count_words(animal.count_end_p50)}{_band_words(animal)}",
        grown,
        f"{_lowest(condition_of(forecast, animal).p50)} and {_last(animal.condition.p50)}",
        percent(animal.energy_met_share_p50),
        eats,
    )


def _band_words(animal: AnimalOutcome) -> str:
    """How many are left in nine members of ten, where that differs."""
    low, high = count_words(animal.count_end_p05), count_words(animal.count_end_p95)
    return f" ({low} to {high})" if low != high else ""


def _lowest(values: FloatArray) -> str:
    return reading(least(values))


def _last(values: FloatArray) -> str:
    known = values[np.isfinite(values)]
    return reading(float(known[-1])) if known.size else reading(None)


def _strips(
    forecast: Forecast, animals: list[AnimalOutcome], *, narrow: bool
) -> tuple[Safe, tuple[float, float]]:
    width = NARROW if narrow else WIDE
    left, right = (2.0, width - 2) if narrow else (190.0, width - 164)
    time = TimeScale(first_on=forecast.start_on, days=len(forecast.dates), left=left, right=right)
    head = 32.0 if narrow else 0.0
    row = head + _CONDITION + _MET + 12
    parts: list[Safe] = [axis_labels(time, 12, room=0 if narrow else 40.0), border(time, 17)]
    y = 17 + BORDER + 6
    for animal in animals:
        parts.append(_strip(forecast, animal, time, y + head))
        parts.append(_beside(animal, (y, width), fails=is_broken(forecast, animal), narrow=narrow))
        y += row
    parts.append(border(time, y - 4))
    return joined(parts), (width, y + BORDER)


def _strip(forecast: Forecast, animal: AnimalOutcome, time: TimeScale, top: float) -> Safe:
    wide = time.right - time.left
    shown, met_share = condition_of(forecast, animal), energy_met_of(forecast, animal).p50
    condition = ValueScale(low=0, high=max(1.0, _most(shown.p95)), bottom=top + _CONDITION, top=top)
    base = top + _CONDITION + 2
    met = ValueScale(low=0, high=_MOST_MET, bottom=base + _MET, top=base)
    area, line = series_paths(time, condition, (shown.p05, shown.p50, shown.p95))
    need = met.y(1.0)
    x = time.middles()
    short = met.ys(np.minimum(met_share, 1.0))
    fails = is_broken(forecast, animal)
    return joined(
        [
            box(time.left, top, wide, _CONDITION, class_="broken" if fails else "calm"),
            away_columns(forecast, time, (top, base + _MET)),
            year_lines(time, top, base + _MET),
            path(area, class_="area"),
            path(line, class_="line"),
            uprights(x, short, need, class_="short-broken" if fails else "short"),
            path(line_path(x, met.ys(met_share)), class_="line-thin"),
            rule(time.left, need, time.right, need, class_="bound-act"),
        ]
    )


def _most(values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(known.max()) if known.size else 1.0


def _beside(animal: AnimalOutcome, place: tuple[float, float], *, fails: bool, narrow: bool) -> Safe:
    """Name and number at the left, what came of it at the right (above the strip where it is narrow)."""
    y, width = place
    class_ = "t t-break" if fails else "t t-strong"
    count = f"{animal.count_start}"
    if animal.count_end_p50 != animal.count_start:
        count += f", in the end {count_words(animal.count_end_p50)}"
    fate = f"condition {_last(animal.condition.p50)} at the end"
    met = f"gets {percent(animal.energy_met_share_p50)} of need"
    if narrow:
        name = shortened(
            f"{animal.common_name}: {count}{', breaks' if fails else ''}", size=TEXT * 1.14, room=width - 4
        )
        return joined(
            [
                label(name, 2, y + 13, class_=class_),
                label(f"{fate}, {met}", 2, y + 27, class_="t t-quiet", size=SMALL),
            ]
        )
    return joined(
        [
            label(shortened(animal.common_name, size=TEXT * 1.14, room=184), 0, y + 13, class_=class_),
            label(f"{count}{', breaks' if fails else ''}", 0, y + 28, class_="t t-quiet", size=SMALL),
            label(fate, width - 158, y + 15, class_="t", size=SMALL),
            label(met, width - 158, y + 37, class_="t t-quiet", size=SMALL),
        ]
    )
