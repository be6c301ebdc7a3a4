"""How the animals of one cohort eat, burn, grow, excrete and come to die, as rates for the kernel.

A cohort slot holds animals of one species, arrival and size. Its amounts are for the whole cohort: `gut`
(fullness, a memory of what was eaten, no matter in itself), `reserve` and `structure` (mmol C of body).
Everything eaten is at once split into faeces, reserve, and what is respired and excreted, so that each
element closes; the ammonia and phosphate of a meal pass through `N_BL` and `P_BL` and so leave over hours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from backreef.models.mathops import Quantity, saturation, smooth_minimum

FOOD_POOLS = tuple(f"Q_{food}" for food in range(1, 7))
BOTTOM = "bottom"
GROWN_POOLS = ("A_F", "A_T", "A_N", "A_C", "X_DL", "Z_PC", "Z_PA", "X_POM")
POOLS = (*FOOD_POOLS, BOTTOM, *GROWN_POOLS)
"""All that can be eaten, in the order of a slot's weights."""

OFFERED = frozenset((*FOOD_POOLS, BOTTOM))
"""Food as it was fed, taken in a rush: only the gut and the handling of all food together bound it."""
STRAINED = "X_POM"
"""Taken in proportion while scarce, up to its ceiling (type II); the other grown pools leave a residue that
is not found (type III)."""

SLOT_STATES = ("gut", "reserve")
EATEN = tuple(f"ate_{pool}" for pool in POOLS)
SLOT_TOTALS = ("structure", "hazard", "got", "need", *EATEN)
"""Integrals that no rate depends on within a day: body carbon, cumulated hazard, reserve gained, reserve
needed, carbon eaten of each pool."""

SLOT_TRAITS = (
    "count",
    "speed",
    "capacity",
    "gut_rate",
    "burn",
    "growth",
    "goal",
    "day",
    "night",
    "base_hazard",
    *(f"weight_{pool}" for pool in POOLS),
    *(f"keep_{pool}" for pool in POOLS),
    *(f"faeces_{pool}" for pool in POOLS),
    "refractory",
    "comes",
    "pushes",
    "yields",
)
"""Per slot and lane. speed, burn and growth mmol C per animal and day; capacity and goal mmol C per animal;
gut_rate per day; weight: of food, how it is liked (0 to 1); of what grows here, the most that is taken of
it in a day, over `speed`; keep: reserve per carbon eaten; faeces: share egested; refractory: share of the
faeces of algae and detritus that is hard to break down; comes: liking of the food adrift that it likes best;
pushes: how much one animal keeps others off a meal; yields: how much it lets itself be kept off."""

MEAL_SUMS = {"heads": ("comes",), "bites": ("comes", "speed"), "pushing": ("pushes",)}
"""Registers over all slots: each the sum of counts times these traits; who is at a meal besides oneself."""

FAECES = ("X_DL", "X_DR")
"""Soft faeces, and those that are hard to break down."""
ALGAL_DIET = frozenset(("A_F", "A_T", "A_N", "A_C", "X_DL"))
_TINY = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """What an animal's reserve and structure consist of, per mmol C."""

    nitrogen: float
    phosphorus: float
    oxygen_demand: float
    protein: float
    lipid: float
    loose_phosphorus: float
    """Phosphorus beside that of the protein."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feast:
    """What a cohort does to itself and to the tank, all in mmol per day."""

    gut: Quantity
    reserve: Quantity
    structure: Quantity
    hazard: Quantity
    got: Quantity
    need: Quantity
    shared: dict[str, Quantity]
    """Changes of the shared components."""
    eaten: tuple[Quantity, ...]
    """Carbon taken from each of `POOLS`."""
    eagerness: Quantity
    """What is eaten per unit of liked and found food; gut, appetite and all foods together act only through
    it."""

    def change(self, name: str) -> Quantity:
        """Give the change of one of the slot's own amounts, its states or its totals."""
        own: Quantity = self.eaten[EATEN.index(name)] if name in EATEN else getattr(self, name)
        return own


def feast(
    slot: Mapping[str, Quantity],
    known: Mapping[str, Quantity],
    body: Body,
    composition: Mapping[str, Sequence[Quantity]],
) -> Feast:
    """Give the rates of one cohort (or of many at once, as arrays with slots first).

    Validity
    --------
    22 to 31 degC; an empty slot (count 0) gives 0 throughout.

    Source
    ------
    Own model: multi-food functional response with a gut, oxygen-based energy (docs/model.md); traits from
    the catalogue.
    """
    eagerness, eaten = _eaten(slot, known)
    kept, faeces_soft, faeces_hard, intake = _split(slot, known, eaten, body, composition)
    fullness = slot["reserve"] / (slot["count"] * slot["goal"] + _TINY)
    breathing = saturation(known["O2"], known["K_O_animal"])
    need = slot["count"] * slot["burn"] * known["t_animal"]
    maintenance = need * saturation(fullness, 0.02) * breathing
    fourth = fullness * fullness * fullness * fullness
    growth = slot["count"] * slot["growth"] * breathing * fourth / (1.0 + fourth)
    burnt = maintenance + known["growth_cost"] * growth
    carbon, nitrogen, phosphorus, demand = intake
    soft, hard = (composition[each] for each in FAECES)
    faeces = faeces_soft + faeces_hard
    spare_nitrogen = nitrogen - soft[1] * faeces_soft - hard[1] * faeces_hard
    spare_phosphorus = phosphorus - soft[2] * faeces_soft - hard[2] * faeces_hard - body.phosphorus * kept
    spare_oxygen = soft[3] * faeces_soft + hard[3] * faeces_hard - demand
    bony = known["q_min"] * spare_phosphorus
    shared = _taken(eaten, known)
    for name, amount in zip(FAECES, (faeces_soft, faeces_hard), strict=True):
        _add(shared, name, amount)
    _add(shared, "N_BL", spare_nitrogen + body.nitrogen * (burnt - kept))
    _add(shared, "P_BL", spare_phosphorus - bony + body.phosphorus * burnt)
    _add(shared, "B_PM", bony)
    _add(shared, "S_DIC", carbon - faeces - kept + burnt)
    _add(shared, "S_O2", spare_oxygen + body.oxygen_demand * (kept - burnt))
    _add(shared, "S_ALK", -bony)
    total = sum(eaten[1:], eaten[0])
    return Feast(
        gut=total - slot["gut_rate"] * slot["gut"],
        reserve=kept - burnt - growth,
        structure=growth,
        hazard=slot["count"] * _hazard(slot, known, fullness),
        got=kept,
        need=need,
        shared=shared,
        eaten=tuple(eaten),
        eagerness=eagerness,
    )


def _add(change: dict[str, Quantity], name: str, amount: Quantity) -> None:
    change[name] = change[name] + amount if name in change else amount


def _eaten(slot: Mapping[str, Quantity], known: Mapping[str, Quantity]) -> tuple[Quantity, list[Quantity]]:
    """Eagerness, and carbon eaten of each pool: what is liked and found, as gut and hour allow.

    The better the reserve is filled, the less of the gut a meal fills: a rush is over before pace matters.
    """
    share = let_in(slot, known)
    near = share * nearness(slot, known)
    found = [_found(slot[f"weight_{pool}"], pool, known, near) for pool in POOLS]
    found[POOLS.index(BOTTOM)] = share * found[POOLS.index(BOTTOM)]
    offered = [part for pool, part in zip(POOLS, found, strict=True) if pool in OFFERED]
    rush = sum(offered[1:], offered[0])
    lit = known["day_shape"]
    awake = slot["day"] * lit + slot["night"] * (1.0 - lit)
    fullness = slot["reserve"] / (slot["count"] * slot["goal"] + _TINY)
    room = slot["count"] * slot["capacity"] / (1.0 + _sixth(fullness)) + _TINY
    stuffed, fat = _eighth(slot["gut"] / room), _eighth(fullness)
    appetite = awake / ((1.0 + stuffed) * (1.0 + fat)) * saturation(known["O2"], known["K_O_animal"])
    rate = slot["count"] * slot["speed"] * appetite / (1.0 + rush)
    return rate, [rate * part for part in found]


def nearness(slot: Mapping[str, Quantity], known: Mapping[str, Quantity]) -> Quantity:
    """Give how many times as much food adrift a cohort finds as one animal that swims about at random. [-]

    Animals come to a meal: what is offered is as near to each as in `V_cloud` of water, however large the
    tank. And nobody takes a grain before it has come to it: all together never empty the water faster than
    once in `t_grain`, so that a linearly implicit step of a few seconds takes no more than there is.

    Validity
    --------
    Any count, in one cohort or in several. Twice the water with twice the animals is the same.

    Source
    ------
    Interference in the form of Beddington (1975) and DeAngelis et al. (1975), from memory; cloud and time
    are practice.
    """
    count, own = slot["count"], slot["count"] * slot["comes"]
    heads = count + (known["heads"] - own)
    bites = count * slot["speed"] + (known["bites"] - own * slot["speed"])
    seen = 1.0 + known["V"] / (heads * known["V_cloud"] + _TINY)
    reach = known[f"reach_{FOOD_POOLS[0]}"]
    return seen / (1.0 + bites * known["t_grain"] * reach * seen)


def let_in(slot: Mapping[str, Quantity], known: Mapping[str, Quantity]) -> Quantity:
    """Give the share of a meal's food that a cohort gets at, of what it would find if nobody pushed. [-]

    Validity
    --------
    What was fed, adrift and on the bottom; the same in any water, as all come to one place. Animals of one
    cohort do not push each other.

    Source
    ------
    Own rule; how much each sort pushes and yields is practice.
    """
    return 1.0 / (1.0 + slot["yields"] * (known["pushing"] - slot["count"] * slot["pushes"]))


def _sixth(x: Quantity) -> Quantity:
    square = x * x
    return square * square * square


def _eighth(x: Quantity) -> Quantity:
    square = x * x
    fourth = square * square
    return fourth * fourth


def _found(weight: Quantity, pool: str, known: Mapping[str, Quantity], near: Quantity) -> Quantity:
    """What is found of a pool; a grown one up to a ceiling that follows from how much it is liked."""
    ratio = _density(pool, known)
    if pool in FOOD_POOLS:
        return weight * ratio * near
    if pool in OFFERED:
        return weight * ratio
    present = ratio if pool == STRAINED else ratio * ratio
    return weight * (present / (1.0 + present))


def pool_reaches(known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """Give, per pool, one over the amount at which it is eaten at half speed. [1/mmol]

    Validity
    --------
    Areas and volume above 0.

    Source
    ------
    Half densities per area or litre from the parameter table (practice; grazing: algae_fit).
    """
    surface = known["A_rock"] + known["A_sand"]
    halves = {
        **dict.fromkeys(FOOD_POOLS, known["K_drift"] * known["V"]),
        BOTTOM: known["K_bottom"] * surface,
        "A_F": known["K_film"] * (known["A_glass"] + 0.5 * known["A_rock"]),
        "A_T": known["K_graze"] * 0.3 * known["A_rock"],
        "A_N": known["K_graze"] * 0.2 * known["A_rock"],
        "A_C": known["K_crust"] * 0.3 * known["A_rock"],
        "X_DL": known["K_detritus"] * surface,
        "Z_PC": known["K_pods"] * surface / (1.0 - known["refuge"]),
        "Z_PA": known["K_pods"] * surface / (1.0 - known["refuge"]),
        "X_POM": known["K_seston"] * known["V"],
    }
    return {f"reach_{pool}": 1.0 / halves[pool] for pool in POOLS}


def _density(pool: str, known: Mapping[str, Quantity]) -> Quantity:
    """A pool relative to the amount at which it is eaten at half speed."""
    present = known["X_FP"] + known["X_FL"] + known["X_FC"] if pool == BOTTOM else known[pool]
    return present * known[f"reach_{pool}"]


def _taken(eaten: Sequence[Quantity], known: Mapping[str, Quantity]) -> dict[str, Quantity]:
    """What the pools lose; food on the bottom is taken as it lies, all its parts alike."""
    change: dict[str, Quantity] = {}
    for pool, amount in zip(POOLS, eaten, strict=True):
        if pool == BOTTOM:
            share = amount / (known["X_FP"] + known["X_FL"] + known["X_FC"] + _TINY)
            for part in ("X_FP", "X_FL", "X_FC", "X_FM"):
                _add(change, part, -share * known[part])
        else:
            _add(change, pool, -amount)
    return change


def _split(
    slot: Mapping[str, Quantity],
    known: Mapping[str, Quantity],
    eaten: Sequence[Quantity],
    body: Body,
    composition: Mapping[str, Sequence[Quantity]],
) -> tuple[Quantity, Quantity, Quantity, tuple[Quantity, Quantity, Quantity, Quantity]]:
    """Reserve gained, soft and hard faeces, and the carbon, nitrogen, phosphorus and oxygen demand eaten."""
    kept, soft, hard = _bottom_kept(slot, known, eaten[POOLS.index(BOTTOM)], body, composition)
    intake = _bottom_intake(known, eaten[POOLS.index(BOTTOM)], composition)
    for pool, amount in zip(POOLS, eaten, strict=True):
        if pool == BOTTOM:
            continue
        kept = kept + slot[f"keep_{pool}"] * amount
        faeces = slot[f"faeces_{pool}"] * amount
        if pool in ALGAL_DIET:
            hard = hard + slot["refractory"] * faeces
            soft = soft + (1.0 - slot["refractory"]) * faeces
        else:
            soft = soft + faeces
        content = composition[pool]
        intake = tuple(
            total + (amount * content[element] if element else amount) for element, total in enumerate(intake)
        )
    return kept, soft, hard, intake


def _bottom_intake(
    known: Mapping[str, Quantity], amount: Quantity, composition: Mapping[str, Sequence[Quantity]]
) -> tuple[Quantity, ...]:
    share = amount / (known["X_FP"] + known["X_FL"] + known["X_FC"] + _TINY)
    parts = ("X_FP", "X_FL", "X_FC", "X_FM")
    return tuple(
        share
        * sum(
            (known[part] * composition[part][element] for part in parts[1:]),
            known[parts[0]] * composition[parts[0]][element],
        )
        for element in range(4)
    )


def _bottom_kept(
    slot: Mapping[str, Quantity],
    known: Mapping[str, Quantity],
    amount: Quantity,
    body: Body,
    composition: Mapping[str, Sequence[Quantity]],
) -> tuple[Quantity, Quantity, Quantity]:
    """Bound what is kept of the changing mixture on the bottom by its energy, nitrogen and phosphorus."""
    share = amount / (known["X_FP"] + known["X_FL"] + known["X_FC"] + _TINY)
    protein = share * known["X_FP"]
    faeces = slot["faeces_bottom"] * protein
    _, nitrogen, phosphorus, demand = _bottom_intake(known, amount, composition)
    soft = composition[FAECES[0]]
    energy = slot["keep_bottom"] * (demand - soft[3] * faeces) / body.oxygen_demand
    matter = smooth_minimum(
        (nitrogen - soft[1] * faeces) / body.nitrogen, (phosphorus - soft[2] * faeces) / body.phosphorus
    )
    carbon_left = share * (known["X_FP"] + known["X_FL"] + known["X_FC"]) - faeces
    return smooth_minimum(smooth_minimum(energy, matter), carbon_left), faeces, 0.0 * faeces


def _hazard(slot: Mapping[str, Quantity], known: Mapping[str, Quantity], fullness: Quantity) -> Quantity:
    """Hazard of death per animal and day: its own, hunger, want of oxygen, ammonia."""
    hunger = known["h_starve"] / (1.0 + _eighth(fullness / 0.15))
    ease = _eighth(known["O2"] / known["o2_crit"])
    suffocation = known["h_o2"] / (1.0 + ease * ease)
    burning = known["nh3"] / known["nh3_crit"]
    return slot["base_hazard"] + hunger + suffocation + known["h_nh3"] * burning * burning
