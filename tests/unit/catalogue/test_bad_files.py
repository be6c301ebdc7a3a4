"""Each folder of `tests/data/bad_catalogue` holds planted mistakes; its `faults.txt` says what to find."""

from pathlib import Path

import pytest

from backreef.catalogue.load import load_catalogue
from backreef.errors import InputFaults

BAD = Path(__file__).parents[2] / "data" / "bad_catalogue"
CASES = sorted(path.name for path in BAD.iterdir())


def faults_of(folder: Path) -> list[str]:
    with pytest.raises(InputFaults) as raised:
        load_catalogue(extra=folder)
    return [str(fault).removeprefix(f"{folder}/") for fault in raised.value.faults]


@pytest.mark.parametrize("case", CASES)
def test_it_tells_every_fault_of_every_file_at_once(case: str) -> None:
    expected = (BAD / case / "faults.txt").read_text(encoding="utf-8").splitlines()
    assert faults_of(BAD / case) == expected


def test_it_tells_that_there_is_no_folder(tmp_path: Path) -> None:
    assert "is no directory" in faults_of(tmp_path / "nowhere")[0]


def test_it_refuses_a_file_in_an_older_encoding(tmp_path: Path) -> None:
    folder = tmp_path / "species"
    folder.mkdir()
    (folder / "latin.toml").write_bytes('id = "latin" # Größe\n'.encode("latin-1"))
    assert faults_of(tmp_path) == ["species/latin.toml: is not UTF-8; save it as plain UTF-8"]


def test_it_refuses_a_file_that_is_too_large_to_be_an_entry(tmp_path: Path) -> None:
    folder = tmp_path / "species"
    folder.mkdir()
    (folder / "huge.toml").write_bytes(b"#" * 1_100_000)
    assert "is larger than" in faults_of(tmp_path)[0]


def test_it_tells_of_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    (tmp_path / "species" / "folder.toml").mkdir(parents=True)
    assert "species/folder.toml: cannot be read" in faults_of(tmp_path)[0]


def test_it_tells_of_a_source_without_words(tmp_path: Path) -> None:
    (tmp_path / "sources.toml").write_text(
        '[me2020]\ntext = ""\nkind = "paper"\nyear = "2020"\n', encoding="utf-8"
    )
    found = faults_of(tmp_path)
    assert len(found) == 3
    assert "me2020.seen: is missing" in " ".join(found)
    assert "me2020.text: is empty" in " ".join(found)
    assert "me2020.year: is no key known here" in " ".join(found)
