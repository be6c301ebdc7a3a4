from __future__ import annotations

from typing import Any

import pytest

from backreef.aquarium.phrases import read_gate
from backreef.errors import InputFaults
from backreef.logbook.entries import Addition, Chore, Death, Feeding, Note, Reading, Sighting
from backreef.logbook.line import read_line
from backreef.logbook.vocabulary import Vocabulary, all_words
from backreef.units import ion_per_element_ratio

N_IN_NO3 = 1 / ion_per_element_ratio("NO3", "N")
P_IN_PO4 = 1 / ion_per_element_ratio("PO4", "P")


def one(text: str, words: Vocabulary) -> Any:
    (found,) = read_line(text, words)
    return found


def messages(text: str, words: Vocabulary) -> list[str]:
    with pytest.raises(InputFaults) as refusal:
        read_line(text, words)
    return [f"{fault.key}: {fault.message}" for fault in refusal.value.faults]


def test_it_reads_several_things_in_a_line(reading_room: Vocabulary) -> None:
    said = read_line("no3 12 ppm, po4 0.08, fed double, 1 snail died", reading_room)
    assert [what.kind for what in said] == ["reading", "reading", "feeding", "death"]
    nitrate, phosphate, fed, death = said
    assert isinstance(nitrate, Reading)
    assert (nitrate.series, nitrate.written) == ("nitrate_mg_n_per_l", "12 ppm")
    assert nitrate.value == pytest.approx(12 * N_IN_NO3)
    assert isinstance(phosphate, Reading)
    assert phosphate.value == pytest.approx(0.08 * P_IN_PO4)
    assert isinstance(fed, Feeding)
    assert fed.portion_ratio == 2
    assert isinstance(death, Death)
    assert (death.count, death.species, death.animal) == (1, "cerith", "ceriths")


@pytest.mark.parametrize(
    ("text", "series", "value"),
    [
        ("no3 12", "nitrate_mg_n_per_l", 12 * N_IN_NO3),
        ("NO3: 12 mg/L", "nitrate_mg_n_per_l", 12 * N_IN_NO3),
        ("nitrate = 12 mg/l NO3", "nitrate_mg_n_per_l", 12 * N_IN_NO3),
        ("nitrate is 3 mg/L NO3-N", "nitrate_mg_n_per_l", 3.0),
        ("no3-n 3 ppm", "nitrate_mg_n_per_l", 3.0),
        ("no2 0.05", "nitrite_mg_n_per_l", 0.05 / ion_per_element_ratio("NO2", "N")),
        ("nh4 0.2 ppm", "ammonia_total_mg_n_per_l", 0.2 / ion_per_element_ratio("NH4", "N")),
        ("nh3 0.2 ppm", "ammonia_total_mg_n_per_l", 0.2 / ion_per_element_ratio("NH3", "N")),
        ("tan 0.2", "ammonia_total_mg_n_per_l", 0.2),
        ("po4-p 0.02", "phosphate_mg_p_per_l", 0.02),
        ("phosphate 30 ppb P", "phosphate_mg_p_per_l", 0.03),
        ("alk 2.8 meq/L", "alkalinity_meq_per_l", 2.8),
        ("kh 7", "alkalinity_meq_per_l", 2.4966),
        ("alk 7", "alkalinity_meq_per_l", 2.4966),
        ("alk 140 ppm", "alkalinity_meq_per_l", 2.7976),
        ("ca 430", "calcium_mg_per_l", 430.0),
        ("mg 1350 ppm", "magnesium_mg_per_l", 1350.0),
        ("ph 8.15", "ph_total", 8.15),
        ("sal 35", "salinity_psu", 35.0),
        ("salinity 35ppt", "salinity_psu", 35.0),
        ("sg 1.0264", "salinity_psu", 35.0),
        ("temp 25.5C", "temperature_c", 25.5),
        ("temp 25.5", "temperature_c", 25.5),
        ("temp 77", "temperature_c", 25.0),
        ("o2 6.5", "oxygen_mg_per_l", 6.5),
    ],
)
def test_it_reads_a_kit_as_it_is_marked(
    text: str, series: str, value: float, reading_room: Vocabulary
) -> None:
    found = one(text, reading_room)
    assert found.series == series
    assert found.value == pytest.approx(value, rel=2e-3)  # as near as four digits of a gravity are


@pytest.mark.parametrize(
    ("text", "assumed"),
    [
        ("no3 12", "'no3' without a unit was read as mg/L NO3"),
        ("no3 12 ppm", "'no3' in ppm was read as mg/L NO3"),
        ("nh3 0.1 ppm", "'nh3' in ppm was read as mg/L NH3"),
        ("temp 77", "degrees Fahrenheit"),
        ("sal 1.025", "specific gravity"),
        ("alk 8", "dKH"),
    ],
)
def test_it_says_what_it_assumed(text: str, assumed: str, reading_room: Vocabulary) -> None:
    assert assumed in " ".join(one(text, reading_room).assumed)


@pytest.mark.parametrize("text", ["alk 2.8 meq/L", "temp 25 degC", "ph 8.1", "no3 5 mg/L NO3"])
def test_it_assumes_nothing_where_nothing_is_left_out(text: str, reading_room: Vocabulary) -> None:
    assert one(text, reading_room).assumed == ()


def test_it_keeps_that_a_kit_showed_less_than_it_can_tell(reading_room: Vocabulary) -> None:
    assert one("po4 < 0.02 ppm", reading_room).sign == "<"
    assert one("no2 below 0.05", reading_room).sign == "<"
    assert one("no3 > 100", reading_room).sign == ">"
    assert one("no3 100", reading_room).sign == "="


def test_it_keeps_the_kind_of_kit(reading_room: Vocabulary) -> None:
    assert one("alk 8.2 dKH by drop kit", reading_room).kit == "drop_count"
    assert one("no3 5 with a photometer", reading_room).kit == "photometer"
    assert one("no3 5", reading_room).kit is None
    assert "'witchcraft' is no kind of kit" in messages("no3 5 by witchcraft", reading_room)[0]


@pytest.mark.parametrize(
    ("text", "portion", "food", "amount_g"),
    [
        ("fed double", 2, None, None),
        ("fed half the portion", 0.5, None, None),
        ("fed 3x", 3, None, None),
        ("fed 50 %", 0.5, None, None),
        ("fed nothing", 0, None, None),
        ("skipped feeding", 0, None, None),
        ("double portion", 2, None, None),
        ("fed as planned", 1, None, None),
        ("fed 0.4 g pellets", None, "pellet_small", 0.4),
        ("we fed 400 mg of frozen mysis", None, "fz_mysid", 0.4),
        ("fed double mysis", 2, "fz_mysid", None),
        ("gave 1 g nori", None, "nori", 1.0),
    ],
)
def test_it_reads_a_feeding(
    text: str, portion: float | None, food: str | None, amount_g: float | None, reading_room: Vocabulary
) -> None:
    found = one(text, reading_room)
    assert isinstance(found, Feeding)
    assert (found.portion_ratio, found.food, found.amount_g) == (portion, food, amount_g)


@pytest.mark.parametrize(
    ("text", "task", "minutes", "share", "volume_l"),
    [
        ("water change 10 % 20 min", "wc_do", 20, 0.1, None),
        ("changed 30 L in 25 minutes", "wc_do", 25, None, 30),
        ("wc 10%", "wc_do", None, 0.1, None),
        ("harvested 30 %, ", "harvest_macro", None, 0.3, None),
        ("glass 6 min", "glass_inner", 6, None, None),
        ("did the glass 0.5 h", "glass_inner", 30, None, None),
        ("test_quick 12 min", "test_quick", 12, None, None),
        ("Clean covers or mesh took 4 min", "lid_clean", 4, None, None),
    ],
)
def test_it_reads_a_chore(
    text: str,
    task: str,
    minutes: float | None,
    share: float | None,
    volume_l: float | None,
    reading_room: Vocabulary,
) -> None:
    found = one(text, reading_room)
    assert isinstance(found, Chore)
    assert (found.task, found.minutes, found.share_frac, found.volume_l) == (task, minutes, share, volume_l)


@pytest.mark.parametrize(
    ("text", "count", "species", "animal"),
    [
        ("1 snail died", 1, "cerith", "ceriths"),
        ("2 ceriths died", 2, "cerith", "ceriths"),
        ("lost two clowns", 2, "ocellaris_clown", "clowns"),
        ("the urchin is dead", 1, "tuxedo_urchin", "urchin"),
        ("royal gramma died", 1, "royal_gramma", None),
        ("3 fish died", 3, None, None),
        ("two tangs died", 2, None, None),
    ],
)
def test_it_reads_a_death(
    text: str, count: int, species: str | None, animal: str | None, reading_room: Vocabulary
) -> None:
    found = one(text, reading_room)
    assert isinstance(found, Death)
    assert (found.count, found.species, found.animal) == (count, species, animal)


def test_without_a_plan_it_does_not_guess_which_snail(no_plan: Vocabulary) -> None:
    found = one("1 snail died", no_plan)
    assert (found.name, found.species, found.animal) == ("snail", None, None)


def test_it_reads_an_arrival(reading_room: Vocabulary) -> None:
    found = one("added 2 firefish 6 cm", reading_room)
    assert isinstance(found, Addition)
    assert (found.count, found.species, found.animal, found.length_cm) == (2, "firefish", "firefish", 6.0)
    assert one("one firefish arrived", reading_room).count == 1


@pytest.mark.parametrize(
    ("text", "thing", "seen", "cover", "at_night"),
    [
        ("hair algae 5 %", "turf_algae", True, 0.05, False),
        ("no film algae", "film_algae", False, None, False),
        ("film 0 %", "film_algae", False, 0.0, False),
        ("pods seen at night", "pods", True, None, True),
        ("cyano covers 10 % of the sand", "cyanobacteria", True, 0.1, False),
        ("clownfish not eating", "eating", False, None, False),
        ("clownfish did not eat", "eating", False, None, False),
        ("all clownfish eating", "eating", True, None, False),
    ],
)
def test_it_reads_a_sighting(
    text: str, thing: str, seen: bool, cover: float | None, at_night: bool, reading_room: Vocabulary
) -> None:
    found = one(text, reading_room)
    assert isinstance(found, Sighting)
    assert (found.thing, found.seen, found.cover_frac, found.at_night) == (thing, seen, cover, at_night)


def test_a_sighting_has_the_names_that_gates_wait_for(reading_room: Vocabulary) -> None:
    for word in ("film algae", "turf algae", "hair algae", "diatoms", "pods", "detritus"):
        (gate,) = read_gate(f"{word} visible").sightings
        assert gate.thing == one(f"{word} seen", reading_room).thing


def test_a_note_takes_the_rest_of_the_line(reading_room: Vocabulary) -> None:
    said = read_line("fed double, note: feeder jammed, 3,5 g lost and found", reading_room)
    assert isinstance(said[1], Note)
    assert said[1].text == "feeder jammed, 3,5 g lost and found"


def test_it_says_every_fault_of_a_line_at_once(reading_room: Vocabulary) -> None:
    found = messages("no4 12 ppm, po4 0,08, nitrat 5, no3 3, glas 6 min, 2 snaails died", reading_room)
    assert len(found) == 5
    for words in ("'no3' (nitrate)", "with a point", "'nitrate'", "'glass'", "'snail'"):
        assert sum(words in message for message in found) == 1, (words, found)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "says nothing"),
        (" , ; ", "says nothing"),
        ("alk 3", "has no unit"),
        ("no3 1200", "not believable"),
        ("no3 -3", "negative"),
        ("glass 6", "'6' has no unit; write '6 min'"),
        ("fed mysis", "does not say how much"),
        ("fed double caviar", "is no food"),
        ("fed 100x", "not believed"),
        ("film 120 %", "more than all"),
        ("water change 150 %", "more than can be"),
        ("0 snails died", "no number of animals"),
        ("2 unicorns died", "is no animal"),
        ("changed", "is not understood"),
        ("nitrate", "'nitrate' needs a number behind it"),
        ("kh high", "'kh' needs a number behind it"),
        ("fed", "write 'fed double'"),
        ("died", "write '2 snails died'"),
        ("qqqq", "is not understood; write a reading"),
        ("note: " + "x" * 5000, "write two"),
    ],
)
def test_it_refuses_with_a_reason(text: str, words: str, reading_room: Vocabulary) -> None:
    assert words in messages(text, reading_room)[0]


def test_its_table_of_words_means_things_that_there_are(reading_room: Vocabulary) -> None:
    catalogue = reading_room.catalogue
    known = {"task": catalogue.tasks, "food": catalogue.foods}
    lost = [one for one in all_words() if one.kind in known and one.means not in known[one.kind]]
    assert lost == []
    spelled = [(one.kind, one.word) for one in all_words()]
    assert len(spelled) == len(set(spelled))
