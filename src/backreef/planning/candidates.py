"""Which animals are worth simulating: those that the rules of company let into this tank, the easiest first.

The rules are those of `backreef.company`, asked with the kept plan and one newcomer, and again for each pair.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import combinations

from backreef.aquarium.plan import AnimalEntry, Plan
from backreef.catalogue.entries import Catalogue, Species, known
from backreef.company.engine import check_plan
from backreef.company.findings import CheckFinding
from backreef.planning.numbers import count
from backreef.planning.ways import WayOut
from backreef.planning.wishes import ReadWish, grazes

NEWCOMER = "new_"
_GRADES = ("hardy", "medium", "delicate", "expert")
_UPKEEP = ("yes", "conditional", "no", "never")
_NOT_KINDS = ("pod",)
"""Stocked by the thousand and grown by the tank itself; no wish counts them."""
ABOUT_DAYS = ("tank_age", "absence", "pause", "gate", "order", "quarantine")
"""Rules that hang on the day of arrival, which is chosen later and checked then."""
_NOT_ASKED = (*ABOUT_DAYS, "in_stead")
"""Nor is anybody asked who else might live there, which says nothing against an animal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """An animal that may come, and how many of it may."""

    species: Species
    least_count: int
    most_count: int
    cautions: tuple[CheckFinding, ...]
    """What the rules say of it beside refusing it."""

    @property
    def id(self) -> str:
        """The species."""
        return self.species.id

    @property
    def trouble(self) -> tuple[int, int, int]:
        """How hard it is to keep well, the least first."""
        return (
            _UPKEEP.index(self.species.low_upkeep),
            len(self.cautions),
            _GRADES.index(self.species.hardiness),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """An animal that does not come into question, and the nearest reason."""

    species_id: str
    what: str
    why: str
    rule: str
    ways_in: tuple[WayOut, ...] = ()
    """What would let it in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quarrel:
    """Two candidates that the rules do not let together."""

    first: str
    second: str
    what: str
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortlist:
    """What the programme chooses from, and why the rest is left out."""

    candidates: tuple[Candidate, ...]
    quarrels: tuple[Quarrel, ...]
    refused: tuple[Refused, ...]
    asked_only: frozenset[str] = frozenset()
    """Candidates that are there because somebody asked why they are not; no plan has them unless forced."""


NOBODY = Shortlist(candidates=(), quarrels=(), refused=())


def newcomer(species_id: str, number: int, arrives_on: date) -> AnimalEntry:
    """The entry of a candidate."""
    return AnimalEntry(
        id=f"{NEWCOMER}{species_id}",
        species=species_id,
        count=number,
        length_cm=None,
        arrives_on=arrives_on,
        gate=None,
    )


def shortlist(
    plan: Plan,
    catalogue: Catalogue,
    wishes: Sequence[ReadWish],
    on: date,
    asked: Iterable[str] = (),
) -> Shortlist:
    """Give the animals that may come to a plan, as far as its wishes and its algae ask for them.

    `on` is a day on which all could come; rules about days are asked later, with the days chosen. Those in
    `asked` are looked at too, so that it can be said why they do not come.
    """
    looker = Looker(plan=plan, catalogue=catalogue, on=on)
    per_wish, taken = count("candidates_per_wish_count"), dict[str, Candidate]()
    for wish in wishes:
        able = _Able(looker, needs=wish.least_count, doubtful=wish.named)
        for one in able.among(wish.species, most=len(wish.species) if wish.named else per_wish):
            taken[one.id] = one
    crew = [one.id for one in catalogue.species.values() if one.kind != "fish" and grazes(one, catalogue)]
    for one in _Able(looker, needs=1, doubtful=False).among(crew, most=count("crew_candidates_count")):
        taken[one.id] = one
    wanted = set(taken)
    for one in _Able(looker, needs=1, doubtful=True).among(
        sorted(set(asked) - wanted), most=len(catalogue.species)
    ):
        taken[one.id] = one
    chosen = tuple(sorted(taken.values(), key=lambda one: (*one.trouble, one.id)))
    return Shortlist(
        candidates=chosen,
        quarrels=tuple(looker.quarrels(chosen)),
        refused=tuple(each for each in looker.refused.values() if each.species_id not in taken),
        asked_only=frozenset(set(taken) - wanted),
    )


def why_left_out(species_id: str, found: Shortlist, catalogue: Catalogue) -> Refused | None:
    """Why an animal is no candidate; None if it is one."""
    if any(one.id == species_id for one in found.candidates):
        return None
    for each in found.refused:
        if each.species_id == species_id:
            return each
    return _refusal(
        catalogue.species[species_id],
        "shortlist",
        f"{catalogue.species[species_id].common_name}: not looked at",
        "no wish asks for it, or others that fulfil the wish are easier to keep; name it to have it",
    )


@dataclass(kw_only=True)
class Looker:
    """Asks the rules about newcomers to one plan, each question once."""

    plan: Plan
    catalogue: Catalogue
    on: date
    refused: dict[str, Refused] = field(default_factory=dict)
    _seen: dict[str, Candidate | Refused] = field(default_factory=dict)
    _new: dict[tuple[tuple[str, int], ...], list[CheckFinding]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        found = check_plan(self.plan, self.catalogue, without=_NOT_ASKED)
        self.before = {finding.id: finding.weight for finding in found}

    def new(self, *newcomers: tuple[str, int]) -> list[CheckFinding]:
        """What the rules find with so many of these that they did not find, or not as grave, without."""
        if newcomers not in self._new:
            self._new[newcomers] = self._asked([newcomer(*each, self.on) for each in newcomers])
        return self._new[newcomers]

    def _asked(self, entries: Iterable[AnimalEntry]) -> list[CheckFinding]:
        plan = replace(self.plan, animals=(*self.plan.animals, *entries))
        return [
            finding
            for finding in check_plan(plan, self.catalogue, without=_NOT_ASKED)
            if finding.weight != "note" and self.before.get(finding.id) != finding.weight
        ]

    def looked_at(self, species: Species) -> Candidate | Refused:
        """A candidate with how many of it may come, or why none may."""
        if species.id not in self._seen:
            self._seen[species.id] = self._look(species)
        return self._seen[species.id]

    def _look(self, species: Species) -> Candidate | Refused:
        if species.kind in _NOT_KINDS:
            return _refusal(
                species, "kind", f"{species.common_name}: not counted by heads", "it multiplies by itself"
            )
        there = sum(entry.count for entry in self.plan.animals if entry.species == species.id)
        least, limit = max(1, species.group_min_count - there), count("most_of_a_kind_count")
        most = limit if species.group_max_count is None else min(limit, species.group_max_count - there)
        if least > most:
            why = f"{there} are there, and it lives in at least {species.group_min_count}"
            return _refusal(species, "group", f"{species.common_name}: not so many live in peace", why)
        first = self.new((species.id, least))
        serious = [finding for finding in first if finding.weight == "serious"]
        if serious:
            return _refusal(species, serious[0].rule, serious[0].what, serious[0].why)
        known_ids, reached = {finding.id for finding in first}, least
        for number in range(least + 1, most + 1):
            found = self.new((species.id, number))
            if any(finding.id not in known_ids or finding.weight == "serious" for finding in found):
                break
            reached = number
        return Candidate(species=species, least_count=least, most_count=reached, cautions=tuple(first))

    def quarrels(self, chosen: Sequence[Candidate]) -> Iterator[Quarrel]:
        """Pairs of candidates of which the rules say more than of each alone."""
        alone = {
            one.id: {(each.id, each.weight) for each in self.new((one.id, one.least_count))} for one in chosen
        }
        for one, other in combinations(chosen, 2):
            for finding in self.new((one.id, one.least_count), (other.id, other.least_count)):
                if (finding.id, finding.weight) not in alone[one.id] | alone[other.id]:
                    yield Quarrel(first=one.id, second=other.id, what=finding.what, rule=finding.rule)
                    break


@dataclass(frozen=True, slots=True)
class _Able:
    """Picks those of some animals that may come in the number that is needed."""

    looker: Looker
    needs: int
    doubtful: bool
    """True: also those with a caution, as the keeper names them."""

    def among(self, species: Iterable[str], *, most: int) -> list[Candidate]:
        """The first so many, the easiest to keep looked at first."""
        found: list[Candidate] = []
        for each in sorted(species, key=self._ease):
            if len(found) >= most:
                break
            one = self._judged(self.looker.catalogue.species[each])
            if isinstance(one, Refused):
                self.looker.refused[each] = one
            else:
                found.append(one)
        return found

    def _judged(self, species: Species) -> Candidate | Refused:
        one = self.looker.looked_at(species)
        if isinstance(one, Refused):
            return one
        if one.most_count < self.needs:
            return _refusal(
                species,
                "group",
                f"{species.common_name}: too few of them live here",
                f"at most {one.most_count}",
            )
        return _doubtful(one) if not self.doubtful and _is_doubtful(one) else one

    def _ease(self, species_id: str) -> tuple[int, int, int, float, str]:
        """The easiest to keep first; then the better cleaners, the smaller ones, and by name."""
        one = self.looker.catalogue.species[species_id]
        adult = known(one.adult_length_cm)
        return (
            _UPKEEP.index(one.low_upkeep),
            _GRADES.index(one.hardiness),
            -max(one.cleans.values(), default=0),
            adult.value if adult is not None else 0.0,
            one.id,
        )


def _is_doubtful(one: Candidate) -> bool:
    return bool(one.cautions) or one.species.low_upkeep in ("no", "never")


def _refusal(species: Species, rule: str, what: str, why: str) -> Refused:
    return Refused(species_id=species.id, what=what, why=why, rule=rule)


def _doubtful(found: Candidate) -> Refused:
    """Animals with a caution come only where the keeper names them."""
    if found.cautions:
        first = found.cautions[0]
        return _refusal(found.species, first.rule, first.what, f"{first.why}; name it in a wish to have it")
    return _refusal(
        found.species,
        "low_upkeep",
        f"{found.species.common_name}: not for a tank with little time",
        f"{found.species.low_upkeep_reason}; name it in a wish to have it",
    )
