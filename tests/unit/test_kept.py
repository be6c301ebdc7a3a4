from __future__ import annotations

from pathlib import Path

from backreef.kept import keep


def test_what_is_kept_can_be_read(tmp_path: Path) -> None:
    place = tmp_path / "new" / "thing"
    keep(place, b"some")
    keep(place, b"more")
    assert place.read_bytes() == b"more"
    assert [one.name for one in place.parent.iterdir()] == ["thing"]


def test_what_cannot_be_kept_leaves_nothing_behind(tmp_path: Path) -> None:
    place = tmp_path / "taken"
    (place / "by a folder").mkdir(parents=True)
    keep(place, b"some")
    assert [one.name for one in tmp_path.iterdir()] == ["taken"]


def test_where_nothing_may_be_written_it_is_done_without(tmp_path: Path) -> None:
    (tmp_path / "a file").touch()
    keep(tmp_path / "a file" / "thing", b"some")
    assert [one.name for one in tmp_path.iterdir()] == ["a file"]
