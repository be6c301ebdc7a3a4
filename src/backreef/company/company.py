"""Rules of an animal's own kind: how many, pairs and sexes, all at once."""

from __future__ import annotations

from collections import defaultdict

from backreef.company.findings import CheckFinding, Found, Resident, Rule, Setting, about, word_of

_SEXES = ("male", "female", "pair")
_CHANGES = ("larger", "turns")
"""Words of a social rule that say that sex follows size or rank."""
_PEACEFUL = ("none", "low")
_CROWD = 3


def numbers(setting: Setting) -> Found:
    """Too few or too many of one kind."""
    for one, count in setting.by_species:
        least, most = one.species.group_min_count, one.species.group_max_count
        if count < least:
            what, why = "too few of them", f"the plan has {count}, it lives in at least {least}"
        elif most is not None and count > most:
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
            weight="caution",
            what=f"{one.species.common_name}: {what}",
            why=why,
            condition=one.species.social_rule,
        )


def sexes(setting: Setting) -> Found:
    """Two or more of a kind whose peace hangs on their sexes, of which a plan says nothing."""
    for one, count in setting.by_species:
        rule = one.species.social_rule
        within = count >= one.species.group_min_count and count <= (one.species.group_max_count or count)
        if count < 2 or not within or not any(word in rule for word in _SEXES):  # noqa: PLR2004
            continue
        changes = any(word in rule for word in _CHANGES)
        grave = one.species.aggression not in _PEACEFUL and not changes
        yield about(
            one,
            setting,
            rule="sexes",
            weight="caution" if grave else "note",
            what=f"{one.species.common_name}: unknown: whether the {count} are of sexes that live in peace",
            why="a plan does not say of which sex they are"
            + ("; in this kind the young sort it out between them, the largest first" if changes else ""),
            condition=rule,
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
    Rule(name="group", look=numbers, reads=("group_min_count", "group_max_count", "social_rule")),
    Rule(
        name="sexes",
        look=sexes,
        reads=("group_min_count", "group_max_count", "social_rule", "aggression"),
        plan=("animals[].count",),
    ),
    Rule(
        name="batch",
        look=at_once,
        reads=("aggression", "social_rule"),
        plan=("animals[].count", "animals[].arrives_on"),
    ),
)
