from __future__ import annotations

import re

import numpy as np
import pytest

from backreef.plots.pattern import away, hatch, rocks, uprights

STEP = re.compile(r"([Mml])([^Mml]+)")
NUMBER = re.compile(r"-?\d*\.?\d+")


def lines(svg: str) -> list[tuple[float, float, float, float]]:
    drawn = re.search(r' d="([^"]*)"', svg)
    found, x, y = [], 0.0, 0.0
    for kind, rest in STEP.findall(drawn.group(1) if drawn else ""):
        dx, dy = map(float, NUMBER.findall(rest))
        if kind == "M":
            x, y = dx, dy
            continue
        if kind == "l":
            found.append((x, y, x + dx, y + dy))
        x, y = x + dx, y + dy
    return found


@pytest.mark.parametrize("texture", [away, hatch])
@pytest.mark.parametrize("frame", [(10.0, 20.0, 15.0, 90.0), (0.0, 0.0, 400.0, 11.0), (3.3, 7.7, 2.0, 2.0)])
def test_it_keeps_its_lines_inside_the_frame(
    texture: object, frame: tuple[float, float, float, float]
) -> None:
    x, y, width, height = frame
    drawn = away(*frame) if texture is away else hatch(*frame)
    for x1, y1, x2, y2 in lines(drawn):
        assert x - 0.06 <= min(x1, x2)
        assert max(x1, x2) <= x + width + 0.06
        assert y - 0.06 <= min(y1, y2)
        assert max(y1, y2) <= y + height + 0.06


def test_it_tells_away_from_counted_otherwise_by_the_way_lines_lean() -> None:
    rising, falling = lines(away(0, 0, 60, 60)), lines(hatch(0, 0, 60, 60))
    assert rising
    assert all(y2 < y1 for _, y1, _, y2 in rising)
    assert falling
    assert all(y2 > y1 for _, y1, _, y2 in falling)


def test_it_continues_its_lines_in_the_frame_beside() -> None:
    starts = [(x1, y1) for left in (0, 30) for x1, y1, _, _ in lines(away(left, 0, 30, 30))]
    assert {round(x + y) % 7 for x, y in starts} == {0}


@pytest.mark.parametrize(("height", "rows"), [(3.0, 0), (6.7, 1), (13.0, 1), (30.0, 3)])
def test_it_sets_as_many_rows_of_rocks_as_fit(height: float, rows: int) -> None:
    tops = set(re.findall(r"M[\d.-]+ ([\d.-]+)v", rocks(0, 100, 200, height)))
    assert len(tops) == rows
    assert all(99.4 <= float(top) <= 100 + height - 4 for top in tops)


def test_it_draws_nothing_without_extent() -> None:
    assert away(0, 0, 0, 10) == ""
    assert hatch(0, 0, 10, -1) == ""


def test_it_strokes_only_where_a_curve_leaves_its_base() -> None:
    x = np.arange(0.0, 30.0)
    tips = np.where(x < 15, 10.0, 14.0)
    tips[20] = np.nan
    drawn = uprights(x, tips, 10.0, class_="short")
    assert 'class="short"' in drawn
    assert min(float(at) for at in re.findall(r"M([\d.]+) ", drawn)) == 15.0
    assert "nan" not in drawn
