from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from backreef.aquarium.load import load_plan
from backreef.aquarium.plan import DefaultTaken, Plan
from backreef.aquarium.series import find_series
from backreef.errors import InputFaults
from backreef.units import ion_per_element_ratio
from tests.unit.aquarium.plans import EXAMPLES, SHORTEST, catalogue, plan_of, with_tank


def assumed(plan: Plan, key: str) -> list[DefaultTaken]:
    return [taken for taken in plan.assumptions if taken.key == key]


def test_it_takes_the_shortest_plan_and_names_everything_it_assumed() -> None:
    plan = plan_of(SHORTEST)
    assert plan.start_on == date(2027, 1, 4)
    assert plan.tank.display_gross_l == 300.0
    assert plan.horizon_days == 1096  # three years with one leap day: calendar arithmetic
    keys = {taken.key for taken in plan.assumptions}
    assert {"tank.rock", "tank.water_volume", "tank.temperature", "tank.start.nitrate"} <= keys
    assert {"keeper.presence", "keeper.minutes_per_month", "goals.horizon"} <= keys
    for taken in plan.assumptions:
        assert taken.source
        assert taken.changes.endswith(".")
        assert taken.status in ("published", "memory", "practice", "calc")


def test_it_assumes_nothing_that_the_plan_says() -> None:
    plan = with_tank('rock = "40 kg"\ntemperature = "77 degF"\n')
    assert plan.tank.rock_kg == 40.0
    assert plan.tank.temperature_c == pytest.approx(25.0)
    assert not assumed(plan, "tank.rock")
    assert not assumed(plan, "tank.temperature")


def test_it_reads_three_sides_in_one_text() -> None:
    plan = plan_of('start_on = 2027-01-04\n[tank]\ndisplay = "48 x 20 x 20 in"\n')
    assert plan.tank.display_length_cm == pytest.approx(121.92)
    assert plan.tank.display_gross_l == pytest.approx(48 * 20 * 20 * 2.54**3 / 1000)


def test_it_keeps_a_given_length_and_fills_the_other_sides() -> None:
    plan = plan_of('start_on = 2027-01-04\n[tank]\ndisplay = { volume = "300 L", length = "150 cm" }\n')
    tank = plan.tank
    assert tank.display_length_cm == 150.0
    assert tank.display_width_cm is not None
    assert tank.display_height_cm is not None
    filled = 150.0 * tank.display_width_cm * tank.display_height_cm / 1000
    assert filled == pytest.approx(300.0, rel=1e-3)
    assert not assumed(plan, "tank.display.length")
    assert assumed(plan, "tank.display.width")


def test_it_starts_established_where_animals_are_there() -> None:
    there = with_tank('[[animals]]\nspecies = "trochus"\n')
    to_come = with_tank('[[animals]]\nspecies = "trochus"\narrives_on = 2027-03-02\n')
    assert there.tank.start.kind == "established"
    assert there.tank.start.age_months > 0
    assert to_come.tank.start.kind == "live_rock"
    assert to_come.tank.start.age_months == 0.0


def test_it_counts_nutrients_as_the_element() -> None:
    plan = with_tank('[tank.start]\nnitrate = "10 mg/L NO3"\nphosphate = "0.1 ppm PO4"\n')
    readings = plan.tank.start.readings
    assert readings["nitrate_mg_n_per_l"] == pytest.approx(10 / ion_per_element_ratio("NO3", "N"))
    assert readings["phosphate_mg_p_per_l"] == pytest.approx(0.1 / ion_per_element_ratio("PO4", "P"))
    assert "by weight" in assumed(plan, "tank.start.phosphate (unit)")[0].value


def test_it_reads_a_bare_milligram_as_the_ion_and_says_so() -> None:
    plan = with_tank('[[upkeep]]\ntask = "wc_do"\nwhen = "nitrate > 15 mg/L at the last test"\n')
    when = plan.upkeep[0].when
    assert when is not None
    assert when.value == pytest.approx(15 / ion_per_element_ratio("NO3", "N"))
    assert assumed(plan, "upkeep[0].when (unit)")[0].value == "a bare mg/L was read as mg/L NO3"


def test_it_gives_ids_where_there_are_none() -> None:
    plan = with_tank(
        '[[animals]]\nspecies = "trochus"\n[[animals]]\nspecies = "trochus"\n'
        '[[animals]]\nid = "trochus_2"\nspecies = "cerith"\n'
    )
    assert [animal.id for animal in plan.animals] == ["trochus", "trochus_3", "trochus_2"]


def test_it_reads_a_gate_into_what_can_be_watched() -> None:
    plan = with_tank(
        '[[animals]]\nspecies = "trochus"\narrives_on = 2027-03-02\n'
        'gate = "nitrate < 20 mg/L NO3 and film algae visible and no hair algae and the children agree"\n'
    )
    animal = plan.animals[0]
    assert [condition.series for condition in animal.gate_conditions] == ["nitrate_mg_n_per_l"]
    assert [(sight.thing, sight.seen) for sight in animal.gate_sightings] == [
        ("film_algae", True),
        ("turf_algae", False),
        (None, True),
    ]
    assert "is taken as seen" in assumed(plan, "animals[0].gate (sight)")[0].value


@pytest.mark.parametrize("sight", ["film algae visible", "film algae seen twice"])
def test_it_opens_a_gate_without_a_date_from_the_first_day(sight: str) -> None:
    plan = with_tank(f'[[animals]]\nspecies = "trochus"\ngate = "{sight}"\n')
    assert plan.animals[0].gate_sightings[0].thing == "film_algae"
    assert plan.animals[0].arrives_on == plan.start_on
    assert assumed(plan, "animals[0].arrives_on")


def test_it_takes_the_usual_rhythm_of_a_task() -> None:
    plan = with_tank('[[upkeep]]\ntask = "wc_do"\n')
    usual = catalogue().tasks["wc_do"].every_days
    assert plan.upkeep[0].rhythm.every_days == usual.value  # type: ignore[union-attr]
    assert assumed(plan, "upkeep[0].every")


def test_it_names_the_numbers_of_a_device_with_their_units() -> None:
    plan = with_tank(
        '[[devices]]\nkind = "feeder_drum_mains"\nhopper = "45 g"\nportion = "100 mg"\n'
        '[[devices]]\nkind = "ato"\nreservoir = "25 L"\nplumbed = true\n'
        '[[devices]]\nkind = "refugium"\narea = "900 cm2"\nlight_par = "150 umol/m2/s"\n'
        'hours = "14 h"\non_at = "20:30"\n'
        '[[devices]]\nkind = "awc"\nshare_per_day = "0.5 %/day"\n'
        '[[devices]]\nkind = "doser"\ndose = "24 mL/day"\nalkalinity_per_day = "0.1 meq/L/day"\n'
        '[[devices]]\nkind = "feeder_disc"\ncells = 14\n'
    )
    numbers = [dict(device.numbers) for device in plan.devices]
    assert numbers[0] == {"hopper_g": 45.0, "portion_g": 0.1}
    assert numbers[1] == {"reservoir_l": 25.0, "plumbed": 1.0}
    assert numbers[2] == {"area_m2": pytest.approx(0.09), "light_par_umol_m2_s": 150.0}
    assert (plan.devices[2].on_at, plan.devices[2].hours) == (20.5, 14.0)
    assert numbers[3] == {"share_frac_per_d": pytest.approx(0.005)}
    assert numbers[4] == {"dose_l_per_d": pytest.approx(0.024), "alkalinity_meq_per_l_per_d": 0.1}
    assert numbers[5] == {"cells_count": 14.0}


def test_it_reads_what_the_keeper_gives_and_refuses() -> None:
    plan = with_tank(
        '[keeper]\nminutes_per_month = 90\npresence = ["Tue-Thu 9:00-17:30", "Sat"]\n'
        'closed = [{ country = "GB", region = "ENG" }, { weekday = "Mon" },\n'
        '  { every_year = "2 Aug to 15 Aug" }, { first = 2027-03-01, last = 2027-03-05, label = "works" }]\n'
        'helpers = [\n  { name = "caretaker", tasks = ["ato_refill"], days = "Mon", '
        'minutes_per_visit = "10 min" },\n]\n'
        'refuses = ["feed_frozen"]\nstops_after = { test_quick = "1 year" }\n'
        'wishes = [{ text = "a shoal", weight = 2, species = ["pajama_cardinal"] }]\n'
    )
    keeper = plan.keeper
    assert keeper.minutes_per_month == 90.0
    assert [(one.weekday, one.from_hour, one.to_hour) for one in keeper.presence] == [
        (1, 9.0, 17.5),
        (2, 9.0, 17.5),
        (3, 9.0, 17.5),
        (5, 0.0, 24.0),
    ]
    assert [rule.kind for rule in keeper.closed] == ["public_holidays", "weekday", "yearly", "dates"]
    assert (keeper.closed[2].first_month, keeper.closed[2].last_day) == (8, 15)
    assert keeper.closed[3].label == "works"
    assert keeper.helpers[0].weekdays == (0,)
    assert keeper.helpers[0].minutes_per_visit == 10.0
    assert keeper.stops_after == {"test_quick": 12.0}
    assert keeper.wishes[0].species == ("pajama_cardinal",)


def test_it_reads_bands_in_the_unit_of_their_series() -> None:
    plan = with_tank(
        '[goals]\nhorizon = "18 months"\n[goals.bands.alkalinity]\nact_low = "7 dKH"\n'
        "[goals.bands.ph]\nharm_low = 7.7\n"
    )
    assert plan.goals.bands["alkalinity_meq_per_l"].act_low == pytest.approx(7 / 2.8038, rel=1e-4)
    assert plan.goals.bands["ph_total"].harm_low == 7.7
    assert plan.horizon_days == round(1.5 * 365.25)


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_it_loads_every_example_without_a_fault(path: Path) -> None:
    plan = load_plan(path, catalogue())
    assert plan.story
    assert path.read_text(encoding="utf-8").startswith("# ")
    assert all(find_series(name) for name in plan.tank.start.readings)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("start_on = 1\n".encode("utf-16"), "written in UTF-16"),
        ("start_on = 1\n".encode("utf-16-le"), "holds zero bytes"),
        ('[tank]\nname = "größer"\n'.encode("latin-1"), "older encoding such as Latin-1"),
        (b"\xef\xbb\xbf" + SHORTEST.encode(), "UTF-8 with a byte-order mark"),
        (b"x" * 10_000_000, "is larger than 0.4 MB"),
        (b"a = " + b"[" * 50_000, "nests brackets too deeply"),
        (b"a = " + b"9" * 6000 + b"\n", "thousands of digits"),
        (b"\x00" * 100, "zero bytes"),
    ],
    ids=["utf16", "utf16_bare", "latin1", "bom", "ten_megabytes", "brackets", "digits", "zeros"],
)
def test_it_refuses_a_file_that_is_no_plan_with_one_fault(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "plan.toml"
    path.write_bytes(content)
    with pytest.raises(InputFaults) as raised:
        load_plan(path, catalogue())
    assert len(raised.value.faults) == 1
    assert said in raised.value.faults[0].message


def test_it_names_the_line_of_a_byte_that_is_no_text(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_bytes(b'start_on = 2027-01-04\n[tank]\nname = "\xfc"\n')
    with pytest.raises(InputFaults) as raised:
        load_plan(path, catalogue())
    assert raised.value.faults[0].line == 3


def test_it_refuses_what_is_no_file(tmp_path: Path) -> None:
    for path, said in ((tmp_path, "is a directory"), (tmp_path / "none.toml", "does not exist")):
        with pytest.raises(InputFaults, match=said):
            load_plan(path, catalogue())
    with pytest.raises(InputFaults, match="is no ordinary file"):
        load_plan("/dev/null", catalogue())
    with pytest.raises(InputFaults, match="cannot be read"):
        load_plan("x\0y", catalogue())


def test_it_says_when_it_may_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError

    path = tmp_path / "plan.toml"
    path.write_text(SHORTEST, encoding="utf-8")
    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputFaults, match="may not be read by this user"):
        load_plan(path, catalogue())


def test_it_stops_counting_after_two_hundred_faults() -> None:
    with pytest.raises(InputFaults) as raised:
        plan_of(SHORTEST + "".join(f"key_{number} = 1\n" for number in range(500)))
    assert len(raised.value.faults) == 201
    assert "and 300 more faults" in raised.value.faults[-1].message


def test_it_stops_guessing_after_forty_slips() -> None:
    with pytest.raises(InputFaults) as raised:
        plan_of(SHORTEST + "".join(f'[[animals]]\nspecies = "firefsh_{n}"\n' for n in range(60)))
    assert sum("did you mean" in fault.message for fault in raised.value.faults) == 40


def test_it_refuses_a_plan_of_thousands_of_entries() -> None:
    with pytest.raises(InputFaults, match="at most 400 are read"):
        plan_of(SHORTEST + '[[animals]]\nspecies = "trochus"\n' * 500)


def test_it_imports_no_edge_where_the_objects_are_used() -> None:
    code = "import sys, backreef.aquarium.plan; print([m for m in sys.modules if m.startswith('pydantic')])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
