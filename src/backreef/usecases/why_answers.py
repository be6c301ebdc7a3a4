"""Workings as a page shows them, each under the figure that it is of; kept in one file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyAnswers:
    """What was asked, and what was found on the way."""

    by_figure: Mapping[str, str]
    """Figure, as `nitrate_mg_no3_per_l@2027-08-02`, -> its working as markup."""
