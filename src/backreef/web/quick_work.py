"""The warm process: a line of JSON with what is asked, a line with what was found, until nobody asks."""

from __future__ import annotations

import json
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from backreef.errors import BackreefError, Fault, InputFaults
from backreef.tongue.door import OWN, speaker_of, speaking

WAKE, LOOK, FIGURES = "wake", "look", "figures"


def main() -> int:
    """Answer line after line; what somebody else prints goes to the errors."""
    out, sys.stdout = sys.stdout, sys.stderr
    for line in sys.stdin:
        out.write(json.dumps(answer(json.loads(line))) + "\n")
        out.flush()
    return 0


def answer(asked: dict[str, Any]) -> dict[str, Any]:
    """What is asked, as markup; or what is wrong with it."""
    try:
        with speaking(speaker_of(asked.get("language", OWN))):
            return _ANSWERS[asked["do"]](asked)
    except InputFaults as refusal:
        return {"faults": [_fault_words(fault) for fault in refusal.faults]}
    except (BackreefError, ValueError) as refusal:
        return {"faults": [str(refusal)]}
    except Exception as failure:  # noqa: BLE001  told to the reader; the process goes on
        return {"faults": [f"backreef itself failed: {type(failure).__name__}: {failure}"]}


def _fault_words(fault: Fault) -> str:
    return f"{fault.key}: {fault.message}" if fault.key else fault.message


def _wake(asked: dict[str, Any]) -> dict[str, Any]:
    """Load what a look needs; a plan that is told is simulated as it is, so that only changes are left."""
    from backreef.reports import change_html
    from backreef.usecases.forecast import default_judge
    from backreef.usecases.preview import get_ready, load

    del change_html  # to be loaded is all
    default_judge()
    load()
    if "path" in asked:
        get_ready(asked["before"], Path(asked["path"]), until_on=_day(asked["until"]))
    return {"html": "", "asked": asked["do"]}


def _day(said: str | None) -> date | None:
    return None if said is None else date.fromisoformat(said)


def _look(asked: dict[str, Any]) -> dict[str, Any]:
    """Both texts of a plan side by side."""
    from backreef.reports.change_html import change_content
    from backreef.usecases.preview import preview

    found = preview(
        asked["before"],
        asked["after"],
        Path(asked["path"]),
        until_on=_day(asked.get("until")),
    )
    return {"html": change_content(found), "holds": found.after.holds}


def _figures(asked: dict[str, Any]) -> dict[str, Any]:
    """Everything that a plan can be asked about, as links."""
    from backreef.reports.why_html import figures_content
    from backreef.usecases.plan_desk import plan_of_text, text_of
    from backreef.usecases.why import askable_figures

    path = Path(asked["path"])
    plan, _ = plan_of_text(text_of(path), path)
    day = plan.start_on + timedelta(days=plan.horizon_days - 1)
    return {"html": figures_content(askable_figures(path), asked["address"], day=day.isoformat())}


_ANSWERS = {WAKE: _wake, LOOK: _look, FIGURES: _figures}

if __name__ == "__main__":
    sys.exit(main())
