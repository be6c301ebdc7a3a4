"""The rate laws that rows of `data/processes.csv` name, gathered here from the modules of their subjects.

Each is one function of quantities (numbers, arrays or symbols) that gives a rate in mmol per day for the
whole system. Concentrations are in umol/L, amounts in mmol, areas in m2, light in umol photons m-2 s-1, rates
per day. What the arguments are, a row of the table says; every law is smooth and 0 when the thing it uses up
is 0. A new law is a function of one of those modules and a line here.
"""

from __future__ import annotations

from backreef.models.laws_algae import (
    algal_growth_on_ammonium,
    algal_growth_on_nitrate,
    coralline_calcification,
    diatom_growth_on_ammonium,
    diatom_growth_on_nitrate,
)
from backreef.models.laws_bacteria import (
    aerobic_decay,
    areal_denitrification,
    denitrifying_growth,
    growth_on_organics,
    growth_on_sugar,
    nitrifier_growth,
)
from backreef.models.laws_corals import (
    coral_calcification,
    coral_exudation,
    coral_growth_on_ammonium,
    coral_growth_on_nitrate,
    coral_photosynthesis,
    coral_respiration,
    symbiont_change,
)
from backreef.models.laws_exchange import (
    carbonate_dissolution,
    constant_source,
    first_order,
    freundlich_exchange,
    gas_transfer,
    langmuir_exchange,
)
from backreef.models.laws_fauna import (
    crowded_death,
    particle_capture,
    small_fauna_feeding,
)

__all__ = [
    "aerobic_decay",
    "algal_growth_on_ammonium",
    "algal_growth_on_nitrate",
    "areal_denitrification",
    "carbonate_dissolution",
    "constant_source",
    "coral_calcification",
    "coral_exudation",
    "coral_growth_on_ammonium",
    "coral_growth_on_nitrate",
    "coral_photosynthesis",
    "coral_respiration",
    "coralline_calcification",
    "crowded_death",
    "denitrifying_growth",
    "diatom_growth_on_ammonium",
    "diatom_growth_on_nitrate",
    "first_order",
    "freundlich_exchange",
    "gas_transfer",
    "growth_on_organics",
    "growth_on_sugar",
    "langmuir_exchange",
    "nitrifier_growth",
    "particle_capture",
    "small_fauna_feeding",
    "symbiont_change",
]
