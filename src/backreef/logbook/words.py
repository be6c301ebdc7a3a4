"""What an entry says, in words for people."""

from __future__ import annotations

from backreef.aquarium.series import door_factor, series_of
from backreef.catalogue.entries import Catalogue
from backreef.logbook.entries import (
    Addition,
    Chore,
    Death,
    Entry,
    Feeding,
    Note,
    Photograph,
    Reading,
    Sighting,
    What,
)
from backreef.logbook.sights import EATING

_HOW_MANY_DIGITS = 4


def what_words(what: What, catalogue: Catalogue) -> str:
    """The thing in one sentence without a full stop."""
    if isinstance(what, Reading):
        return _reading(what)
    if isinstance(what, Feeding):
        return _feeding(what, catalogue)
    if isinstance(what, Chore):
        return _chore(what, catalogue)
    if isinstance(what, Addition | Death):
        return _animals(what, catalogue)
    if isinstance(what, Sighting):
        return _sighting(what, catalogue)
    if isinstance(what, Note):
        return what.text
    return _photograph(what)


def moment_words(entry: Entry) -> str:
    """When it happened, in the clock time of the place where it was written."""
    return entry.at.strftime("%Y-%m-%d" if entry.whole_day else "%Y-%m-%d %H:%M")


def assumptions_of(what: What) -> tuple[str, ...]:
    """What had to be assumed to read it."""
    return what.assumed if isinstance(what, Reading) else ()


def _reading(what: Reading) -> str:
    series = series_of(what.series)
    sign = "" if what.sign == "=" else f"{what.sign} "
    value = f"{what.value * door_factor(series):.{_HOW_MANY_DIGITS}g} {series.door_unit}".strip()
    by = f" by {what.kit.replace('_', ' ')}" if what.kit else ""
    return f"{series.label}: {sign}{value.replace('degC', '°C')}{by}"


def _feeding(what: Feeding, catalogue: Catalogue) -> str:
    parts = []
    if what.amount_g is not None:
        parts.append(f"{what.amount_g:g} g")
    if what.food is not None:
        food = catalogue.foods.get(what.food)
        parts.append(f"of {food.name if food else what.food}")
    if what.portion_ratio is not None:
        portion = what.portion_ratio
        parts.append("nothing" if portion == 0 else f"{portion:.3g} times the planned portion")
    return f"fed: {', '.join(parts)}" if what.amount_g is None else f"fed: {' '.join(parts)}"


def _chore(what: Chore, catalogue: Catalogue) -> str:
    task = catalogue.tasks.get(what.task)
    parts = [f"done: {task.name if task else what.task}"]
    if what.share_frac is not None:
        parts.append(f"{what.share_frac * 100:.3g} %")
    if what.volume_l is not None:
        parts.append(f"{what.volume_l:.{_HOW_MANY_DIGITS}g} L")
    if what.amount_g is not None:
        parts.append(f"{what.amount_g:.{_HOW_MANY_DIGITS}g} g")
    if what.minutes is not None:
        parts.append(f"{what.minutes:.3g} minutes")
    return ", ".join(parts)


def _animals(what: Addition | Death, catalogue: Catalogue) -> str:
    verb = "died" if isinstance(what, Death) else "came"
    length = ""
    if isinstance(what, Addition) and what.length_cm is not None:
        length = f", {what.length_cm:.3g} cm"
    return f"{verb}: {what.count} {_who(what.name, what.species, catalogue)}{length}"


def _who(name: str, species: str | None, catalogue: Catalogue) -> str:
    if species is None:
        return f"{name} (of which kind is not known)"
    entry = catalogue.species.get(species)
    called = entry.common_name if entry else species
    return name if called.lower() == name.lower() else f"{name} ({called})"


def _sighting(what: Sighting, catalogue: Catalogue) -> str:
    night = " at night" if what.at_night else ""
    if what.thing == EATING:
        who = _who(what.name or "somebody", what.species, catalogue)
        return f"{who} {'eats' if what.seen else 'does not eat'}"
    thing = what.thing.replace("_", " ")
    if not what.seen:
        return f"no {thing} seen{night}"
    cover = "" if what.cover_frac is None else f" on {what.cover_frac * 100:.3g} %"
    return f"{thing} seen{cover}{night}"


def _photograph(what: Photograph) -> str:
    size = f"{what.width_count} x {what.height_count}"
    return f"photograph, {size}{f': {what.caption}' if what.caption else ''}"
