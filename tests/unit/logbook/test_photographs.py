from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from backreef.logbook import photographs
from backreef.logbook.entries import Photograph
from backreef.logbook.photographs import NotTaken, file_of, folder_of, is_sound, small_copy, take

GPS, MAKER, TURNED = 0x8825, 0x010F, 0x0112
SECRET = "Harbour Street 12"


def a_picture(kind: str = "JPEG", size: tuple[int, int] = (40, 30), *, turned: bool = False) -> bytes:
    """A picture with all that a camera writes into it."""
    picture = Image.new("RGB", size, (20, 90, 160))
    marks = Image.Exif()
    marks[MAKER] = SECRET
    marks.get_ifd(GPS)[1] = "N"
    if turned:
        marks[TURNED] = 6
    out = io.BytesIO()
    extra = {"comment": SECRET.encode()} if kind == "JPEG" else {}
    picture.save(out, kind, exif=marks, icc_profile=b"profile " + SECRET.encode(), **extra)
    return out.getvalue()


def kept(content: bytes, folder: Path, name: str = "photo.jpg") -> tuple[Photograph, bytes]:
    (folder / name).write_bytes(content)
    taken = take(folder / name, folder / "kept", caption="the urchin")
    return taken, file_of(folder / "kept", taken).read_bytes()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_it_keeps_the_dots_and_nothing_else(kind: str, tmp_path: Path) -> None:
    content = a_picture(kind)
    assert SECRET.encode() in content
    taken, clean = kept(content, tmp_path)
    assert SECRET.encode() not in clean
    with Image.open(io.BytesIO(clean)) as picture:
        assert picture.format == kind
        assert dict(picture.getexif()) == {}
        assert not {"exif", "icc_profile", "comment", "xmp"} & picture.info.keys()
        red, green, blue = picture.convert("RGB").getpixel((5, 5))  # type: ignore[misc]
    assert max(abs(red - 20), abs(green - 90), abs(blue - 160)) < 8
    assert (taken.width_count, taken.height_count, taken.caption) == (40, 30, "the urchin")
    assert taken.media_type == f"image/{kind.lower()}"


def test_a_turned_picture_is_set_upright(tmp_path: Path) -> None:
    taken, _ = kept(a_picture(turned=True), tmp_path)
    assert (taken.width_count, taken.height_count) == (30, 40)


def test_the_same_picture_twice_is_kept_once(tmp_path: Path) -> None:
    first, _ = kept(a_picture(), tmp_path)
    second, _ = kept(a_picture(), tmp_path, "again.jpg")
    assert first == second
    assert len(list((tmp_path / "kept").iterdir())) == 1


def test_a_picture_that_can_be_seen_through_stays_so(tmp_path: Path) -> None:
    out = io.BytesIO()
    Image.new("RGBA", (4, 4), (1, 2, 3, 100)).save(out, "PNG")
    _, clean = kept(out.getvalue(), tmp_path)
    with Image.open(io.BytesIO(clean)) as picture:
        assert picture.getpixel((1, 1)) == (1, 2, 3, 100)


@pytest.mark.parametrize(
    "content",
    [b"", b"not a picture", b"<svg xmlns='x'/>", b"GIF89a" + b"\0" * 50, a_picture()[:300], b"%PDF-1.7"],
)
def test_what_is_no_picture_is_not_kept(content: bytes, tmp_path: Path) -> None:
    with pytest.raises(NotTaken, match="save it as JPEG, PNG or WebP"):
        kept(content, tmp_path)
    assert not (tmp_path / "kept").exists()


def test_what_is_too_large_is_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(photographs, "MOST_DOTS", 1000)
        with pytest.raises(NotTaken, match="million dots"):
            kept(a_picture(), tmp_path)
    monkeypatch.setattr(photographs, "MOST_BYTES", 100)
    with pytest.raises(NotTaken, match="larger than"):
        kept(a_picture(), tmp_path)
    with pytest.raises(NotTaken, match="is not there"):
        take(tmp_path / "none.jpg", tmp_path / "kept")


def test_a_photograph_that_was_changed_is_noticed(tmp_path: Path) -> None:
    taken, clean = kept(a_picture(), tmp_path)
    assert is_sound(tmp_path / "kept", taken)
    file_of(tmp_path / "kept", taken).write_bytes(clean + b"x")
    assert not is_sound(tmp_path / "kept", taken)
    file_of(tmp_path / "kept", taken).unlink()
    assert not is_sound(tmp_path / "kept", taken)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_small_copy_is_made_once_and_only_of_what_is_large(kind: str, tmp_path: Path) -> None:
    folder, small = tmp_path / "kept", tmp_path / "small"
    large = file_of(folder, kept(a_picture(kind, (900, 1800)), tmp_path)[0])
    copy = small_copy(large, small)
    with Image.open(copy) as picture:
        assert (picture.size, picture.format) == ((352, 704), kind)
    made = copy.stat().st_mtime_ns
    assert small_copy(large, small).stat().st_mtime_ns == made
    tiny = file_of(folder, kept(a_picture(kind), tmp_path)[0])
    assert small_copy(tiny, small) == tiny
    large.write_bytes(b"no picture")
    copy.unlink()
    with pytest.raises(NotTaken, match="cannot be read"):
        small_copy(large, small)


def test_they_stand_beside_the_log(tmp_path: Path) -> None:
    assert folder_of(tmp_path / "backreef-log.sqlite3") == tmp_path / "backreef-log-photographs"
