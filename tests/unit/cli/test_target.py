from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from backreef.cli.target import CannotWrite, check_target, write_target


def test_it_writes_a_new_file_that_others_may_read(tmp_path: Path) -> None:
    path = tmp_path / "out.json"
    check_target(path)
    write_target(path, "Łódź\n")
    assert path.read_bytes() == "Łódź\n".encode()
    mask = os.umask(0)
    os.umask(mask)
    assert stat.S_IMODE(path.stat().st_mode) == 0o666 & ~mask


def test_it_keeps_the_mode_of_a_file_that_is_there(tmp_path: Path) -> None:
    path = tmp_path / "out.json"
    path.touch(mode=0o640)
    path.chmod(0o640)
    write_target(path, "new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_it_writes_through_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real.json", tmp_path / "link.json"
    real.write_text("old", encoding="utf-8")
    link.symlink_to(real)
    write_target(link, "new")
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") == "new"


def test_the_old_file_stays_until_the_new_one_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "out.json"
    path.write_text("old", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(CannotWrite, match="No space left on device"):
        write_target(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_name_that_no_file_can_have_is_refused_at_the_latest_on_writing(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="cannot be written"):
        write_target(tmp_path / "zero\0byte", "new")


def test_it_writes_to_what_is_no_ordinary_file() -> None:
    check_target(Path(os.devnull))
    write_target(Path(os.devnull), "gone")
    assert not Path(os.devnull).is_file()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("missing/out.json", "is not there; make it first"),
        (".", "is a directory"),
        ("-x", "looks like an option"),
        ("plan.toml", "is the plan itself"),
        ("link.toml", "is the plan itself"),
        ("x" * 300, "cannot be written"),
        ("plan.toml/out.json", "is not there"),
    ],
)
def test_it_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, words: str) -> None:
    monkeypatch.chdir(tmp_path)
    plan = Path("plan.toml")
    plan.write_text("plan", encoding="utf-8")
    Path("link.toml").symlink_to(plan)
    with pytest.raises(CannotWrite, match=words):
        check_target(Path(name), sources=[plan])


@pytest.mark.parametrize("there", [True, False])
def test_it_refuses_what_this_user_may_not_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    path = tmp_path / "out.json"
    if there:
        path.touch()
    asked: list[Path] = []

    def no(of: Path, _: int) -> bool:
        asked.append(of)
        return False

    monkeypatch.setattr(os, "access", no)
    with pytest.raises(CannotWrite, match="may not be written by this user"):
        check_target(path)
    assert asked == [path if there else tmp_path]
