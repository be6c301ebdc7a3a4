"""The values of the ecosystem model, the tank as a system, bodies and kinds that a forecast used."""

from __future__ import annotations

from collections.abc import Iterator

from backreef.judgement.rules import all_rules
from backreef.judgement.used_hazards import hazard_values
from backreef.judgement.used_values import (
    InItsUnit,
    Topic,
    UsedValue,
    field_words,
    has_range,
    keys_of,
    spelled,
    topics,
    topics_of,
    used,
    words,
)
from backreef.judgement.water import THE_PLAN, rows_for, water_bands
from backreef.models.body_values import read_body_values
from backreef.models.tables import Parameter, load_tables
from backreef.simulation.cohorts import Cohort
from backreef.simulation.draws import ASSUMED_RATIO
from backreef.simulation.prepared import Prepared
from backreef.simulation.system import begins_as
from backreef.simulation.tables import Range, animal_table, kind_table, start_table, system_table

Marks = frozenset[str]
OTHER_KIND = "other"
NOTES = ("note", "note_low", "note_high")


def model_values(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    """Give everything that is not an entry of the catalogue or of the schedule."""
    yield from _rules()
    yield from _parameters(marks)
    yield from _system(marks)
    yield from _animals(marks)
    yield from _start(prepared, marks)
    yield from _bodies(prepared, marks)
    yield from _kinds(prepared.cohorts)
    yield from _unknown_traits(prepared.cohorts)
    yield from _bands(prepared)
    yield from hazard_values(prepared)


def _rules() -> Iterator[UsedValue]:
    spread = f"times or divided by {ASSUMED_RATIO:g}"
    for name, text in (("rule.spread", spread), ("rule.ends", "its 5 and 95 % points")):
        yield UsedValue(
            key=name,
            topic=name,
            title=topics()[name].title,
            name="",
            text=text,
            status="practice",
            source_keys=("our_rule",),
        )
    for topic in (topics()["rule.mouths"], topics()["rule.feeding"], topics()["rule.verdict"]):
        for name in topic.items:
            found = all_rules()[name]
            yield UsedValue(
                key=topic.name,
                topic=topic.name,
                title=topic.title,
                name=found.meaning,
                text=spelled(found.value, found.low, found.high, found.unit),
                status=found.status,
                source_keys=keys_of(found.source),
                remark=found.note,
            )


def _parameters(marks: Marks) -> Iterator[UsedValue]:
    topic_of = {symbol: topic for topic in topics_of("model") for symbol in topic.items}
    for symbol, parameter in load_tables().parameters.items():
        topic = topic_of.get(symbol, topics()["model.other"])
        if topic.is_used(marks):
            yield _parameter(parameter, topic)


def _parameter(parameter: Parameter, topic: Topic) -> UsedValue:
    symbol, table = parameter.symbol, words()["words"]
    name = table.get(symbol) or table.get(symbol.partition("_")[0]) or parameter.meaning
    return UsedValue(
        key=f"{topic.name}.{symbol}",
        topic=topic.name,
        title=topic.title,
        name=str(name),
        text=spelled(parameter.value, parameter.low, parameter.high, parameter.unit),
        status=parameter.status,
        source_keys=keys_of(parameter.source),
        remark="; ".join(part for part in (parameter.place, parameter.note) if part),
        ranged=has_range(parameter.low, parameter.high),
    )


def _system(marks: Marks) -> Iterator[UsedValue]:
    for name, value in system_table().items():
        topic = topics().get(f"system.{name}", topics()["system.other"])
        if topic.is_used(marks):
            yield UsedValue(
                key=f"system.{name}",
                topic=topic.name,
                title=value.meaning[:1].upper() + value.meaning[1:],
                name="",
                text=spelled(value.span.value, value.span.low, value.span.high, value.unit),
                status=value.status,
                source_keys=keys_of(value.source),
                ranged=has_range(value.span.low, value.span.high),
            )


def _animals(marks: Marks) -> Iterator[UsedValue]:
    """How the catalogue's animals and foods are read; shown with the bodies."""
    table = animal_table()
    for topic in topics_of("animals"):
        if not topic.is_used(marks):
            continue
        for name in topic.items:
            value = table[name]
            yield UsedValue(
                key=f"bodies.{topic.name}",
                topic=topic.name,
                title=topic.title,
                name=value.meaning,
                text=spelled(value.span.value, value.span.low, value.span.high, value.unit),
                status=value.status,
                source_keys=keys_of(value.source),
                ranged=has_range(value.span.low, value.span.high),
            )


def _start(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    kind, shown = begins_as(prepared.plan), words()["start"]["shown"]
    components = {component.name: component for component in load_tables().components}
    for row in start_table():
        name, amount = row["component"], float(row[kind])
        if name not in shown or (row["per"] == "refugium" and not marks & _REFUGIA):
            continue
        per = {"m2": "m2 of rock", "refugium": "m2 of the refugium"}.get(row["per"], row["per"])
        yield UsedValue(
            key=f"start.{kind}",
            topic="start",
            title=topics()["start"].title,
            name=components[name].meaning,
            text=f"{amount:g} {components[name].unit} per {per}",
            status=row["status"],
            source_keys=keys_of(row["source"]),
            ranged=False,
        )


_REFUGIA = frozenset({"device:refugium", "device:scrubber"})


def _bodies(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    fish = {cohort.species.family for cohort in prepared.cohorts if cohort.species.kind == "fish"}
    table = read_body_values()
    for topic in topics_of("bodies"):
        if not topic.is_used(marks):
            continue
        families = sorted(fish) if "{family}" in "".join(topic.items) else [""]
        for family in families:
            names = [name.replace("{family}", family.lower()) for name in topic.items]
            key = ".".join(part for part in (topic.name, family.lower()) if part)
            title = topic.title.replace("{family}", family)
            for name in names:
                if name in table:
                    label = field_words(name.rpartition(".")[2])
                    yield used(table[name], key=key, topic=topic, title=title, name=label)


def _kinds(cohorts: list[Cohort]) -> Iterator[UsedValue]:
    """Traits that every animal has from its kind, as the cohorts carry them."""
    first = {cohort.species.kind: cohort for cohort in reversed(cohorts)}
    for topic in topics_of("kind"):
        trait = topic.name.partition(".")[2]
        for kind, cohort in sorted(first.items()):
            span = cohort.yearly_loss if trait == "yearly_loss" else cohort.nature[trait]
            yield _of_kind(cohort, span, topic=topic, key=topic.name, title=topic.title, name=kind)


def _unknown_traits(cohorts: list[Cohort]) -> Iterator[UsedValue]:
    """What a cohort carries where nobody knows the trait of its species."""
    topic, table = topics()["unknown"], words()["unknown"]
    for cohort in {cohort.species.id: cohort for cohort in cohorts}.values():
        for trait in dict.fromkeys(cohort.assumed):
            title = f"{trait[:1].upper()}{trait[1:]}: {topic.title}"
            key = f"unknown.{trait.replace(' ', '_')}"
            for nature in table["traits"].get(trait, ()):
                name = f"{cohort.species.common_name}, {table['words'][nature]}"
                yield _of_kind(cohort, cohort.nature[nature], topic=topic, key=key, title=title, name=name)
            if trait not in table["traits"]:
                yield _of_kind(
                    cohort, None, topic=topic, key=key, title=title, name=cohort.species.common_name
                )


def _of_kind(
    cohort: Cohort, span: Range | None, *, topic: Topic, key: str, title: str, name: str
) -> UsedValue:
    row = kind_table().get(cohort.species.kind) or kind_table()[OTHER_KIND]
    unit = words()["kind"].get(topic.name.partition(".")[2], {}).get("unit", "")
    return UsedValue(
        key=key,
        topic=topic.name,
        title=title,
        name=name,
        text="as its kind" if span is None else spelled(span.value, span.low, span.high, unit),
        status=row["status"],
        source_keys=keys_of(row["source"]),
        remark=row["note"],
        ranged=span is not None and has_range(span.low, span.high),
    )


def _bands(prepared: Prepared) -> Iterator[UsedValue]:
    rows = {row["series"]: row for row in rows_for(prepared.plan)}
    for band in water_bands(prepared.plan):
        act, harm = _outside(band.act_low, band.act_high), _outside(band.harm_low, band.harm_high)
        said = [f"act {act} {band.unit}"] if act else []
        at_once = ", or on a day on which animals die" if band.kills else ""
        said += [f"harm {harm} for {_days(band.harm_days)}{at_once}"] if harm else []
        row = rows.get(band.series, {"source": "practice"})
        own = "some of them set by the plan itself" if band.source.startswith(THE_PLAN) else ""
        yield UsedValue(
            key=f"band.{band.series}",
            topic="band.water",
            title=f"{topics()['band.water'].title} {band.label}",
            name="",
            text="; ".join(said),
            status=band.status,
            source_keys=keys_of(row["source"]),
            remark="; ".join(part for part in (*(row.get(note, "") for note in NOTES), own) if part),
        )


def _days(count_d: float) -> str:
    return "a day" if count_d == 1 else f"{count_d:g} days"


def _outside(low: InItsUnit | None, high: InItsUnit | None) -> str:
    below, above = f"below {low:g}" if low is not None else "", f"above {high:g}" if high is not None else ""
    return " or ".join(side for side in (below, above) if side)
