"""Length-weight lines and growth rates of fish from published tables; of relatives where there is none."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from statistics import median
from typing import Any

from sheets import Row, own_rows, rounded, unknown, value

SIZE_EXPONENT = 2.29
"""Growth rate falls with asymptotic length to this power within a species (own fit, rfishprod rows)."""
SPREADS = {"species": 2.0, "genus": 2.2, "family": 2.5, "all": 2.8}
"""Factor either side of the value, by nearest relative with a record."""
SHRINK = {"genus": 1, "family": 3}
"""A relative's deviation from the common line counts n / (n + this)."""


def names_of(row: Row) -> list[str]:
    """Scientific names in a cell, abbreviations and remarks left out."""
    plain = re.sub(r"\(.*?\)", "", row["scientific_name"]).split("/")[0]
    return [" ".join(plain.split()[:2])]


class Relatives:
    """Growth records and length-weight lines by species, genus and family."""

    def __init__(self, growth: list[Row], species: list[Row]) -> None:
        self.family_of_genus = {names_of(row)[0].split()[0]: _family(row) for row in species}
        self.growth: dict[str, list[tuple[float, float]]] = defaultdict(list)
        self.lines: dict[str, list[tuple[float, float]]] = defaultdict(list)
        for row in growth:
            self._take(row)
        for row in species:
            if row["lw_a"]:
                self.lines[names_of(row)[0].split()[0]].append((float(row["lw_a"]), float(row["lw_b"])))
        self.means = {name: self._mean(name) for name in {key.partition(":")[2] for key in self.growth}}
        self.line = _line(list(self.means.values()))

    def _take(self, row: Row) -> None:
        name, quantity = row["species_or_group"], row["quantity"]
        parts = [part.strip() for part in row["value"].split("|")]
        if quantity.startswith("VBGF: Linf (TL)"):
            self.growth[f"measured:{name}"].append((float(parts[0]), float(parts[1])))
        elif quantity.startswith("predicted Kmax"):
            size = re.search(r"max size ([\d.]+) cm", row["conditions"])
            if size:
                self.growth[f"predicted:{name}"].append((float(size[1]), float(parts[0])))
        elif quantity.startswith("length-weight: a | b") and "proxy" not in name:
            line = (float(parts[0]), float(parts[1]))
            self.lines[f"sp:{name}"].append(line)
            self.lines[name.split()[0]].append(line)

    def _mean(self, name: str) -> tuple[float, float]:
        pairs = self.growth.get(f"measured:{name}") or self.growth[f"predicted:{name}"]
        return median(pair[0] for pair in pairs), median(pair[1] for pair in pairs)

    def deviations(self, *, genus: str = "", family: str = "") -> list[float]:
        """How far the growth of each relative stands from the common line, as a logarithm."""
        return [
            math.log(rate) - self._at(longest)
            for name, (longest, rate) in self.means.items()
            if name.split()[0] == genus or (family and self.family_of_genus.get(name.split()[0]) == family)
        ]

    def _at(self, length_cm: float) -> float:
        return self.line[0] + self.line[1] * math.log(length_cm)

    def rate_at(self, length_cm: float, deviation: float) -> float:
        """Growth rate of a fish of this length that deviates so far from the line."""
        return math.exp(self._at(length_cm) + deviation)


def _line(pairs: list[tuple[float, float]]) -> tuple[float, float]:
    """Least squares of log rate on log length."""
    points = [(math.log(longest), math.log(rate)) for longest, rate in pairs]
    mean_x, mean_y = (sum(point[i] for point in points) / len(points) for i in (0, 1))
    slope = sum((x - mean_x) * (y - mean_y) for x, y in points) / sum((x - mean_x) ** 2 for x, _ in points)
    return mean_y - slope * mean_x, slope


def _family(row: Row) -> str:
    return re.sub(r"\s*\(.*\)", "", row["family"])


def growth_of(row: Row, adult_cm: float, relatives: Relatives) -> dict[str, Any]:
    """The growth rate towards the adult length, from the nearest relative with a record."""
    name = names_of(row)[0]
    for kind, source in (("measured", "morais_bellwood2018"), ("predicted", "schiettekatte2022")):
        if pairs := relatives.growth.get(f"{kind}:{name}"):
            rates = [rate * (longest / adult_cm) ** SIZE_EXPONENT for longest, rate in pairs]
            scaled = "scaled to the adult length by length^-2.29"
            place = f"{len(rates)} {kind} growth line(s) of the species, {scaled}"
            return _rate(median(rates), "species", source=source, place=place)
    both = "morais_bellwood2018; schiettekatte2022"
    for group, near in (
        ("genus", relatives.deviations(genus=name.split()[0])),
        ("family", relatives.deviations(family=_family(row))),
    ):
        if near:
            deviation = median(near) * len(near) / (len(near) + SHRINK[group])
            line = f"line of growth on length over {len(relatives.means)} species"
            place = f"{line}, moved towards {len(near)} of its {group}"
            return _rate(relatives.rate_at(adult_cm, deviation), group, source=both, place=place)
    place = f"line of growth on length over {len(relatives.means)} species"
    return _rate(relatives.rate_at(adult_cm, 0.0), "all", source=both, place=place)


def _rate(rate: float, group: str, *, source: str, place: str) -> dict[str, Any]:
    low, high = rate / SPREADS[group], rate * SPREADS[group]
    return value(
        rounded(rate), low=rounded(low), high=rounded(high), source=source, place=place, status="calc"
    )


def weight_of(row: Row, relatives: Relatives) -> tuple[dict[str, Any], dict[str, Any]]:
    """The length-weight pair a and b of a fish."""
    if row["lw_a"]:
        source = {"S02": "morais_bellwood2018", "S03": "schiettekatte2022"}[row["lw_source"]]
        place = (
            "data/db.rda, columns a and b" if row["lw_source"] == "S02" else "data/length_weight_fishbase.csv"
        )
        what = {"source": source, "place": place, "status": "published"}
        return value(row["lw_a"], **what), value(row["lw_b"], **what)  # type: ignore[arg-type]
    name = names_of(row)[0]
    for key, where in ((f"sp:{name}", "the species"), (name.split()[0], "the genus")):
        if lines := relatives.lines.get(key):
            a, b = sorted(lines)[len(lines) // 2]
            what = {
                "source": "fishbase_lw; schiettekatte2022",
                "place": f"middle one of {len(lines)} lines of {where}",
            }
            a_entry = value(a, low=rounded(a * 0.55), high=rounded(a * 1.7), status="calc", **what)
            return a_entry, value(b, status="calc", **what)
    return _shape(row)


def _shape(row: Row) -> tuple[dict[str, Any], dict[str, Any]]:
    for shape in own_rows("body_shapes.csv"):
        members = shape["families_or_ids"].split()
        if row["key"] in members or _family(row) in members:
            a = float(shape["weight_a_g"])
            what = {
                "source": "own_estimate",
                "place": f"fish of the shape '{shape['shape']}'",
                "status": "memory",
            }
            low, high = (rounded(a * float(shape[key])) for key in ("low_ratio", "high_ratio"))
            return value(a, low=low, high=high, **what), value(shape["weight_b_ratio"], **what)
    why = "no length-weight line found for its shape"
    return unknown(why), unknown(why)
