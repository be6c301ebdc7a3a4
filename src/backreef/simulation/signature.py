"""What the compiled march takes, apart from how it is written, so that loading it needs no generator."""

from __future__ import annotations

from backreef.simulation.layout import FORCINGS

ARGUMENTS = (
    "state",
    "parameters",
    "traits",
    "nature",
    "thresholds",
    "scale",
    "segments",
    "event_from",
    "operations",
    "targets",
    "sources",
    "extras",
    "factors",
    "lane_table",
    "fired",
    "output",
    "scratch",
    "counts",
    "controls",
    "report",
    "habits",
)
"""Pointers that the march takes, in order."""
ARGUMENT_COUNT = len(ARGUMENTS)
COUNTS = ("segments", "slots", "thresholds", "rows", "first")
"""First: the segment to begin with; after another than the first, the march goes on where it stopped."""
CONTROLS = ("relative", "absolute_share", "first_step_d", "longest_step_d", "shortest_step_d")
REPORT = ("steps", "rejected", "euler", "failed_segment", "failed_row", "days_written")
STEP = ("next_step_d", "trend")
"""Behind the report: the next step and the trend of its error, for a march that goes on."""
SEGMENT_COLUMNS = ("length_d", *FORCINGS, "time_of_day")
"""Time of day: the number of its quarter hour, by which steps are remembered."""
EXTREMES = {
    "o2_least": ("O2", 1e9),
    "o2_most": ("O2", 0.0),
    "nh3_most": ("nh3", 0.0),
    "ph_least": ("ph", 99.0),
    "ph_most": ("ph", 0.0),
}
"""Extreme of the day: what is observed, and where a day begins (above 0: the least is kept)."""
