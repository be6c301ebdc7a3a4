"""What was assumed, on whose word: defaults of the plan, and values from memory, practice or our own hand."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping

from backreef.aquarium.limits import all_keys
from backreef.aquarium.plan import DefaultTaken, Plan
from backreef.judgement.sources import in_words, source_texts, source_words, values_of
from backreef.judgement.used_values import WEAK_STATUSES, UsedValue, spelled, topics, words
from backreef.judgement.verdict import Assumption
from backreef.simulation.prepared import Prepared

Bundle = tuple[UsedValue, ...]
STATUS_RANK = {"calc": 1, "published": 2}
"""Weak ones rank 0."""
NO_SOURCE = "no source"


def assumptions_of(prepared: Prepared) -> tuple[Assumption, ...]:
    """Give what the plan left open, then what rests on memory or practice, then ranges of our own making."""
    texts = source_texts(prepared.catalogue)
    taken = [_default(default, prepared.plan, texts) for default in prepared.plan.assumptions]
    bundles = sorted(_bundles(values_of(prepared)), key=_weight)
    shared = {key for key, count in Counter(bundle[0].key for bundle in bundles).items() if count > 1}
    return (*taken, *(_assumption(bundle, texts, shared=bundle[0].key in shared) for bundle in bundles))


def _bundles(used: tuple[UsedValue, ...]) -> list[Bundle]:
    """Values that rest on us, put together where they belong together and have the same standing."""
    grouped: dict[tuple[str, str], list[UsedValue]] = {}
    for value in used:
        if value.rests_on_us:
            grouped.setdefault((value.key, value.status), []).append(value)
    return [tuple(values) for values in grouped.values()]


def _weight(bundle: Bundle) -> tuple[int, int, str]:
    first = bundle[0]
    weak = 0 if first.status in WEAK_STATUSES else STATUS_RANK.get(first.status, 0)
    return weak, -topics()[first.topic].matters, first.key


def _assumption(bundle: Bundle, texts: Mapping[str, str], *, shared: bool) -> Assumption:
    """Give one line; `shared` adds the status to a key that several lines would have."""
    first = bundle[0]
    alone = len(bundle) == 1
    what = f"{first.title}: {first.name}" if alone and first.name else first.title
    parts = [value.text if alone or not value.name else f"{value.name} {value.text}" for value in bundle]
    named = list(dict.fromkeys(text for value in bundle for text in source_words(value, texts)))
    remarks = list(dict.fromkeys(value.remark for value in bundle if value.remark))
    source = "; ".join(text.removesuffix(".") for text in named) or NO_SOURCE
    return Assumption(
        key=f"{first.key}.{first.status}" if shared else first.key,
        what=what,
        value="; ".join(parts),
        status=first.status,
        source=f"{source} ({'; '.join(remarks)})" if remarks else source,
        changes=topics()[first.topic].changes,
    )


def _default(taken: DefaultTaken, plan: Plan, texts: Mapping[str, str]) -> Assumption:
    number = _number(taken.value)
    ranged = taken.low is not None or taken.high is not None
    value = spelled(number, taken.low, taken.high, taken.unit) if number is not None and ranged else None
    return Assumption(
        key=taken.key,
        what=_plan_words(taken.key, plan),
        value=value or f"{taken.value} {taken.unit}".strip(),
        status=taken.status,
        source=f"not said in the plan; {in_words(taken.source, texts) or NO_SOURCE}",
        changes=taken.changes,
    )


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


_PLACE = re.compile(r"^(?P<list>\w+)\[(?P<number>\d+)\]\.(?P<key>.+)$")


def _plan_words(key: str, plan: Plan) -> str:
    """Give the words for a key of the plan file, with the id of the entry it belongs to."""
    bare, _, rest = key.partition(" (")
    extra = f" ({rest}" if rest else ""
    found = _PLACE.match(bare)
    if found is None:
        return _named(bare) + extra
    named = _named(f"{found['list']}[].{found['key']}")
    entries = getattr(plan, found["list"], ())
    number = int(found["number"])
    owner = f" of {entries[number].id}" if number < len(entries) else ""
    return f"{named}{owner}{extra}"


def _named(key: str) -> str:
    own = words()["plan"].get(key)
    if own:
        return str(own)
    described = all_keys().get(key)
    return re.split(r"[.;:(]", described.doc)[0].strip() if described and described.doc else key
