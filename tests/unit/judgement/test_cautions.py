from __future__ import annotations

import pytest

from backreef.aquarium.load import load_plan
from backreef.company.place import mass_in_service_kg
from backreef.judgement.cautions import all_cautions, applying, cautions_of
from backreef.models.tables import load_tables
from tests.unit.aquarium.plans import EXAMPLES, catalogue, with_tank

HARMLESS = {"nips hands, harmless", "ink stains; keep from pets"}
"""Hazards of the catalogue that need no caution beyond the finding that names them."""


def ids(lines: str) -> list[str]:
    return [caution.id for caution, _ in applying(with_tank(lines), catalogue())]


def text(lines: str, beginning: str) -> str:
    found = [one for one in cautions_of(with_tank(lines), catalogue()) if beginning in one]
    assert len(found) == 1, found
    return found[0]


def animal(species: str) -> str:
    return f'[[animals]]\nspecies = "{species}"\n'


def test_it_warns_of_power_floor_release_and_law_whatever_the_plan() -> None:
    always = set(ids(""))
    assert {"electricity", "floor_load", "lifting", "public", "release", "permits", "not_a_vet"} <= always
    assert {"palytoxin", "venom", "dosing", "midge_larvae"}.isdisjoint(always)


@pytest.mark.parametrize(
    ("caution", "lines"),
    [
        ("palytoxin", animal("zoanthids")),
        ("venom", animal("foxface")),
        ("venom", animal("longspine_urchin")),
        ("sting", animal("bta")),
        ("poison", animal("porcupinefish")),
        ("cucumber", animal("tigertail_cucumber")),
        ("wounds", animal("tuxedo_urchin")),
        ("wounds", animal("yellow_tang")),
        ("dosing", '[[devices]]\nkind = "doser"\n'),
        ("carbon_dioxide", '[[devices]]\nkind = "reactor_ca"\n'),
        ("medicines", '[[devices]]\nkind = "quarantine_tank"\n'),
        ("midge_larvae", '[[meals]]\nfood = "fz_bloodworm"\namount = "0.1 g"\n'),
        ("brine_shrimp", '[[meals]]\nfood = "fz_artemia"\namount = "0.1 g"\n'),
    ],
)
def test_it_warns_where_the_plan_gives_cause(caution: str, lines: str) -> None:
    assert caution in ids(lines)
    assert caution not in ids("")


def test_it_says_who_gives_cause_and_on_whose_word() -> None:
    venom = text(animal("foxface") + animal("longspine_urchin"), "42 to 45 degC")
    names = [catalogue().species[one].common_name for one in ("foxface", "longspine_urchin")]
    assert venom.startswith(f"{names[0]} and {names[1]}: ")
    assert venom.endswith(f"({catalogue().sources['lionfish_sting_page'].text})")
    assert text("", "residual-current").endswith("(common practice, no source)")
    assert text("", "trade papers").endswith("from memory)")


def test_it_puts_what_can_kill_first() -> None:
    assert ids(animal("zoanthids") + animal("foxface"))[:2] == ["palytoxin", "venom"]


def test_it_weighs_the_tank_in_service() -> None:
    plan = with_tank('rock = "30 kg"\n')
    assert f"about {mass_in_service_kg(plan):.0f} kg, " in text('rock = "30 kg"\n', "In service")
    # 9.81 N per kg over the sides of the display
    area_m2 = (plan.tank.display_length_cm or 0) * (plan.tank.display_width_cm or 0) / 1e4
    assert f"{mass_in_service_kg(plan) * 9.81 / 1000 / area_m2:.0f} kN/m2" in text(
        'rock = "30 kg"\n', "In service"
    )


def test_it_counts_names_instead_of_listing_a_shoal_of_them() -> None:
    tangs = ("yellow_tang", "kole_tang", "tomini_tang", "scopas_tang", "purple_tang", "sailfin_tang")
    assert " and 2 more: " in text("".join(map(animal, tangs)), "Cover cuts")


def test_it_covers_every_hazard_to_people_that_the_catalogue_knows() -> None:
    words = {word for caution in all_cautions() for word in caution.triggers.get("hazard_words", ())}
    hazards = {species.human_hazard for species in catalogue().species.values()} - {""}
    assert {hazard for hazard in hazards if not any(word in hazard for word in words)} <= HARMLESS


def test_it_is_triggered_by_nothing_that_does_not_exist() -> None:
    known = {
        "tags": {tag for species in catalogue().species.values() for tag in species.tags},
        "foods": set(catalogue().foods),
        "devices": set(catalogue().devices),
        "tasks": set(catalogue().tasks),
    }
    for caution in all_cautions():
        assert caution.always or caution.triggers, caution.id
        for trigger, wanted in caution.triggers.items():
            assert wanted <= known.get(trigger, wanted), caution.id
        assert set(caution.source_keys) <= set(catalogue().sources) | set(load_tables().sources)


@pytest.mark.parametrize("name", ["reading_room", "office_showpiece", "family_first_reef"])
def test_it_leaves_no_gap_in_its_texts(name: str) -> None:
    texts = cautions_of(load_plan(EXAMPLES / f"{name}.toml", catalogue()), catalogue())
    assert len(set(texts)) == len(texts)
    assert not [one for one in texts if "{" in one or "  " in one or one.startswith(":")]
