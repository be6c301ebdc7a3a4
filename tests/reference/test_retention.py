import math
from typing import Any

import pytest

from backreef.models.growth import MassLine
from backreef.models.retention import Budget, Consumer, Elements, daily_budget
from tests.reference.cases import read

FILE = read("retention.toml")
TEMPERATURE_C = 27.0


def consumer(name: str) -> Consumer:
    given = {key: value for key, value in FILE[name].items() if key != "source"}
    for key in ("diet_pct", "body_pct", "assimilated_frac", "lost_frac_per_d"):
        given[key] = Elements(**given[key])
    given["mass_line"] = MassLine(**given["mass_line"])
    return Consumer(**given)


def budget(entry: dict[str, Any]) -> Budget:
    return daily_budget(entry["length_cm"], TEMPERATURE_C, consumer(entry["fish"]))


def found(result: Budget, key: str) -> float:
    if hasattr(result, key):
        return float(getattr(result, key))
    group, element = key.rsplit("_", 1)
    return float(getattr(getattr(result, group), element))


@pytest.mark.parametrize("entry", FILE["budget"], ids=lambda entry: entry["id"])
def test_it_gives_the_published_budget(entry: dict[str, Any]) -> None:
    result = budget(entry)
    assert {key: found(result, key) for key in entry["gives"]} == pytest.approx(
        entry["gives"], rel=entry["relative"]
    )
    assert result.limiting == entry["limiting"]


@pytest.mark.parametrize("entry", FILE["median"], ids=lambda entry: entry["id"])
def test_it_comes_near_the_published_median_ration(entry: dict[str, Any]) -> None:
    result = budget(entry)
    ration = 1000.0 * result.intake_g_dry_per_d / result.mass_g
    assert abs(math.log(ration / entry["mg_dry_per_g"])) < math.log(entry["factor"])


@pytest.mark.parametrize("entry", FILE["budget"], ids=lambda entry: entry["id"])
def test_it_loses_no_nitrogen_or_phosphorus(entry: dict[str, Any]) -> None:
    result = budget(entry)
    for element in ("n", "p"):
        eaten = found(result, f"intake_{element}")
        away = sum(found(result, f"{part}_{element}") for part in ("growth", "egested", "excreted"))
        assert away == pytest.approx(eaten, rel=1e-12)
