"""Whether the readings stopped going as the tank went before: a step, a drift or the noise of kits.

Under the ensemble and the kits' errors the readings, less what was foretold, are one draw of a known Gaussian
field. A step or a drift of one series from a day on would add a known shape to it, and the best amplitude of
each shape says how much likelier it makes what came (a generalised likelihood ratio; Willsky and Jones 1976,
IEEE Transactions on Automatic Control 21:108-112). Only if one is far likelier, causes are simulated from
that time on, and ranked by how likely each makes all readings together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from backreef.aquarium.series import Series
from backreef.calibration.doubt import Doubt
from backreef.calibration.evidence import Scale, Taken
from backreef.calibration.smoother import Evidence
from backreef.calibration.tables import Cause, number, slips_of
from backreef.simulation.tables import InItsUnit
from backreef.simulation.workers import Cores
from backreef.working.number import exp_of, log_of, total

Array = npt.NDArray[np.float64]
DAYS_PER_WEEK = 7.0
STEP, DRIFT = "step", "drift"
READ_ANEW = 4000
"""Times that members are read anew to see what luck gives, all together; numerical. What luck gives once in
200 times a few hundred do not show: with 32 members, read four times each, one look in 36 was an alarm."""
LEAST_LEFT = 1e-6
NOISE, BOTTLE, UNIT = "noise", "bottle", "unit"
OF_KITS = (NOISE, BOTTLE, UNIT)
"""What causes do that leave the tank as it is."""
Signature = Callable[[Cause, int], Array | None]
"""What a cause from a day on adds to each reading in even units, (readings, runs); None: it cannot be."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """Readings less what was foretold, and the covariance that they should have."""

    taken: tuple[Taken, ...]
    missed: Array
    covariance: Array
    common_errors: Array
    """What another bottle of each kit would add to its readings, one standard deviation."""
    scale: Scale
    errors: Array
    """Covariance of the kits' errors alone."""
    apart: Array
    """What each member foretells, less the mean, over the root of their number, (readings, members)."""

    def shift(self, one: Taken, factor: InItsUnit) -> Array:
        """What each reading of a series shows too much where the truth is so many times what was written.

        In even units, each by what it shows itself, (readings,); 0 for readings of other series.
        """
        name = one.series.series
        written = np.array([each.value for each in self.taken])
        mine = np.array([each.series.series == name for each in self.taken])
        return np.where(mine, self.scale.even(name, written) - self.scale.even(name, written * factor), 0.0)

    def loglikelihood(self, added: Array | None = None, spread: Array | None = None) -> float:
        """Of what came, with a shape added to what was foretold and a covariance to its errors."""
        whole = self.covariance if spread is None else self.covariance + spread
        left = self.missed if added is None else self.missed - added
        root = np.linalg.cholesky(whole)
        even = np.linalg.solve(root, left)
        return float(-0.5 * even @ even - np.log(np.diag(root)).sum())

    @property
    def surprises(self) -> Array:
        """Each reading's miss in standard deviations, given all readings before it."""
        return np.asarray(np.linalg.solve(np.linalg.cholesky(self.covariance), self.missed))


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """The shape that explains most."""

    series: str
    since_d: float
    """Day of the first reading that shows it."""
    kind: str
    """'step' or 'drift'."""
    ratio: InItsUnit
    """Twice the logarithm of how much likelier it makes what came."""
    amplitude: InItsUnit
    """In even units; for a drift, a week."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """A cause and what says how likely it is among those that were tried."""

    id: str
    what: str
    check: str
    minutes: float
    since_day: int
    """From which it is likeliest."""
    odds_ratio: InItsUnit
    """How often it happens, against the others."""
    likelihoods: tuple[InItsUnit, ...]
    """Logarithms of how likely it makes what came, from each of the days that were tried."""
    share_frac: InItsUnit = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Noticed:
    """A change that is more than kits and luck give, with the causes that were tried, likeliest first."""

    series: Series
    change: Change
    ranked: tuple[Suspect, ...]


def field_of(
    foretold: Array, evidence: Evidence, taken: Sequence[Taken], scale: Scale, doubts: Sequence[Doubt]
) -> Field:
    """The readings as a field, without those that stand alone in being off.

    A questioned reading comes back in if the next one of its series was questioned too: then it may be the
    tank that changed.
    """
    questioned = {doubt.place for doubt in doubts}
    use = np.array([place not in questioned for place in range(len(taken))])
    for series in {one.series.series for one in taken}:
        places = [place for place, one in enumerate(taken) if one.series.series == series]
        late = [place for place in places if place in questioned]
        if len(late) > 1 and places[-len(late) :] == late:
            use[late] = True
    some = evidence.some(use)
    middle = foretold[use].mean(axis=1)
    apart = (foretold[use] - middle[:, None]) / np.sqrt(foretold.shape[1] - 1)
    return Field(
        taken=tuple(one for one, used in zip(taken, use, strict=True) if used),
        missed=some.seen - middle,
        covariance=apart @ apart.T + some.errors,
        common_errors=np.array([scale.common_error(one, one.value) for one in taken])[use],
        scale=scale,
        errors=some.errors,
        apart=apart,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shapes:
    """Steps and drifts that are looked for, one a row."""

    rows: Array
    series: tuple[str, ...]
    since_d: tuple[float, ...]
    kinds: tuple[str, ...]


def shapes_of(taken: Sequence[Taken]) -> Shapes:
    """A step and a drift of each series from each of its readings on, but for the first and the last."""
    when = np.array([one.at_d for one in taken])
    rows: list[Array] = []
    names: list[tuple[str, float, str]] = []
    for series in dict.fromkeys(one.series.series for one in taken):
        mine = np.array([one.series.series == series for one in taken])
        for since_d in when[mine][1:-1].tolist():
            drift = np.where(mine, np.maximum(0.0, when - since_d + 1.0), 0.0) / DAYS_PER_WEEK
            rows += [1.0 * (mine & (when >= since_d)), drift]
            names += [(series, since_d, STEP), (series, since_d, DRIFT)]
    return Shapes(
        rows=np.array(rows).reshape(len(rows), len(taken)),
        series=tuple(name[0] for name in names),
        since_d=tuple(name[1] for name in names),
        kinds=tuple(name[2] for name in names),
    )


def greatest_change(field: Field) -> Change | None:
    """The step or drift of one series that explains most; None where there are too few readings."""
    shapes = shapes_of(field.taken)
    if not len(shapes.rows):
        return None
    inverse = np.linalg.inv(field.covariance)
    pulls = shapes.rows @ inverse
    weights = (pulls * shapes.rows).sum(axis=1)
    amplitudes = pulls @ field.missed / weights
    ratios = amplitudes**2 * weights
    best = int(ratios.argmax())
    return Change(
        series=shapes.series[best],
        since_d=shapes.since_d[best],
        kind=shapes.kinds[best],
        ratio=float(ratios[best]),
        amplitude=float(amplitudes[best]),
    )


def by_luck(field: Field, *, seed: int) -> float:
    """The ratio that tanks like this one, in which nothing happens, seldom pass.

    The members most like what came are tanks in which nothing happens. Each is read with the errors of the
    kits, as often as this tank was, and held against the other members; where the field is not as Gaussian as
    the test takes it to be, it shows here.
    """
    rng = np.random.default_rng(np.random.Philox(key=seed))
    shapes = shapes_of(field.taken).rows
    inverse, root = np.linalg.inv(field.covariance), np.linalg.cholesky(field.errors)
    count = field.apart.shape[1]
    likes = likeness(np.linalg.solve(root, field.missed[:, None] - field.apart * np.sqrt(count - 1)))
    tops: list[float] = []
    shares: list[float] = []
    times = -(-READ_ANEW // count)
    pulls = shapes @ inverse
    whole = (pulls * shapes).sum(axis=1)
    for member in range(count):
        own = field.apart[:, member]
        gone = inverse @ own / np.sqrt(max(LEAST_LEFT, 1.0 - float(own @ inverse @ own)))
        lost = shapes @ gone  # without this member the inverse is larger by gone times gone
        noise = root @ rng.standard_normal((len(own), times))
        missed = own[:, None] * count / np.sqrt(count - 1) + noise
        ratios = (pulls @ missed + np.outer(lost, gone @ missed)) ** 2 / (whole + lost**2)[:, None]
        tops += ratios.max(axis=0).tolist()
        shares += [float(likes[member])] * times
    order = np.argsort(tops)
    passed = np.cumsum(np.array(shares)[order])
    place = int(np.searchsorted(passed, (1.0 - number("alarm_luck_frac")) * passed[-1]))
    return float(np.array(tops)[order][min(place, len(tops) - 1)])


def likeness(missed: Array) -> Array:
    """How like what came each member is, from its misses in even units, (members,); no few speak for all."""
    misfit = (missed**2).sum(axis=0)
    misfit -= misfit.min()
    softer = 1.0
    while True:
        weights = np.exp(-0.5 * misfit / softer)
        if weights.sum() ** 2 / (weights**2).sum() >= number("alarm_like_frac") * len(misfit):
            return np.asarray(weights / weights.sum())
        softer *= 1.5


def is_alarm(field: Field, change: Change | None, *, seed: int) -> bool:
    """Whether a change is more than kits and luck give."""
    if change is None or change.ratio < number("alarm_ratio"):
        return False
    return change.ratio >= by_luck(field, seed=seed)


def suspects(
    field: Field, change: Change, causes: Sequence[Cause], signature: Signature
) -> tuple[Suspect, ...]:
    """Causes ranked by how likely each makes what came, from days around the change on."""
    reach = int(number("alarm_reach_d"))
    since = int(change.since_d)
    days = sorted({max(1, since - step) for step in (0, reach // 2, reach, 2 * reach)})
    fits: dict[str, list[tuple[float, int]]] = {}
    for (cause, day), shape in added_by(causes, days, signature):
        likely = field.loglikelihood(shape.mean(axis=1), spread_of(shape))
        fits.setdefault(cause.id, []).append((likely, day))
    found = [
        _suspect(cause, max(fits[cause.id])[1], *(likely for likely, _ in fits[cause.id]))
        for cause in causes
        if cause.id in fits
    ]
    found += _of_kits(field, change, causes)
    pairs = zip(found, shares_of(found), strict=True)
    return tuple(sorted((replace(one, share_frac=share) for one, share in pairs), key=_least_likely_last))


def _least_likely_last(one: Suspect) -> float:
    return -one.share_frac


def shares_of(tried: Sequence[Suspect]) -> tuple[InItsUnit, ...]:
    """How likely each of the causes is among them."""
    weights = [_weight(one) for one in tried]
    top = max(weights)
    likely = [exp_of(weight - top) for weight in weights]
    whole = total(likely)
    return tuple(each / whole for each in likely)


def _weight(one: Suspect) -> InItsUnit:
    """The logarithm of how likely a cause is, whichever of the days it began on."""
    top = max(one.likelihoods)
    mean = total(exp_of(each - top) for each in one.likelihoods) / float(len(one.likelihoods))
    return top + log_of(mean) + log_of(one.odds_ratio)


def added_by(
    causes: Sequence[Cause], days: Sequence[int], signature: Signature
) -> Iterator[tuple[tuple[Cause, int], Array]]:
    """What causes that happen to the tank add to the readings from each of the days on, all cores at once."""
    asked = [(cause, day) for cause in causes if cause.does not in OF_KITS for day in days]
    shapes = Cores().each(lambda one: signature(*one), asked)
    return ((one, shape) for one, shape in zip(asked, shapes, strict=True) if shape is not None)


def _suspect(cause: Cause, day: int, *likelihoods: InItsUnit) -> Suspect:
    return Suspect(
        id=cause.id,
        what=cause.what,
        check=cause.check,
        minutes=cause.minutes,
        since_day=day,
        odds_ratio=cause.odds_ratio,
        likelihoods=likelihoods,
    )


def apart_of(shape: Array) -> Array:
    """How each run of a shape differs from their mean, over the root of their number, (readings, runs)."""
    return np.asarray((shape - shape.mean(axis=1, keepdims=True)) / np.sqrt(max(1, shape.shape[1] - 1)))


def spread_of(shape: Array) -> Array:
    """How the shape differs between the runs that it was simulated with."""
    apart = apart_of(shape)
    return np.asarray(apart @ apart.T)


def _of_kits(field: Field, change: Change, causes: Sequence[Cause]) -> list[Suspect]:
    """What has nothing to do with the tank: noise, another bottle of the reagent, a unit mistaken."""
    when = np.array([one.at_d for one in field.taken])
    mine = np.array([one.series.series == change.series for one in field.taken])
    since, day = 1.0 * (mine & (when >= change.since_d)), int(change.since_d)
    found = []
    for cause in causes:
        if cause.does == NOISE:
            found.append(_suspect(cause, day, field.loglikelihood()))
        if cause.does == BOTTLE:
            width = field.common_errors * since
            found.append(_suspect(cause, day, field.loglikelihood(spread=np.outer(width, width))))
        if cause.does == UNIT:
            one = next(each for each in field.taken if each.series.series == change.series)
            slips = [slip for slip in slips_of(one.series.word) if slip.series != "any"]
            for slip in slips:
                shape = np.asarray(since * field.shift(one, slip.factor), dtype=float)
                told = _suspect(cause, day, field.loglikelihood(shape))
                what = f"{cause.what}: {slip.what}"
                found.append(replace(told, what=what, odds_ratio=cause.odds_ratio / len(slips)))
    return found
