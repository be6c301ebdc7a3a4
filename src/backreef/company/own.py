"""Rule of own entries: what of a plan rests on the keeper's word and not on ours."""

from __future__ import annotations

from backreef.company.findings import CheckFinding, Found, Rule, Setting


def own_entries(setting: Setting) -> Found:
    """Entries of the keeper's own folder that the plan uses."""
    plan, own = setting.plan, setting.catalogue.own
    used = {f"species/{one.species}" for one in plan.animals}
    used |= {f"foods/{meal.food}" for meal in plan.meals}
    used |= {f"devices/{device.kind}" for device in plan.devices}
    used |= {f"tasks/{upkeep.task}" for upkeep in plan.upkeep}
    taken = sorted(used & own)
    if not taken:
        return
    yield CheckFinding(
        id="own",
        balance="mouths",
        weight="note",
        who="all",
        what=f"from your own catalogue: {', '.join(taken)}",
        why="they were checked by the laws of the catalogue and stand on your word; one with an id that "
        "ships takes its place",
        source="the keeper's own catalogue",
        status="practice",
    )


RULES = (Rule(name="own", look=own_entries, reads=(), plan=("catalogue",)),)
