"""Write the README's picture anew: the year ribbon of the demo, as one SVG file that stands alone.

Run it from the root of a checkout: python scripts/write_ribbon.py
"""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

from backreef.judgement.verdict import Forecast
from backreef.plots.ribbon import ribbon
from backreef.usecases.demo import run_demo

PICTURE = Path(__file__).resolve().parents[1] / "docs" / "reading_room_ribbon.svg"
_EDGE = 16
_VIEW_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')


def ribbon_svg(forecast: Forecast) -> str:
    """The year ribbon with its style sheet inside, on a ground of its own, light or dark as the reader's."""
    drawing = str(ribbon(forecast).wide)
    size = _VIEW_BOX.search(drawing)
    if size is None:
        raise ValueError("the ribbon is drawn without its size")
    width, height = (float(side) + 2 * _EDGE for side in size.groups())
    place = f'x="{-_EDGE}" y="{-_EDGE}" width="{width:g}" height="{height:g}"'
    box = f'viewBox="{-_EDGE} {-_EDGE} {width:g} {height:g}" width="{width:g}" height="{height:g}"'
    words, end, shapes = drawing.replace(size[0], box, 1).partition("</desc>")
    style = resources.files("backreef.reports").joinpath("data", "chart.css").read_text(encoding="utf-8")
    ground = f'<rect {place} style="fill: var(--paper)"></rect>'
    return f"{words}{end}\n<style>\n{style}</style>\n{ground}{shapes}\n"


def main() -> None:
    """Draw the forecast of the demo."""
    PICTURE.write_text(ribbon_svg(run_demo()), encoding="utf-8")


if __name__ == "__main__":
    main()
