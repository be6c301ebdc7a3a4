"""Values as they were carried over, each with the place it comes from."""

import pytest

from backreef.catalogue.entries import Quantity, known
from backreef.catalogue.load import load_catalogue

SPECIES = [
    # id, field, value, source, where it stands
    (
        "yellow_tang",
        "max_length_cm",
        20.0,
        "hicks2019_lmax",
        "FishBase lengths compiled for Hicks and others 2019",
    ),
    ("yellow_tang", "weight_a_g", 0.0214, "morais_bellwood2018", "rfishprod data/db.rda"),
    ("ocellaris_clown", "weight_a_g", 0.01306, "schiettekatte2022", "length_weight_fishbase.csv"),
    ("percula_clown", "weight_b_ratio", 3.04, "schiettekatte2022", "length_weight_fishbase.csv"),
    ("banggai_cardinal", "weight_b_ratio", 2.86, "morais_bellwood2018", "rfishprod data/db.rda"),
    # K 0.275 towards 16.75 cm; (16.75 / 17)^2.29 x 0.275 = 0.266, own arithmetic
    ("yellow_tang", "growth_kmax_per_y", 0.266, "morais_bellwood2018", "rfishprod data/db.rda"),
    (
        "green_chromis",
        "metabolism_factor_ratio",
        1.10,
        "barneche2014",
        "own fit over 126 adults, mean of damsels",
    ),
    (
        "yasha_goby",
        "metabolism_factor_ratio",
        0.78,
        "barneche2014",
        "own fit over 126 adults, mean of gobies",
    ),
    ("royal_gramma", "adult_length_cm", 7.0, "practice", "common practice, no source"),
    ("moorish_idol", "min_volume_l", 750.0, "practice", "common practice, no source"),
    ("lyretail_anthias", "feedings_per_day", 3.0, "practice", "common practice, no source"),
    ("trochus", "start_density_per_100l", 3.0, "practice", "common practice, no source"),
]


@pytest.mark.parametrize(("ident", "field", "value", "source", "where"), SPECIES)
def test_it_gives_the_value_of_its_source(
    ident: str, field: str, value: float, source: str, where: str
) -> None:
    found: Quantity = getattr(load_catalogue().species[ident], field)
    number = known(found)
    assert number is not None, where
    assert number.value == pytest.approx(value, rel=1e-9), where
    assert number.source == source


def test_a_snail_eats_what_the_topshell_line_gives() -> None:
    # velasco2019: 4.13 DW^0.32 mg/h, 59.2 mg/d at 0.2 g dry flesh (2.5-3 cm of shell); the table's 0.06 g
    # a day at 20-30 mm is common practice, no source.
    turban = load_catalogue().species["turbo_tropical"]
    a, b, share = (
        known(number)
        for number in (turban.weight_a_g, turban.weight_b_ratio, turban.intake_max_frac_ww_per_d)
    )
    assert a is not None
    assert b is not None
    assert share is not None
    adult_g = a.value * 4.5**b.value
    young_g = a.value * 2.5**b.value
    eaten_g_per_d = share.value * adult_g * (young_g / adult_g) ** 0.8
    assert eaten_g_per_d == pytest.approx(0.0592, rel=0.05)


def test_a_pellet_burns_to_what_its_parts_give() -> None:
    # NRC 2011 convention: 23.6, 39.5 and 17.2 kJ for a gram of protein, fat and carbohydrate.
    pellet = load_catalogue().foods["pellet_small"]
    protein, fat, rest, energy = (
        known(part)
        for part in (pellet.protein_frac, pellet.fat_frac, pellet.nfe_frac, pellet.gross_energy_kj_per_g)
    )
    assert protein is not None
    assert fat is not None
    assert rest is not None
    assert energy is not None
    burnt = 23.6 * protein.value + 39.5 * fat.value + 17.2 * rest.value
    assert burnt == pytest.approx(energy.value, rel=0.05)


def test_dried_seaweed_is_given_as_fed() -> None:
    # ulva_rigida2019: protein 4-26 % of dry mass; at 8-14 % moisture that is 3.4-23.9 % as fed.
    protein = known(load_catalogue().foods["ulva_dried"].protein_frac)
    assert protein is not None
    assert (protein.low, protein.high) == pytest.approx((0.0344, 0.239), rel=0.01)
    assert protein.status == "calc"


@pytest.mark.parametrize(
    ("ident", "words"),
    [
        ("zoanthids", "palytoxin"),
        ("foxface", "doctor"),
        ("volitans_lion", "hot water"),
        ("longspine_urchin", "venomous"),
        ("eel_catfish", "hospital"),
        ("bta", "allergies"),
    ],
)
def test_it_warns_where_an_animal_can_hurt(ident: str, words: str) -> None:
    assert words in load_catalogue().species[ident].human_hazard


@pytest.mark.parametrize("ident", ["tridacna_maxima", "lined_seahorse", "acropora", "euphyllia"])
def test_it_names_the_papers_an_animal_needs(ident: str) -> None:
    assert "CITES Appendix II" in load_catalogue().species[ident].legal_note


@pytest.mark.parametrize(
    "ident",
    ["catalina_goby", "margarita_cool", "tegula_cool", "turbo_mexican", "bluespot_jawfish"],
)
def test_animals_of_cool_water_are_too_warm_in_a_reef_tank(ident: str) -> None:
    # A reef tank is kept at 25-26 degC: common practice, no source.
    warmest = known(load_catalogue().species[ident].temp_max_c)
    assert warmest is not None
    assert warmest.value < 25


@pytest.mark.parametrize(
    "ident", ["moorish_idol", "cleaner_wrasse", "orange_spotted_filefish", "bamboo_shark"]
)
def test_animals_that_mostly_fail_are_not_for_little_work(ident: str) -> None:
    assert load_catalogue().species[ident].low_upkeep == "never"


def test_every_coral_has_a_living_surface() -> None:
    corals = [animal for animal in load_catalogue().species.values() if animal.kind == "coral"]
    assert len(corals) == 23
    assert [coral.id for coral in corals if known(coral.coral_area_cm2_per_unit) is None] == []


def test_a_look_is_short() -> None:
    looks = [task for task in load_catalogue().tasks.values() if task.look]
    assert sorted(task.id for task in looks) == ["equipment_look", "headcount"]
    assert [task.id for task in looks if (minutes := known(task.minutes)) is None or minutes.value > 2] == []
