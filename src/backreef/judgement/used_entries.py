"""The values of the catalogue's entries and of the schedule's tables that a plan really uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from backreef.aquarium.plan import DeviceEntry
from backreef.catalogue.entries import Device, Food, Guild, Species, Task, Value
from backreef.judgement.used_values import UsedValue, field_words, topics, topics_of, used
from backreef.schedule.tables import effect_rules, implied_rules, workload
from backreef.simulation.prepared import Prepared

Marks = frozenset[str]
LID_FIELD = "extra_min_with_lid"
STATED_SHARES = ("share_frac", "amount_g", "amount_l")


def entry_values(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    """Give what the catalogue and the schedule say of the entries in the plan, each entry once."""
    yield from _animals(prepared)
    yield from _foods(prepared)
    yield from _devices(prepared)
    yield from _tasks(prepared, marks)
    yield from _schedule(prepared, marks)


def _fields(
    entry: Species | Food | Device | Task | Guild,
    *,
    room: str,
    called: str,
    leave_out: frozenset[str] = frozenset(),
) -> Iterator[UsedValue]:
    """Give the known numbers of an entry, topic by topic."""
    for topic in topics_of(room):
        for field in topic.items:
            value = getattr(entry, field, None)
            if field not in leave_out and isinstance(value, Value):
                yield used(
                    value,
                    key=f"{room}.{entry.id}.{topic.name.partition('.')[2]}",
                    topic=topic,
                    title=f"{called}: {topic.title}",
                    name=field_words(field),
                )


def _animals(prepared: Prepared) -> Iterator[UsedValue]:
    catalogue = prepared.catalogue
    swimming = {cohort.species.id for cohort in prepared.cohorts}
    for species_id in sorted({entry.species for entry in prepared.plan.animals}):
        species = catalogue.species[species_id]
        unused = _SWIMMERS_ONLY if species_id not in swimming else frozenset({"coral_area_cm2_per_unit"})
        yield from _fields(species, room="species", called=species.common_name, leave_out=unused)
        if species_id in swimming:
            yield from _takes(species, prepared)
    for guild in sorted({cohort.guild.id for cohort in prepared.cohorts}):
        yield from _guild(catalogue.guilds[guild])


_SWIMMERS_ONLY = frozenset(
    {
        "weight_a_g",
        "weight_b_ratio",
        "growth_kmax_per_y",
        "metabolism_factor_ratio",
        "food_mm",
        "intake_max_frac_ww_per_d",
        "adult_length_cm",
    }
)
"""What lit surfaces have no use for."""


def _takes(species: Species, prepared: Prepared) -> Iterator[UsedValue]:
    classes = sorted({food.food_class for food in prepared.foods})
    for name in classes:
        yield UsedValue(
            key=f"species.{species.id}.takes",
            topic="species.takes",
            title=f"{species.common_name}: {topics()['species.takes'].title}",
            name=f"{name} food",
            text=species.takes.get(name, "unknown"),
            status=species.status,
            source_keys=("practice",) if species.status == "practice" else species.sources,
        )


def _guild(guild: Guild) -> Iterator[UsedValue]:
    yield from _fields(guild, room="guild", called=guild.name)
    maps: tuple[tuple[str, Mapping[str, Value]], ...] = (
        ("places", {pool: value for pool, value in guild.feeds_on.items() if value.value > 0}),
        ("digestion", {str(diet): value for diet, value in guild.carbon_assimilated_frac.items()}),
    )
    for name, values in maps:
        topic = topics()[f"guild.{name}"]
        for item, value in values.items():
            yield used(
                value,
                key=f"guild.{guild.id}.{name}",
                topic=topic,
                title=f"{guild.name}: {topic.title}",
                name=item.replace("_", " "),
            )


def _foods(prepared: Prepared) -> Iterator[UsedValue]:
    for slot in prepared.foods:
        yield from _fields(slot.food, room="food", called=slot.food.name)


def _devices(prepared: Prepared) -> Iterator[UsedValue]:
    feeding = {meal.by for meal in prepared.plan.meals}
    cared_for = {chore.entry_id for chore in prepared.keeper.chores}
    for kind in dict.fromkeys(entry.kind for entry in prepared.plan.devices):
        device = prepared.catalogue.devices[kind]
        unused = (
            _unused_of_device(entry, feeds=entry.id in feeding, cared_for=entry.id in cared_for)
            for entry in prepared.plan.devices
            if entry.kind == kind
        )
        leave_out = frozenset.intersection(*unused)
        yield from _fields(device, room="device", called=device.name, leave_out=leave_out)
    for traits in {feeder.kind: feeder for feeder in prepared.keeper.meals.feeders.values()}.values():
        topic = topics()["schedule.drift"]
        title = f"{prepared.catalogue.devices[traits.kind].name}: {topic.title}"
        parts = (
            ("first third", traits.drift_first_third_ratio),
            ("last third", traits.drift_last_third_ratio),
        )
        for name, value in parts:
            yield used(value, key=f"schedule.drift.{traits.kind}", topic=topic, title=title, name=name)


def _unused_of_device(entry: DeviceEntry, *, feeds: bool, cared_for: bool) -> frozenset[str]:
    """Fields that the plan states itself, or that nothing asks for."""
    feeder, care = topics()["device.feeder"].items, topics()["device.care"].items
    unused = set(entry.numbers) | (set() if feeds else set(feeder)) | (set() if cared_for else set(care))
    return frozenset(unused)


def _tasks(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    plan = prepared.plan
    stated = {upkeep.task for upkeep in plan.upkeep}
    timed = {upkeep.task for upkeep in plan.upkeep if upkeep.minutes is not None}
    timed -= {upkeep.task for upkeep in plan.upkeep if upkeep.minutes is None}
    for task_id in _done_tasks(marks):
        task = prepared.catalogue.tasks.get(task_id)
        if task is None:
            continue
        unused = {"minutes"} if task_id in timed else set()
        unused |= {"every_days"} if task_id in stated else set()
        unused |= {LID_FIELD} if plan.tank.lid == "open" else set()
        yield from _fields(task, room="task", called=task.name, leave_out=frozenset(unused))


def _done_tasks(marks: Marks) -> list[str]:
    return sorted(mark.partition(":")[2] for mark in marks if mark.startswith("task:"))


def _schedule(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    yield from _effects(prepared, marks)
    yield from _implied(prepared, marks)
    topic = topics()["schedule.workload"]
    for name, value in workload().numbers.items():
        label = value.place or field_words(name)
        yield used(value, key=topic.name, topic=topic, title=topic.title, name=label)


def _effects(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    """Shares that a task takes where the plan gives none."""
    topic, plan = topics()["schedule.effect"], prepared.plan
    open_tasks = set(_done_tasks(marks)) - {upkeep.task for upkeep in plan.upkeep}
    open_tasks |= {
        upkeep.task for upkeep in plan.upkeep if all(getattr(upkeep, part) is None for part in STATED_SHARES)
    }
    for task_id in sorted(open_tasks & set(effect_rules())):
        numbers = dict(effect_rules()[task_id].numbers)
        if "patch_m2" in numbers:
            numbers.pop("share_frac" if plan.tank.sand_area_m2 > 0 else "patch_m2", None)
        for name, value in numbers.items():
            title = f"{prepared.catalogue.tasks[task_id].name}: {topic.title}"
            yield used(
                value, key=f"schedule.effect.{task_id}", topic=topic, title=title, name=field_words(name)
            )


def _implied(prepared: Prepared, marks: Marks) -> Iterator[UsedValue]:
    topic = topics()["schedule.implied"]
    stated = {upkeep.task for upkeep in prepared.plan.upkeep}
    for rule in implied_rules():
        wanted = {f"device:{kind}" for kind in rule.devices}
        if rule.task in stated or f"task:{rule.task}" not in marks or (wanted and not wanted & marks):
            continue
        named = prepared.catalogue.tasks.get(rule.task)
        title = f"{rule.name or (named.name if named else rule.task)}: {topic.title}"
        for name, value in rule.numbers.items():
            key = f"schedule.implied.{rule.task}"
            yield used(value, key=key, topic=topic, title=title, name=field_words(name))
