"""Pages of a TIFF as pictures of their own, without loss where PNG can hold them."""

from io import BytesIO
from typing import Any, BinaryIO

import numpy as np
from PIL import Image

from records.intake.decode import in_srgb, opened, page_frames

AS_THEY_ARE = {"1", "L", "LA", "P", "RGB", "RGBA", "I;16"}


def tiff_page(file: BinaryIO, page: int) -> tuple[BytesIO, int]:
    """A page (from 1) as a PNG, turned upright already, and its orientation (EXIF): 1.

    Grey of sixteen bits stays so; printers' inks and other colours than PNG's become sRGB.
    Raises `IndexError` where there is no such page, `OSError` where it is damaged.
    """
    with opened(file, "image/tiff") as picture:
        picture.seek(page_frames(picture)[page - 1])
        profile = picture.info.get("icc_profile")
        dpi = picture.info.get("dpi")
        picture.load()
        plain = _plain(picture)
        kept = {"icc_profile": profile} if plain is not None and profile else {}
        if dpi and min(dpi) > 0:
            kept["dpi"] = tuple(float(one) for one in dpi)
        told = BytesIO()
        shown = in_srgb(picture, profile) if plain is None else plain
        shown.info = {}
        shown.save(told, "PNG", compress_level=4, **kept)
    told.seek(0)
    return told, 1


def _plain(picture: Any) -> Image.Image | None:
    """As PNG holds it; None for what it does not hold."""
    if picture.mode.startswith("I;16"):
        return Image.fromarray(np.asarray(picture).astype(np.uint16))
    if picture.mode not in AS_THEY_ARE:
        return None
    plain: Image.Image = picture.copy()
    return plain
