"""Away sheets for tests: the examples with absences of few and many visits."""

from __future__ import annotations

from datetime import date
from functools import cache

from backreef.schedule.away import Absence
from backreef.usecases.sheet import away_sheet
from backreef.usecases.sheet_page import Sheet
from tests.cli_world import EXAMPLES

MON_WED_FRI, TUE_FRI = (0, 2, 4), (1, 4)
SUMMER = Absence(first_on=date(2027, 8, 2), until_on=date(2027, 8, 16))
ABSENCES: dict[str, tuple[str, Absence]] = {
    "two visits": ("reading_room.toml", SUMMER),
    "grandfather": (
        "family_first_reef.toml",
        Absence(first_on=date(2028, 7, 10), until_on=date(2028, 7, 25)),
    ),
    "two people": (
        "reading_room.toml",
        Absence(first_on=date(2028, 8, 1), until_on=date(2028, 8, 19), sitter_weekdays=TUE_FRI),
    ),
    "six visits": (
        "office_showpiece.toml",
        Absence(first_on=date(2028, 8, 1), until_on=date(2028, 8, 15), sitter_weekdays=MON_WED_FRI),
    ),
    "nobody": ("office_showpiece.toml", Absence(first_on=date(2028, 8, 1), until_on=date(2028, 8, 15))),
}


@cache
def sheet_of(name: str) -> Sheet:
    example, absence = ABSENCES[name]
    return away_sheet(EXAMPLES / example, absence)
