"""How German pages write dates."""

from __future__ import annotations

DATE_FORMAT = "j. F Y"
SHORT_DATE_FORMAT = "j.n.Y"
MONTH_DAY_FORMAT = "j. F"
DATETIME_FORMAT = "j. F Y, H:i"
SHORT_DATETIME_FORMAT = "j.n.Y, H:i"
TIME_FORMAT = "H:i"
FIRST_DAY_OF_WEEK = 1
