"""Rules of an animal's own kind: how many, and all at once."""

from __future__ import annotations

from collections import defaultdict

from backreef.company.findings import CheckFinding, Found, Resident, Rule, Setting, about, word_of
from backreef.company.sexes import is_known_pair, kills_its_own

_PEACEFUL = ("none", "low")
_CROWD = 3


def numbers(setting: Setting) -> Found:
    """Too few or too many of one kind."""
    for one, count in setting.by_species:
        least, most = one.species.group_min_count, one.species.group_max_count
        if count < least:
            what, why = "too few of them", f"the plan has {count}, it lives in at least {least}"
        elif most is not None and count > most and not is_known_pair(one, setting, heads=count):
            what, why = (
                "more of them than live in peace",
                f"the plan has {count}, without special conditions {most}",
            )
        else:
            continue
        yield about(
            one,
            setting,
            rule="group",
            weight="serious" if count > least and kills_its_own(one.species) else "caution",
            what=f"{one.species.common_name}: {what}",
            why=why,
            condition=one.species.social_rule,
        )


def at_once(setting: Setting) -> Found:
    """A group of one kind that comes on different days."""
    days: dict[str, list[Resident]] = defaultdict(list)
    for one in setting.residents:
        days[one.species.id].append(one)
    for entries in days.values():
        first = min(entries, key=lambda each: (setting.comes_on(each), each.entry.id))
        count = sum(one.entry.count for one in entries)
        came = sorted({setting.comes_on(one) for one in entries})
        if not first.is_fish or len(came) == 1:
            continue
        if first.species.aggression in _PEACEFUL and count < _CROWD:
            continue
        word = word_of(setting, first)
        yield CheckFinding(
            id=f"batch.{first.entry.id}",
            balance="mouths",
            weight="caution",
            who=first.species.common_name,
            what=f"{first.species.common_name}: one kind, but not all at once",
            why=f"they come on {' and '.join(str(on) for on in came)}; the first drives off the rest",
            source=word.source,
            status=word.status,
            condition=first.species.social_rule,
            from_on=came[1],
        )


RULES = (
    Rule(
        name="group",
        look=numbers,
        reads=("group_min_count", "group_max_count", "social_rule", "aggression"),
        plan=("animals[].count", "animals[].sex"),
    ),
    Rule(
        name="batch",
        look=at_once,
        reads=("aggression", "social_rule"),
        plan=("animals[].count", "animals[].arrives_on"),
    ),
)
