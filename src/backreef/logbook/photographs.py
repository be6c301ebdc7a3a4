"""Photographs of the log: checked, freed of what the camera wrote into them, kept beside the log's file.

A picture is drawn anew from its dots alone, so that place, time, maker and whatever else a file can carry
stay behind. Its name in the folder is the check sum of what is kept.
"""

from __future__ import annotations

import hashlib
import io
import os
import tempfile
import warnings
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from backreef.errors import BackreefError
from backreef.logbook.entries import Photograph

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_BYTES = 40_000_000
MOST_DOTS = 40_000_000
"""So many take 160 MB, twice for a moment."""
JPEG_QUALITY = 92
SMALL_DOTS = 704
"""The longer side of a small copy: what a list shows is half as wide, on a screen with twice the dots."""
SMALL_QUALITY = 80
KEPT_AS = {"JPEG": ("image/jpeg", ".jpg"), "PNG": ("image/png", ".png"), "WEBP": ("image/webp", ".webp")}
"""Formats that are taken -> their media type, and the ending of the file that is kept."""
_ENDINGS = dict(KEPT_AS.values())


class NotTaken(BackreefError):
    """A file that is not kept as a photograph; the message says why."""


def folder_of(place: str | Path) -> Path:
    """The folder of the photographs of a log in a file."""
    path = Path(place)
    return path.with_name(f"{path.stem}-photographs")


def file_of(folder: Path, photograph: Photograph) -> Path:
    """Where a photograph is kept."""
    return folder / f"{photograph.sha256}{_ENDINGS[photograph.media_type]}"


def take(source: Path, folder: Path, *, caption: str = "") -> Photograph:
    """Check a picture, free it of everything but its dots, and keep it; it is on the disk once this returns.

    Raises
    ------
    NotTaken
        If it is no picture, of another type, or too large.
    """
    content, photograph = _clean(_read(source), str(source), caption)
    target = file_of(folder, photograph)
    if not target.exists():
        _keep(content, target)
    return photograph


def small_copy(path: Path, folder: Path) -> Path:
    """A small copy of a kept photograph, made when it is asked for first; a small photograph is its own.

    Raises
    ------
    NotTaken
        If the photograph cannot be read, or the folder not written.
    """
    from PIL import Image

    target = folder / path.name
    if target.exists():
        return target
    try:
        with Image.open(path, formats=tuple(KEPT_AS)) as picture:
            kind = picture.format or ""
            if max(picture.size) <= SMALL_DOTS:
                return path
            picture.thumbnail((SMALL_DOTS, SMALL_DOTS))
            out = io.BytesIO()
            picture.save(out, kind, **({} if kind == "PNG" else {"quality": SMALL_QUALITY}))
    except (OSError, ValueError, SyntaxError):
        raise NotTaken(f"{path} cannot be read") from None
    _keep(out.getvalue(), target)
    return target


def is_sound(folder: Path, photograph: Photograph) -> bool:
    """Whether the file of a photograph is there and is what was kept."""
    path = file_of(folder, photograph)
    return path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == photograph.sha256


def _read(source: Path) -> bytes:
    try:
        if not source.is_file():
            raise NotTaken(f"{source} is not there, or is no file")
        size = source.stat().st_size
        if size > MOST_BYTES:
            raise NotTaken(f"{source} is larger than {MOST_BYTES // 1_000_000} MB; make it smaller first")
        return source.read_bytes()
    except OSError as trouble:
        raise NotTaken(f"{source} cannot be read ({trouble.strerror or trouble})") from None


def _clean(content: bytes, name: str, caption: str) -> tuple[bytes, Photograph]:
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # our own bound comes first
            opened = Image.open(io.BytesIO(content), formats=tuple(KEPT_AS))
        with closing(opened):
            kind = opened.format or ""
            if opened.width * opened.height > MOST_DOTS:
                raise NotTaken(
                    f"{name} has more than {MOST_DOTS // 1_000_000} million dots; make it smaller first"
                )
            ImageOps.exif_transpose(opened, in_place=True)
            width_count, height_count = opened.size
            drawn = _drawn_anew(opened, kind)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise NotTaken(f"{name} is no picture that is taken; save it as JPEG, PNG or WebP") from None
    media_type, _ = KEPT_AS[kind]
    digest = hashlib.sha256(drawn).hexdigest()
    return drawn, Photograph(
        sha256=digest,
        media_type=media_type,
        width_count=width_count,
        height_count=height_count,
        caption=caption,
    )


def _drawn_anew(picture: Image, kind: str) -> bytes:
    """The dots of a picture and nothing else, in its own format."""
    from PIL import Image

    see_through = kind != "JPEG" and ("A" in picture.getbands() or "transparency" in picture.info)
    mode = "RGBA" if see_through else "RGB"
    dots = picture if picture.mode == mode else picture.convert(mode)
    if dots is not picture:
        picture.close()
    bare = Image.new(dots.mode, dots.size)
    bare.paste(dots)
    dots.close()
    out = io.BytesIO()
    bare.save(out, kind, **({} if kind == "PNG" else {"quality": JPEG_QUALITY}))
    return out.getvalue()


def _keep(content: bytes, target: Path) -> None:
    try:
        target.parent.mkdir(mode=0o700, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=".", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(target)
        finally:
            Path(name).unlink(missing_ok=True)
    except OSError as trouble:
        raise NotTaken(f"{target.parent} cannot be written ({trouble.strerror or trouble})") from None
