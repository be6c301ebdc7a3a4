from __future__ import annotations

from datetime import date

import pytest

from backreef.company.attacks import attack_rate, crowding_ratio
from backreef.company.engine import setting_of
from backreef.company.findings import Setting
from backreef.company.hazards import Hazard, Outbreak, Rate, apart_d, number
from backreef.company.survival import alive_frac, hazards_of
from tests.unit.aquarium.plans import catalogue, plan_of

LATER = "arrives_on = 2027-06-01"


def of(species: str, *lines: str) -> str:
    return "\n".join(("[[animals]]", f'species = "{species}"', *lines, ""))


def tank(lines: str, *, extra: str = 'lid = "glass"\n', display: str = "300 L") -> Setting:
    text = f'start_on = 2027-01-04\n[tank]\ndisplay = "{display}"\n{extra}{lines}'
    return setting_of(plan_of(text), catalogue(), 0)


def of_cause(setting: Setting, cause: str) -> dict[str, Hazard]:
    return {one.entry_id: one for one in hazards_of(setting) if one.cause == cause}


def test_only_newcomers_have_to_settle_in() -> None:
    found = of_cause(tank(of("firefish") + of("royal_gramma", LATER)), "settling in")
    assert found.keys() == {"royal_gramma"}
    came = (date(2027, 6, 1) - date(2027, 1, 4)).days
    assert (found["royal_gramma"].since_day, found["royal_gramma"].until_day) == (came, came + 56)


def test_farm_bred_and_quarantined_fish_settle_better_and_delicate_ones_worse() -> None:
    def rate(lines: str, species: str) -> float:
        return of_cause(tank(lines), "settling in")[species].rate.value_per_y

    plain = rate(of("yellow_watchman", LATER), "yellow_watchman")
    assert rate(of("ocellaris_clown", LATER), "ocellaris_clown") < plain
    assert rate(of("yellow_watchman", LATER, 'quarantine = "45 days"'), "yellow_watchman") < plain
    assert rate(of("yellow_watchman", LATER, 'quarantine = "3 days"'), "yellow_watchman") == plain
    assert rate(of("moorish_idol", LATER), "moorish_idol") > plain


def test_a_quarantine_tank_stands_for_its_days_where_the_entry_says_none() -> None:
    device = '[[devices]]\nkind = "quarantine_tank"\n'
    with_tank, without = tank(of("firefish", LATER) + device), tank(of("firefish", LATER))
    assert apart_d(with_tank.residents[0], with_tank) == number("quarantine_days")
    assert apart_d(without.residents[0], without) == 0.0
    own = tank(of("firefish", LATER, 'quarantine = "10 days"') + device)
    assert apart_d(own.residents[0], own) == 10.0


def test_fish_leap_only_from_an_open_tank() -> None:
    assert of_cause(tank(of("firefish")), "leaps") == {}
    assert "firefish" in of_cause(tank(of("firefish"), extra='lid = "open"\n'), "leaps")


def test_rivals_share_an_attacker_and_harm_begins_when_both_are_there() -> None:
    one = of_cause(tank(of("purple_tang") + of("yellow_tang", LATER)), "rivals")["yellow_tang"]
    assert one.since_day == (date(2027, 6, 1) - date(2027, 1, 4)).days
    two = of_cause(tank(of("purple_tang") + of("yellow_tang", LATER) + of("scopas_tang", LATER)), "rivals")
    alone = tank(of("purple_tang") + of("yellow_tang", LATER))
    purple = next(each for each in alone.residents if each.species.id == "purple_tang")
    assert one.rate.value_per_y <= attack_rate(purple, alone).value_per_y * number("resident_first_ratio")
    assert two["yellow_tang"].rate.value_per_y < 2 * one.rate.value_per_y


def test_room_helps_within_bounds() -> None:
    ratios = []
    for display in ("60 L", "300 L", "20000 L"):
        setting = tank(of("yellow_tang"), display=display)
        ratios.append(crowding_ratio(setting.residents[0], setting))
    assert ratios == sorted(ratios, reverse=True)
    assert (ratios[0], ratios[-1]) == (number("most_room_ratio"), number("least_room_ratio"))


def test_prey_is_at_risk_from_the_day_it_fits_the_mouth() -> None:
    small = tank(of("volitans_lion") + of("ocellaris_clown", 'length = "3 cm"'))
    found = [one for one in hazards_of(small) if one.cause.startswith("eaten by")]
    assert [one.entry_id for one in found] == ["ocellaris_clown"]
    assert found[0].rate.value_per_y == number("eaten_unsafe_per_y")


@pytest.mark.parametrize(("chance", "expected"), [(0.0, 1.0), (1.0, 0.3679), (0.5, 0.6839)])
def test_an_outbreak_counts_by_its_chance(chance: float, expected: float) -> None:
    rate = Rate(value_per_y=1.0, low_per_y=0.5, high_per_y=2.0)
    hazard = Hazard(
        entry_id="one",
        cause="disease",
        since_day=0,
        until_day=3000,
        rate=rate,
        outbreak=Outbreak(name="x", chance_frac=chance),
    )
    assert alive_frac([hazard], "one", since_day=0, until_day=365) == pytest.approx(expected, abs=2e-3)
    assert alive_frac([hazard], "other", since_day=0, until_day=365) == 1.0


def test_the_order_of_entries_changes_no_hazard() -> None:
    one, other = of("purple_tang") + of("yellow_tang", LATER), of("yellow_tang", LATER) + of("purple_tang")
    assert hazards_of(tank(one)) == hazards_of(tank(other))
