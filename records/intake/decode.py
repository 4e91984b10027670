"""Pictures decoded in full before they are taken in, and turned upright for whoever looks."""

import io
import mmap
import re
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, BinaryIO

import numpy as np
import pillow_heif
from django.conf import settings
from django.utils.translation import gettext as _
from PIL import Image, ImageCms

from records.intake import exif
from records.refusals import Refused

pillow_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
# Our own limit is asked before a picture is decoded, with its words; Pillow's is a second net.
Image.MAX_IMAGE_PIXELS = settings.PICTURE_PIXELS_MAX
warnings.filterwarnings("ignore", category=Image.DecompressionBombWarning)
warnings.filterwarnings("ignore", category=UserWarning, module="PIL")

FORMATS = {
    "image/jpeg": ("JPEG", "MPO"),
    "image/png": ("PNG",),
    "image/tiff": ("TIFF",),
    "image/heic": ("HEIF",),
}
PAGES_MAX = 100
SUBFILE_TYPE, REDUCED, MASK = 254, 1, 4  # TIFF 6.0, section 8
LARGE_PIXELS = 40_000_000
_one_large_at_a_time = threading.Lock()
AFTER_SCAN = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
TURNS = {
    2: (Image.Transpose.FLIP_LEFT_RIGHT, Image.Transpose.FLIP_LEFT_RIGHT),
    3: (Image.Transpose.ROTATE_180, Image.Transpose.ROTATE_180),
    4: (Image.Transpose.FLIP_TOP_BOTTOM, Image.Transpose.FLIP_TOP_BOTTOM),
    5: (Image.Transpose.TRANSPOSE, Image.Transpose.TRANSPOSE),
    6: (Image.Transpose.ROTATE_270, Image.Transpose.ROTATE_90),
    7: (Image.Transpose.TRANSVERSE, Image.Transpose.TRANSVERSE),
    8: (Image.Transpose.ROTATE_90, Image.Transpose.ROTATE_270),
}
"""EXIF orientation → how to turn the stored picture upright, and how to turn it back."""


class Unreadable(Refused):
    """The picture is damaged or cut off."""


@dataclass(frozen=True)
class Decoded:
    """Size as stored (not turned; None for what is not shown), and what the camera says."""

    width_px: int | None
    height_px: int | None
    facts: exif.Facts
    pages: int = 1


def check_whole(file: BinaryIO, media_type: str) -> Decoded:
    """Decode every block of a picture; refuses in words what is damaged, cut off or too large."""
    with _words_for_damage(), opened(file, media_type) as picture:
        _check_size(picture)
        width_px, height_px = _stored_size(picture)
        facts = exif.read(picture)
        _load_all(picture)
        pages = len(page_frames(picture)) or 1
    if media_type == "image/png":
        with _words_for_damage(), opened(file, media_type) as picture:
            picture.verify()  # its own check sums, which decoding leaves aside
    if media_type == "image/jpeg":
        facts.notes += _after_the_end(file, is_several=picture.format == "MPO")
    if media_type == "image/heic":
        facts.orientation = 1  # decoding turns it already
    return Decoded(width_px, height_px, facts, pages)


def page_frames(picture: Any) -> list[int]:
    """Which frames of a TIFF are pages: not those that say they are a smaller copy or a mask."""
    if picture.format != "TIFF":
        return [0]
    pages = []
    for frame in range(picture.n_frames):
        picture.seek(frame)
        if not picture.tag_v2.get(SUBFILE_TYPE, 0) & (REDUCED | MASK):
            pages.append(frame)
    return pages


def upright(
    file: BinaryIO, media_type: str, orientation: int, *, at_least: tuple[int, int] | None = None
) -> Image.Image:
    """The picture turned upright, in sRGB (mode RGB): the one way to decode and turn.

    `at_least` (width, height of the upright picture, px) allows a JPEG to be decoded at a
    half, a quarter or an eighth of its size.
    """
    with opened(file, media_type) as picture:
        if at_least is not None:
            picture.draft("RGB", at_least if orientation < 5 else at_least[::-1])
        baked = _baked_orientation(picture)
        profile = picture.info.get("icc_profile")
        picture.load()
        turned = picture if baked == orientation else _turned(picture, baked, orientation)
        plain = in_srgb(turned, profile)
        plain.info = {}  # what the camera wrote stays with the original
        return plain


@contextmanager
def opened(file: BinaryIO, media_type: str) -> Iterator[Image.Image]:
    file.seek(0)
    with Image.open(file, formats=FORMATS[media_type]) as picture:
        yield picture


@contextmanager
def _words_for_damage() -> Iterator[None]:
    try:
        yield
    except Refused:
        raise
    except Image.DecompressionBombError as error:
        raise Refused(_too_large()) from error
    except MemoryError as error:
        raise Refused(
            _("This machine has too little memory for this picture. Nothing was kept.")
        ) from error
    except Exception as error:  # what a hostile file makes a decoder raise is not bounded
        words = _damaged() if "truncated" not in str(error) else _cut_off()
        raise Unreadable(words) from error


def _damaged() -> str:
    return _(
        "This picture is damaged and cannot be opened. Nothing was kept. Copy it again from "
        "where it came; if it stays damaged, take it again."
    )


def _cut_off() -> str:
    return _(
        "This picture breaks off before its end; it was probably cut off while it was copied. "
        "Nothing was kept. Copy it again from where it came."
    )


def _too_large() -> str:
    return _(
        "This picture has more than %(limit)d million pixels, the most that are taken in. "
        "Nothing was kept. Save it in parts or smaller."
    ) % {"limit": settings.PICTURE_PIXELS_MAX // 1_000_000}


def _check_size(picture: Image.Image) -> None:
    if picture.width * picture.height > settings.PICTURE_PIXELS_MAX:
        raise Refused(_too_large())


def _load_all(picture: Any) -> None:
    """Decode every page.

    A JPEG is decoded at an eighth: that still reads every coded block, and only the inverse
    transform, which cannot fail, is shortened.
    """
    pages = getattr(picture, "n_frames", 1) if picture.format == "TIFF" else 1
    demand_few_pages(pages)
    for page in range(pages):
        if pages > 1:
            picture.seek(page)
            _check_size(picture)
        if picture.format in FORMATS["image/jpeg"]:
            picture.draft(None, (max(1, picture.width // 8), max(1, picture.height // 8)))
        if picture.width * picture.height > LARGE_PIXELS:
            with _one_large_at_a_time:
                picture.load()
        else:
            picture.load()


def demand_few_pages(pages: int) -> None:
    if pages > PAGES_MAX:
        raise Refused(
            _("This file has %(pages)d pages; at most %(limit)d are taken in. Save them in parts.")
            % {"pages": pages, "limit": PAGES_MAX}
        )


def _stored_size(picture: Image.Image) -> tuple[int, int]:
    """Pillow gives a TIFF's size already turned."""
    turned = _baked_orientation(picture) >= 5
    return picture.size[::-1] if turned else picture.size


def _baked_orientation(picture: Image.Image) -> int:
    """The orientation that decoding applies by itself: a TIFF's own tag."""
    if picture.format != "TIFF":
        return 1
    tag = picture.getexif().get(exif.ORIENTATION, 1)
    return tag if tag in TURNS else 1


def _turned(picture: Image.Image, baked: int, orientation: int) -> Image.Image:
    if baked in TURNS:
        picture = picture.transpose(TURNS[baked][1])
    return picture.transpose(TURNS[orientation][0]) if orientation in TURNS else picture


def _after_the_end(file: BinaryIO, *, is_several: bool) -> list[str]:
    """Refuses a JPEG without its end mark; says if other bytes follow it."""
    file.seek(0, io.SEEK_END)
    size = file.tell()
    with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as content:
        end = _jpeg_end(content)
        padding = end is None or not content[end : end + 65536].strip(b"\0\xff")
    if end is None:
        raise Unreadable(_cut_off())
    if is_several or (padding and size - end <= 65536):
        return []
    return [
        _("%(bytes)d bytes follow the end of the picture; they are kept as they came.")
        % {"bytes": size - end}
    ]


def _jpeg_end(content: mmap.mmap) -> int | None:
    """Where the picture's end mark ends: markers and coded scans as in ISO/IEC 10918-1, B.1."""
    at = 2
    while at + 4 <= len(content) and content[at] == 0xFF:
        marker = content[at + 1]
        if marker == 0xFF:
            at += 1
        elif marker == 0xD9:
            return at + 2
        else:
            at += 2 + int.from_bytes(content[at + 2 : at + 4])
            if marker == 0xDA:
                found = AFTER_SCAN.search(content, at)
                if found is None:
                    return None
                at = found.start()
    return at + 2 if content[at : at + 2] == b"\xff\xd9" else None


def in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    if profile:
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            srgb = ImageCms.createProfile("sRGB")
            done = ImageCms.profileToProfile(picture, own, srgb, outputMode="RGB")
            if done is not None:
                return done
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # a profile that makes no sense, or one for another kind of picture
    return _plain_rgb(picture)


def _plain_rgb(picture: Image.Image) -> Image.Image:
    if picture.mode == "RGB":
        return picture
    if picture.mode.startswith("I") or picture.mode == "F":
        return _eight_bits(picture).convert("RGB")
    if picture.mode in {"RGBA", "LA", "PA"} or "transparency" in picture.info:
        colours = picture.convert("RGBA")
        paper = Image.new("RGBA", picture.size, "white")
        return Image.alpha_composite(paper, colours).convert("RGB")
    return picture.convert("RGB")


def _eight_bits(picture: Image.Image) -> Image.Image:
    """Sixteen bits by their upper eight; other depths stretched from darkest to lightest."""
    values = np.asarray(picture)
    if picture.mode.startswith("I;16"):
        return Image.fromarray((values >> 8).astype(np.uint8))
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    if picture.mode == "I" and 0 <= low and high <= 65535:
        return Image.fromarray((values.astype(np.uint32) >> 8).astype(np.uint8))
    stretched = np.nan_to_num((values - low) / ((high - low) or 1.0)) * 255
    return Image.fromarray(np.clip(stretched, 0, 255).astype(np.uint8))
