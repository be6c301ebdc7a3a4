"""What a chore does in the water, as small tagged objects that a simulation turns into steps of its state."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from backreef.aquarium.plan import Plan, Upkeep
from backreef.schedule.tables import EffectRule, effect_rules


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterChange:
    """A share of the whole system's water is replaced by new seawater."""

    share_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Harvest:
    """A share of a growth is taken out: `macro_algae` of a refugium or `screen_algae` of a scrubber."""

    of: str
    take_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Siphon:
    """A share of the detritus lying in `sand` or `sump` is taken out with little water."""

    where: str
    share_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SockChange:
    """What the filter sock has caught leaves the system."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MediaChange:
    """Fresh medium takes the place of the old: `carbon` or `iron_oxide`."""

    kind: str
    medium_g: float
    share_frac: float
    """Share of the old medium that goes; the rest stays in use."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassClean:
    """Film is wiped off a share of the viewing panes."""

    share_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SkimmerCup:
    """The skimmer's cup is emptied and its neck rinsed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SkimmerService:
    """The skimmer's pump and air line are free of scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpService:
    """The pumps are free of scale and growth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverClean:
    """Covers or mesh are free of salt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorClean:
    """The level sensors of the top-off are wiped, and its stop was tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """An instrument shows what is true again: `salinity`, `temperature`, or `probes` for both.

    Whatever it measures is known, too, as after a test.
    """

    of: str
    series: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LampClean:
    """Lenses and covers of the lamps are free of salt and dust."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResinChange:
    """The pure-water filter has fresh resin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TopOffRefill:
    """Pure water: into the reservoir of the named device or, with `device` None, up to the tank's mark."""

    water_l: float
    """What the reservoir holds afterwards; for the tank, what has evaporated if all goes to plan."""
    device: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FeederRefill:
    """The hopper of the named feeder is full again; with `device` None that of every feeder."""

    device: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """Something is added to the water; `value` None where the plan does not say how much."""

    kind: str
    value: float | None
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandRemoval:
    """A share of a growth is pulled or scraped off by hand."""

    of: str
    share_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Test:
    """These series are known as they were at this hour, within the error of a kit."""

    __test__: ClassVar[bool] = False
    """A test of water, not of this program."""
    series: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """Nothing that the water would notice."""


Effect = (
    WaterChange
    | Harvest
    | Siphon
    | SockChange
    | MediaChange
    | GlassClean
    | SkimmerCup
    | SkimmerService
    | PumpService
    | CoverClean
    | SensorClean
    | Calibration
    | LampClean
    | ResinChange
    | TopOffRefill
    | FeederRefill
    | Dose
    | HandRemoval
    | Test
    | Other
)
OTHER = Other()


def effect_of(task_id: str, *, plan: Plan, upkeep: Upkeep | None = None) -> Effect:
    """What the task does, by the plan's own share or amount where it gives one and by the table where not."""
    rule = effect_rules().get(task_id)
    if rule is None:
        return _dose(upkeep, kind=task_id) or OTHER
    if rule.kind in _MARKS:
        return _MARKS[rule.kind]
    if rule.kind == "test":
        return Test(series=rule.series)
    if rule.kind == "calibration":
        return Calibration(of=rule.of, series=rule.series)
    if rule.kind == "top_off_refill":
        litres = upkeep.amount_l if upkeep is not None and upkeep.amount_l is not None else 0.0
        return TopOffRefill(water_l=litres, device=None)
    if rule.kind == "feeder_refill":
        return FeederRefill(device=None)
    if rule.kind == "dose":
        return _dose(upkeep, kind=rule.of) or Dose(kind=rule.of, value=None, unit="")
    if rule.kind == "media_change":
        return _media(rule, plan=plan, upkeep=upkeep)
    return _shared(rule, share_frac=share_frac_of(task_id, plan=plan, upkeep=upkeep) or 0.0)


_MARKS: dict[str, Effect] = {
    "sock_change": SockChange(),
    "skimmer_cup": SkimmerCup(),
    "skimmer_service": SkimmerService(),
    "pump_service": PumpService(),
    "cover_clean": CoverClean(),
    "sensor_clean": SensorClean(),
    "lamp_clean": LampClean(),
    "resin_change": ResinChange(),
}


def share_frac_of(task_id: str, *, plan: Plan, upkeep: Upkeep | None = None) -> float | None:
    """Share of what the task works on, 0 to 1; None where neither plan nor table speaks of a share."""
    if upkeep is not None and upkeep.share_frac is not None:
        return upkeep.share_frac
    rule = effect_rules().get(task_id)
    if rule is None:
        return None
    if rule.kind == "water_change" and upkeep is not None and upkeep.amount_l is not None:
        return min(1.0, upkeep.amount_l / plan.tank.water_volume_l)
    patch = rule.numbers.get("patch_m2")
    if patch is not None and plan.tank.sand_area_m2 > 0:
        return min(1.0, patch.value / plan.tank.sand_area_m2)
    share = rule.numbers.get("share_frac")
    return None if share is None else share.value


def _shared(rule: EffectRule, *, share_frac: float) -> Effect:
    if rule.kind == "water_change":
        return WaterChange(share_frac=share_frac)
    if rule.kind == "harvest":
        return Harvest(of=rule.of, take_frac=share_frac)
    if rule.kind == "siphon":
        return Siphon(where=rule.of, share_frac=share_frac)
    if rule.kind == "glass_clean":
        return GlassClean(share_frac=share_frac)
    return HandRemoval(of=rule.of, share_frac=share_frac)


def _media(rule: EffectRule, *, plan: Plan, upkeep: Upkeep | None) -> MediaChange:
    full_g = rule.numbers["grams_per_100l"].value * plan.tank.water_volume_l / 100.0
    share = 1.0 if upkeep is None or upkeep.share_frac is None else upkeep.share_frac
    given = None if upkeep is None else upkeep.amount_g
    return MediaChange(kind=rule.of, medium_g=full_g * share if given is None else given, share_frac=share)


def _dose(upkeep: Upkeep | None, *, kind: str) -> Dose | None:
    """A dose where the plan gives an amount."""
    if upkeep is not None and upkeep.amount_g is not None:
        return Dose(kind=kind, value=upkeep.amount_g, unit="g")
    if upkeep is not None and upkeep.amount_l is not None:
        return Dose(kind=kind, value=upkeep.amount_l, unit="L")
    return None
