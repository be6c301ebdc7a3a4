"""What is kept of a reconciliation: the answer itself, and the fit that the next one goes on from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from backreef.calibration import together
from backreef.calibration.outcome import Reconciled
from backreef.logbook.entries import Entry
from backreef.reports.reconcile_text import origin_words
from backreef.usecases import kept_fits
from backreef.usecases.asked_by_name import known_figures
from backreef.usecases.asked_fit import AskingFit
from backreef.usecases.kept import kept_text
from backreef.usecases.told_numbers import numbers_of
from tests.number_census import check_tree
from tests.reconcile_world import SMALL, entry, reading

ASKED = (32, 1, 2)
LOG = (
    entry("n1", 6.8, reading("nitrate_mg_n_per_l", 2.5, "colour_card")),
    entry("p1", 6.8, reading("phosphate_mg_p_per_l", 0.03, "photometer")),
    entry("n2", 12.8, reading("nitrate_mg_n_per_l", 3.0, "colour_card")),
)
NEXT = entry("a1", 13.8, reading("alkalinity_meq_per_l", 2.8, "drop_count"))


@pytest.fixture
def plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(kept_fits, "fits_folder", lambda: tmp_path / "fits")
    path = tmp_path / "twin.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def again(plan: Path, log: Sequence[Entry] = LOG, *, afresh: bool = False) -> Reconciled:
    return kept_fits.reconcile_again(plan, log, asked=ASKED, afresh=afresh)


def test_an_answer_is_kept_a_fit_gone_on_from_and_a_changed_plan_fitted_afresh(
    plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = again(plan)
    assert (first.origin.how, first.origin.why_fresh) == ("fresh", "")
    with monkeypatch.context() as nobody_works:
        nobody_works.setattr(together, "reconcile_on", None)
        second = again(plan)
    assert second.origin.kept
    assert kept_text(replace(second, origin=first.origin)) == kept_text(first)
    assert "Nothing has changed since" in origin_words(second)

    third = again(plan, (*LOG, NEXT))
    assert (third.origin.how, third.origin.since_count) == ("went on", 1)
    assert third.origin.fitted_on == first.last_on
    assert "The fit went on from that of 17 Jan 2026, with 1 reading since." in origin_words(third)
    assert {one.series for one in third.outlooks} > {one.series for one in first.outlooks}
    asking = AskingFit(plan, (*LOG, NEXT), asked=ASKED)
    told = {number.name: float(number.value) for number in numbers_of(third)}
    found = {number.name: float(number.value) for number in numbers_of(asking.reconciled)}
    assert found == pytest.approx(told, rel=1e-9), "the same marches, from the fit that stands"
    learned = known_figures(asking)["fit.moved.hand_ration.after.p50"].find(asking, None).tree
    check_tree(learned)
    read = {node.about.key for node in learned.leaves() if node.about.kind == "log"}
    assert read == {f"log.{one.id}.value" for one in (*LOG, NEXT)}

    plan.write_text(SMALL.replace("0.3 m2", "0.2 m2"), encoding="utf-8")
    fourth = again(plan, (*LOG, NEXT))
    assert fourth.origin.how == "fresh"
    assert "no longer as it was" in fourth.origin.why_fresh


def nothing_found(*_: object, **more: object) -> tuple[Reconciled, object]:
    raise LookupError(more["standing"])


def test_a_fit_that_is_asked_for_afresh_or_whose_file_is_damaged_is_not_gone_on_from(
    plan: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    again(plan)
    monkeypatch.setattr(together, "reconcile_on", nothing_found)
    with pytest.raises(LookupError, match="None"):
        again(plan, afresh=True)
    with pytest.raises(LookupError, match="Standing"):
        again(plan, (*LOG, NEXT))
    (fit,) = kept_fits.fits_folder().glob("*.npz")
    whole = fit.read_bytes()
    for damaged in (b"", b"nothing", whole[: len(whole) // 2], whole[:-40]):
        fit.write_bytes(damaged)
        with pytest.raises(LookupError, match="None"):
            again(plan, (*LOG, NEXT))
    (answer,) = kept_fits.fits_folder().glob("*.json")
    answer.write_text(answer.read_text(encoding="utf-8")[:-100], encoding="utf-8")
    with pytest.raises(LookupError):
        again(plan)


def test_only_the_fits_used_last_are_kept(plan: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = kept_fits.fits_folder()
    folder.mkdir()
    for number in range(kept_fits.MOST_FITS):
        for end in ("npz", "json"):
            (folder / f"{number}.{end}").write_bytes(b"old")
    again(plan)
    assert len(list(folder.glob("*.npz"))) == kept_fits.MOST_FITS
    assert len(list(folder.glob("*.json"))) == kept_fits.MOST_FITS
