"""What takes animals beside hunger and water: for each cause how many of an entry it takes by the end."""

from __future__ import annotations

from collections.abc import Sequence

from backreef.company.hazards import Hazard, years
from backreef.judgement.rules import rule
from backreef.judgement.verdict import Loss
from backreef.simulation.cohorts import Cohort
from backreef.simulation.prepared import Prepared
from backreef.working.members import Seen, seen_once
from backreef.working.number import exp_of

USUAL = "the usual losses of its kind"
"""What nobody can name a cause of."""

_TABLE = "company/data/hazards.toml"
_CHANCE = Seen(symbol="chance_frac", what="chance that the disease comes with a batch")


def losses_of(prepared: Prepared, cohort: Cohort) -> tuple[Loss, ...]:
    """Give the causes that take animals of an entry by the end of a plan, the largest first.

    Each by itself, at the middle of its range; of a disease the chance that it breaks out counts too. What
    takes less than is worth showing is left out.
    """
    days = prepared.keeper.days
    found = {USUAL: 1.0 - (1.0 - cohort.yearly_loss.value) ** years(_there_d(prepared, cohort))}
    mine = [hazard for hazard in prepared.timeline.hazards if hazard.entry_id == cohort.entry.id]
    for cause in sorted({hazard.cause for hazard in mine}):
        found[cause] = lost_frac([hazard for hazard in mine if hazard.cause == cause], days)
    ranked = sorted(found.items(), key=lambda item: -item[1])
    return tuple(
        Loss(cause=cause, lost_frac=frac) for cause, frac in ranked if frac >= rule("shown_loss_frac")
    )


def _there_d(prepared: Prepared, cohort: Cohort) -> float:
    there = Seen(symbol="there_d", what=f"days of {cohort.species.common_name} in the plan", unit="d")
    days = float(prepared.keeper.days - cohort.arrives_day)
    return seen_once(days, there, kind="plan", place=prepared.plan.file)


def lost_frac(hazards: Sequence[Hazard], days: int) -> float:
    """Share of animals that hazards of one cause take within so many days of a plan. [-]

    Validity
    --------
    Of animals that nothing else takes. Outbreaks come with batches, each or not by its own chance; hazards
    of one outbreak come together.

    Source
    ------
    Definition of a hazard rate.
    """
    left_frac = exp_of(-sum(_deaths(hazard, days) for hazard in hazards if hazard.outbreak is None))
    for name in sorted({hazard.outbreak.name for hazard in hazards if hazard.outbreak is not None}):
        of_it = [one for one in hazards if one.outbreak is not None and one.outbreak.name == name]
        most_frac = max(one.outbreak.chance_frac for one in of_it if one.outbreak is not None)
        chance_frac = seen_once(most_frac, _CHANCE, kind="constant", place=_TABLE)
        taken_frac = 1.0 - exp_of(-sum(_deaths(one, days) for one in of_it))
        left_frac *= 1.0 - chance_frac * taken_frac
    return 1.0 - left_frac


def _deaths(hazard: Hazard, days: int) -> float:
    there = Seen(symbol="there_d", what="days of the plan on which it may come", unit="d")
    there_d = seen_once(float(max(0, min(hazard.until_day, days) - hazard.since_day)), there, kind="constant")
    seen = Seen(symbol="rate_per_y", what=f"rate of death: {hazard.cause}", unit="1/y")
    rate = seen_once(hazard.rate.value_per_y, seen, kind="constant", place=_TABLE)
    return rate * years(there_d)
