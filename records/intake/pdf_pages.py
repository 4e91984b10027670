"""Pages of a PDF as pictures: the only module that speaks to PDFium.

A page that is one full-page raster is taken out at its own resolution: a JPEG as it stands in
the file, other rasters without loss. Every other page is rendered.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from io import BytesIO
from typing import Any, BinaryIO

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium
from django.conf import settings
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from records.intake.decode import TURNS, demand_few_pages
from records.refusals import Refused

DPI = 300
POINTS_AN_INCH = 72
SLACK = 0.02  # of the page's side: how far a full-page raster may stand off its edge
BLOCKS = 32  # along the page's longer side, when raster and page are compared
DIFFERS = 64  # grey levels of a block: a quarter of all; edges half a dot off stay below it
END_WITHIN = 4096  # bytes: readers look for the end mark this far from the end
BOX = Image.Resampling.BOX
_one_at_a_time = threading.Lock()  # PDFium knows no threads

# ISO 32000-1, 8.9.5.2: where an image's rows run to the right and its columns down.
# What the picture's right and down are in the page as shown → the orientation (EXIF).
ORIENTATIONS = {
    ((1, 0), (0, 1)): 1,
    ((-1, 0), (0, 1)): 2,
    ((-1, 0), (0, -1)): 3,
    ((1, 0), (0, -1)): 4,
    ((0, 1), (1, 0)): 5,
    ((0, 1), (-1, 0)): 6,
    ((0, -1), (-1, 0)): 7,
    ((0, -1), (1, 0)): 8,
}


def count_pages(file: BinaryIO) -> int:
    """How many pages a PDF has; refused in words if it is locked, damaged, cut off or too long."""
    _demand_end(file)
    with _opened(file) as pdf:
        count = len(pdf)
    if count < 1:
        raise Refused(_damaged())
    demand_few_pages(count)
    return count


def pdf_page(file: BinaryIO, page: int) -> tuple[BytesIO, int]:
    """A page (from 1) as a picture (JPEG or PNG), and its orientation (EXIF).

    Raises `Refused` where the page is larger than pictures may be or cannot be read.
    """
    with _opened(file) as pdf:
        try:
            shown = pdf[page - 1]
            _demand_bearable(shown)
            return _taken_out(shown) or (_told(_rendered(shown, DPI / POINTS_AN_INCH)), 1)
        except (pypdfium2.PdfiumError, ValueError, OSError) as error:
            raise Refused(damaged_page()) from error


def damaged_page() -> str:
    return _("This page is damaged in the file. Scan this sheet once more.")


@contextmanager
def _opened(file: BinaryIO) -> Iterator[Any]:
    file.seek(0)
    with _one_at_a_time:
        try:
            pdf = pypdfium2.PdfDocument(file)
        except pypdfium2.PdfiumError as error:
            raise Refused(_locked() if _says(file, b"/Encrypt") else _damaged()) from error
        try:
            yield pdf
        finally:
            pdf.close()


def _says(file: BinaryIO, mark: bytes) -> bool:
    """PDFium's own error code stays that of an earlier file where it sets none."""
    file.seek(0)
    tail = b""
    for chunk in iter(partial(file.read, 1 << 20), b""):
        if mark in tail + chunk:
            return True
        tail = chunk[-len(mark) :]
    return False


def _locked() -> str:
    return _(
        "This PDF is locked by a password. Nothing was kept. Have the scanner save it without "
        "one, or as pictures."
    )


def _damaged() -> str:
    return _("This PDF is damaged or has no pages. Nothing was kept. Send it again.")


def _demand_end(file: BinaryIO) -> None:
    size = file.seek(0, 2)
    file.seek(max(0, size - END_WITHIN))
    if b"%%EOF" not in file.read():
        raise Refused(
            _(
                "This PDF breaks off before its end; it was probably cut off while it was "
                "copied. Nothing was kept. Send it again."
            )
        )


def _demand_bearable(page: Any) -> None:
    """Neither the page nor any raster on it is larger than a picture may be."""
    scale = DPI / POINTS_AN_INCH
    sizes = [image.get_px_size() for image in _images(page)]
    sizes.append((round(page.get_width() * scale), round(page.get_height() * scale)))
    if max(width * height for width, height in sizes) > settings.PICTURE_PIXELS_MAX:
        raise Refused(
            _(
                "This page has more than %(limit)d million pixels, the most that are taken in. "
                "Scan it in parts or coarser."
            )
            % {"limit": settings.PICTURE_PIXELS_MAX // 1_000_000}
        )


def _images(page: Any) -> list[Any]:
    return list(page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_IMAGE]))


def _taken_out(page: Any) -> tuple[BytesIO, int] | None:
    """The one raster that is the page; None where there is none or where it shows less or more."""
    image = _only_raster(page)
    orientation = None if image is None else _full_page(page, image)
    if image is None or orientation is None:
        return None
    jpeg = _jpeg_of(image)
    if jpeg is not None and _is_the_page(page, jpeg, orientation):
        jpeg.seek(0)
        return jpeg, orientation
    raster = image.get_bitmap().to_pil()
    if image.get_metadata().bits_per_pixel == 1:
        raster = _two_toned(raster)
        if not _is_the_page(page, raster, orientation):  # a stencil: its ones are ink
            raster = ImageOps.invert(raster)
    return (_told(raster), orientation) if _is_the_page(page, raster, orientation) else None


def _only_raster(page: Any) -> Any:
    """The page's single image, if nothing is laid over it but the unseen words of a reader."""
    images = _images(page)
    if len(images) != 1 or pdfium.FPDFPage_GetAnnotCount(page) > 0:
        return None
    over = False
    for thing in page.get_objects():
        if over and not _is_unseen(thing):
            return None
        over = over or thing.type == pdfium.FPDF_PAGEOBJ_IMAGE
    return images[0]


def _is_unseen(thing: Any) -> bool:
    if thing.type == pdfium.FPDF_PAGEOBJ_FORM:  # what is in it follows by itself
        return True
    invisible = pdfium.FPDF_TEXTRENDERMODE_INVISIBLE
    is_text = thing.type == pdfium.FPDF_PAGEOBJ_TEXT
    return is_text and bool(pdfium.FPDFTextObj_GetTextRenderMode(thing) == invisible)


def _full_page(page: Any, image: Any) -> int | None:
    """The orientation of a raster that fills the page, as dense along as across; else None."""
    a, b, c, d, e, f = _on_page(image)
    left, bottom, right, top = _box(page)
    wide, high = right - left, top - bottom
    off = (min(e, e + a + c) - left, right - max(e, e + a + c))
    off_up = (min(f, f + b + d) - bottom, top - max(f, f + b + d))
    if max(map(abs, off)) > SLACK * wide or max(map(abs, off_up)) > SLACK * high:
        return None
    across, down = _shown((a, b), page.get_rotation()), _shown((-c, -d), page.get_rotation())
    width_px, height_px = image.get_px_size()
    dense = width_px / np.hypot(*across), height_px / np.hypot(*down)
    if max(dense) > min(dense) * (1 + SLACK):
        return None
    return ORIENTATIONS.get((_quarter(across), _quarter(down)))


def _on_page(image: Any) -> tuple[float, ...]:
    """The matrix from the image's unit square to the page, through the forms it stands in."""
    matrix, form = image.get_matrix(), image.container
    while form is not None:
        matrix, form = matrix.multiply(form.get_matrix()), form.container
    return tuple(matrix.get())


def _box(page: Any) -> tuple[float, ...]:
    """What is shown of the page: left, bottom, right, top, points."""
    media, crop = page.get_mediabox(), page.get_cropbox()
    return (*np.maximum(media[:2], crop[:2]), *np.minimum(media[2:], crop[2:]))


def _shown(vector: tuple[float, float], turned_deg: int) -> tuple[float, float]:
    """A direction on the page (y up) as one on the screen (y down), the page turned clockwise."""
    x, y = vector
    for _quarter_turn in range(turned_deg // 90):
        x, y = y, -x
    return x, -y


def _quarter(vector: tuple[float, float]) -> tuple[int, int]:
    """The unit vector along an axis; (0, 0) for what lies askew."""
    x, y = np.asarray(vector) / np.hypot(*vector)
    at = round(x), round(y)
    return at if abs(x - at[0]) + abs(y - at[1]) < 1e-3 else (0, 0)


def _jpeg_of(image: Any) -> BytesIO | None:
    """The JPEG as it stands in the file; None for other rasters and for printers' inks."""
    if image.get_filters(skip_simple=True) != ["DCTDecode"]:
        return None
    told = BytesIO(bytes(image.get_data(decode_simple=True)))
    try:
        with Image.open(told, formats=["JPEG"]) as seen:
            return told if seen.mode in {"L", "RGB"} and seen.size == image.get_px_size() else None
    except OSError:
        return None


def _is_the_page(page: Any, raster: BytesIO | Image.Image, orientation: int) -> bool:
    """Whether a raster shows what the page shows, block by block."""
    there = _rendered(page, 16 * BLOCKS / max(page.get_size())).convert("L")
    across, down = (max(1, round(BLOCKS * side / max(there.size))) for side in there.size)
    seen = _opened_small(raster, there.size).convert("L")
    blocks = seen.resize((across, down) if orientation < 5 else (down, across), BOX)
    if orientation > 1:
        blocks = blocks.transpose(TURNS[orientation][0])
    off = np.asarray(blocks, np.int16) - np.asarray(there.resize((across, down), BOX), np.int16)
    return bool(np.abs(off).max() < DIFFERS)


def _opened_small(raster: BytesIO | Image.Image, size: tuple[int, int]) -> Image.Image:
    """A JPEG is decoded at as little of its size as does for a comparison."""
    if isinstance(raster, Image.Image):
        return raster
    raster.seek(0)
    seen = Image.open(raster, formats=["JPEG"])
    seen.draft(None, (max(size), max(size)))
    return seen


def _rendered(page: Any, scale: float) -> Image.Image:
    """The page with its annotations, at so many px a point; grey where it has no colour."""
    bitmap = page.render(scale=scale)
    pixels = bitmap.to_numpy()
    is_grey = all(np.array_equal(pixels[..., 0], pixels[..., at]) for at in (1, 2))
    shown: Image.Image = bitmap.to_pil()
    bitmap.close()
    return shown.getchannel(0) if is_grey else shown


def _two_toned(raster: Image.Image) -> Image.Image:
    """One bit a pixel, where there are but black and white."""
    seen = {at for at, count in enumerate(raster.convert("L").histogram()) if count}
    return raster.convert("1", dither=Image.Dither.NONE) if seen <= {0, 255} else raster


def _told(raster: Image.Image) -> BytesIO:
    told = BytesIO()
    raster.save(told, "PNG", compress_level=4)
    told.seek(0)
    return told
