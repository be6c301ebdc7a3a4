import json
import shutil
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from backreef.catalogue import build, files, load
from backreef.catalogue.entries import Catalogue, Unknown, Value, known
from backreef.catalogue.load import load_catalogue
from backreef.catalogue.tables import DATA
from backreef.errors import InputFaults

SRC = Path(load.__file__).parents[2]


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A small catalogue that may be written to."""
    folder = tmp_path / "data"
    for name in (
        "species/royal_gramma.toml",
        "foods/pellet_small.toml",
        "tasks/headcount.toml",
        "sources.toml",
    ):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(DATA / name, folder / name)
    return folder


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A keeper's own folder with one animal that does not ship."""
    folder = tmp_path / "own" / "species"
    folder.mkdir(parents=True)
    text = (DATA / "species" / "royal_gramma.toml").read_text(encoding="utf-8")
    text = text.replace('id = "royal_gramma"', 'id = "my_gramma"').replace("Royal gramma", "My gramma")
    (folder / "my_gramma.toml").write_text(text, encoding="utf-8")
    return folder.parent


def test_it_holds_every_animal_food_device_and_task() -> None:
    catalogue = load_catalogue()
    counts = [len(one) for one in (catalogue.species, catalogue.foods, catalogue.devices, catalogue.tasks)]
    assert counts == [274, 41, 38, 66]


def test_its_entries_are_named_after_their_files() -> None:
    catalogue = load_catalogue()
    for kind in ("species", "foods", "devices", "tasks"):
        entries = getattr(catalogue, kind)
        assert sorted(entries) == sorted(path.stem for path in (DATA / kind).glob("*.toml"))
        assert [ident for ident, entry in entries.items() if entry.id != ident] == []


def test_what_is_unknown_stays_unknown() -> None:
    mandarin = load_catalogue().species["mandarin"]
    assert isinstance(mandarin.max_days_unfed, Unknown)
    assert mandarin.max_days_unfed.reason
    assert known(mandarin.max_days_unfed) is None


def test_a_value_without_a_range_takes_the_one_of_its_field_and_says_so() -> None:
    volume = known(load_catalogue().species["royal_gramma"].min_volume_l)
    assert volume is not None
    assert (volume.low, volume.value, volume.high) == pytest.approx((88, 110, 143))
    assert volume.note.startswith("range assumed")


def test_a_value_with_its_own_range_keeps_it() -> None:
    growth = known(load_catalogue().species["yellow_tang"].growth_kmax_per_y)
    assert growth is not None
    assert (growth.low, growth.high) == (0.133, 0.532)
    assert growth.note == ""


def test_a_value_without_any_range_is_its_own_bound() -> None:
    value = Value(value=2.0, unit="", source="practice", status="practice")
    assert (value.lowest, value.highest) == (2.0, 2.0)


def test_it_cannot_be_changed_by_those_who_read_it() -> None:
    catalogue = load_catalogue()
    with pytest.raises(TypeError):
        catalogue.species["royal_gramma"].takes["dry"] = "no"  # type: ignore[index]
    with pytest.raises(TypeError):
        del catalogue.species["royal_gramma"]  # type: ignore[attr-defined]


def test_it_takes_in_what_the_keeper_wrote(own: Path) -> None:
    catalogue = load_catalogue(extra=own)
    assert catalogue.species["my_gramma"].common_name == "My gramma"
    assert len(catalogue.species) == 275
    assert "my_gramma" not in load_catalogue().species


def test_what_the_keeper_wrote_takes_the_place_of_what_ships(own: Path) -> None:
    mine = own / "species" / "my_gramma.toml"
    text = mine.read_text(encoding="utf-8").replace('id = "my_gramma"', 'id = "royal_gramma"')
    (own / "species" / "royal_gramma.toml").write_text(text, encoding="utf-8")
    mine.unlink()
    assert load_catalogue(extra=own).species["royal_gramma"].common_name == "My gramma"


def test_the_keeper_may_bring_sources(own: Path) -> None:
    mine = own / "species" / "my_gramma.toml"
    text = mine.read_text(encoding="utf-8").replace('source = "practice"', 'source = "my_notes"', 1)
    mine.write_text(text, encoding="utf-8")
    (own / "sources.toml").write_text(
        '[my_notes]\ntext = "Notes"\nkind = "own work"\nseen = "all"\n', encoding="utf-8"
    )
    catalogue = load_catalogue(extra=own)
    assert catalogue.sources["my_notes"].text == "Notes"
    assert "practice" in catalogue.sources


def test_the_compiled_copy_gives_the_same_catalogue(copy: Path) -> None:
    first = load_catalogue(copy)
    (compiled,) = (copy / "__pycache__").glob("catalogue-*.json")
    load._loaded.cache_clear()  # noqa: SLF001  as a new process would start

    assert load_catalogue(copy) == first

    changed = json.loads(compiled.read_text(encoding="utf-8"))
    changed["species/royal_gramma.toml"]["common_name"] = "From the copy"
    compiled.write_text(json.dumps(changed), encoding="utf-8")
    load._loaded.cache_clear()  # noqa: SLF001
    assert load_catalogue(copy).species["royal_gramma"].common_name == "From the copy"


def test_a_changed_file_makes_the_compiled_copy_stale(copy: Path) -> None:
    load_catalogue(copy)
    (before,) = (copy / "__pycache__").iterdir()
    file = copy / "species" / "royal_gramma.toml"
    file.write_text(
        file.read_text(encoding="utf-8").replace("Royal gramma", "Fairy basslet"), encoding="utf-8"
    )

    assert load_catalogue(copy).species["royal_gramma"].common_name == "Fairy basslet"

    (after,) = (copy / "__pycache__").iterdir()
    assert after != before


@pytest.mark.parametrize("content", ["", "{", "[]"])
def test_a_spoilt_compiled_copy_is_made_again(copy: Path, content: str) -> None:
    first = load_catalogue(copy)
    (compiled,) = (copy / "__pycache__").iterdir()
    compiled.write_text(content, encoding="utf-8")
    load._loaded.cache_clear()  # noqa: SLF001
    assert load_catalogue(copy) == first
    assert compiled.read_text(encoding="utf-8") != content


def test_a_folder_that_cannot_be_written_to_is_read_all_the_same(copy: Path) -> None:
    (copy / "__pycache__").write_text("a file where the folder would be", encoding="utf-8")
    assert "royal_gramma" in load_catalogue(copy).species


def test_a_copy_that_cannot_be_put_in_its_place_leaves_nothing_behind(copy: Path) -> None:
    load_catalogue(copy)
    (compiled,) = (copy / "__pycache__").iterdir()
    compiled.unlink()
    compiled.mkdir()
    load._loaded.cache_clear()  # noqa: SLF001
    assert "royal_gramma" in load_catalogue(copy).species
    assert list((copy / "__pycache__").iterdir()) == [compiled]


def run(code: str) -> str:
    done = subprocess.run(
        [sys.executable, "-P", "-c", code],
        env={"PYTHONPATH": str(SRC), "PATH": ""},
        capture_output=True,
        check=True,
        text=True,
    )
    return done.stdout.strip()


def test_it_needs_no_pydantic_once_it_was_compiled() -> None:
    load_catalogue()
    code = "import sys; from backreef.catalogue.load import load_catalogue; load_catalogue()"
    assert run(f"{code}; print('pydantic' in sys.modules)") == "False"


def test_its_entries_need_no_pydantic() -> None:
    assert run("import sys, backreef.catalogue.entries; print('pydantic' in sys.modules)") == "False"


def test_it_is_loaded_in_the_blink_of_an_eye() -> None:
    load_catalogue()
    assert min(seconds_to_load() for _ in range(3)) < 0.15


def seconds_to_load() -> float:
    load._loaded.cache_clear()  # noqa: SLF001
    started = time.process_time()
    catalogue: Catalogue = load_catalogue()
    assert catalogue.species
    return time.process_time() - started


def of_long_ago(folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """As if nothing had changed for long; give the files that are opened from now on."""
    now, usual, opened = time.time_ns(), Path.read_bytes, list[Path]()
    monkeypatch.setattr(time, "time_ns", lambda: now + 10 * files.SETTLED_NS)

    def read(path: Path) -> bytes:
        if path.is_relative_to(folder) and path.suffix == ".toml":
            opened.append(path)
        return usual(path)

    monkeypatch.setattr(Path, "read_bytes", read)
    return opened


def as_a_new_process() -> None:
    load._loaded.cache_clear()  # noqa: SLF001
    files._read_once.cache_clear()  # noqa: SLF001


def test_a_folder_that_did_not_change_is_not_opened_again(
    copy: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("BACKREEF_CACHE", str(tmp_path / "cache"))
    opened = of_long_ago(copy, monkeypatch)
    first = load_catalogue(copy)
    assert len(opened) == 4
    as_a_new_process()
    assert load_catalogue(copy) == first
    assert len(opened) == 4

    file = copy / "species" / "royal_gramma.toml"
    file.write_bytes(file.read_bytes().replace(b"Royal gramma", b"Regal gramma"))
    as_a_new_process()
    assert load_catalogue(copy).species["royal_gramma"].common_name == "Regal gramma"


def test_its_faults_are_told_with_their_lines_all_the_same(
    copy: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("BACKREEF_CACHE", str(tmp_path / "cache"))
    of_long_ago(copy, monkeypatch)
    file = copy / "species" / "royal_gramma.toml"
    file.write_bytes(file.read_bytes().replace(b"common_name", b"comon_name"))
    told = []
    for _ in range(2):
        with pytest.raises(InputFaults) as refusal:
            load_catalogue(copy)
        told.append(refusal.value.faults)
        as_a_new_process()
    assert told[0] == told[1]
    assert any(fault.line for fault in told[0])


def test_what_was_kept_of_a_folder_changed_just_now_is_not_believed(
    copy: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("BACKREEF_CACHE", str(tmp_path / "cache"))
    newest = max(max(file.stat().st_mtime_ns, file.stat().st_ctime_ns) for file in copy.rglob("*.toml"))
    monkeypatch.setattr(time, "time_ns", lambda: newest + 1)
    load_catalogue(copy)
    assert not list((tmp_path / "cache").glob("catalogue-*.json"))


@pytest.mark.parametrize(
    "damage", ["", "[]", "{}", '{"stamps": 1, "digest": 2}', '{"digest": "../../elsewhere"}']
)
def test_what_was_kept_of_a_folder_and_damaged_is_forgotten(
    copy: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, damage: str
) -> None:
    monkeypatch.setenv("BACKREEF_CACHE", str(tmp_path / "cache"))
    of_long_ago(copy, monkeypatch)
    first = load_catalogue(copy)
    (kept,) = (tmp_path / "cache").glob("catalogue-*.json")
    whole = json.loads(kept.read_text(encoding="utf-8"))
    spoilt = damage.replace('"digest": "..', f'"stamps": "{whole["stamps"]}", "digest": "..')
    kept.write_text(spoilt, encoding="utf-8")
    as_a_new_process()
    assert load_catalogue(copy) == first
    assert json.loads(kept.read_text(encoding="utf-8")) == whole


def test_an_entry_is_made_when_it_is_asked_for_and_only_once(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[str] = []
    usual = build.build_entry

    def counted(document: Mapping[str, Any], kind: type[Any]) -> object:
        made.append(document["id"])
        return usual(document, kind)

    monkeypatch.setattr(build, "build_entry", counted)
    load._loaded.cache_clear()  # noqa: SLF001
    species = load_catalogue().species
    assert "royal_gramma" in species
    assert "nobody" not in species
    assert species.get("nobody") is None
    assert made == []
    assert species["royal_gramma"] is species["royal_gramma"]
    assert made == ["royal_gramma"]
    assert list(species) == sorted(species)
    assert len(list(species.values())) == len(species) == len(made)
    load._loaded.cache_clear()  # noqa: SLF001


def test_entries_are_found_by_what_they_say_and_only_those_are_made() -> None:
    load._loaded.cache_clear()  # noqa: SLF001
    species = load_catalogue().species
    assert isinstance(species, build.Shelf)
    found = list(build.entries_with(species, kind="fish", guild="tiny_picker"))
    plain = dict(species)
    assert found == list(build.entries_with(plain, kind="fish", guild="tiny_picker"))
    assert found == [one for one in plain.values() if (one.kind, one.guild) == ("fish", "tiny_picker")]
    assert found
