"""Windows of a grid: pictures through their placements, drawn by the quick worker.

A page names what it shows (`GridWindow`); it is drawn once, kept among the derivatives, and asked
for by a signed address, so that nobody can have arbitrary ones drawn.
"""

import hashlib
import io
import json
import logging
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, BinaryIO, cast
from uuid import UUID

import numpy as np
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.core.signing import BadSignature, Signer
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from PIL import Image

from records.intake.decode import upright
from records.intake.originals import open_original
from records.jobs import job
from records.models import DrawnSquare, Placement, Square, WindowToMake
from records.progress import Progress
from records.refusals import Refused
from survey import placement as placing
from survey.rectify import Piece, Rectified, Window, rectify_together

log = logging.getLogger(__name__)

Box = tuple[float, float, float, float]  # x_min, y_min, x_max, y_max on the grid, m
VERSION = 1
QUALITY = 82
TRIES = 3
MOST_SIDE_PX = 4096
REDUCED = (8, 4, 2)  # what a JPEG decodes to directly


@dataclass(frozen=True)
class PieceOf:
    """One placed picture in a window, and the part of the grid it may fill."""

    placement_id: UUID
    only: Box | None = None


@dataclass(frozen=True)
class GridWindow:
    """A part of a grid drawn at `mm_a_pixel` from pictures, later ones over earlier ones.

    Where no picture lies it is transparent. Placements never change, so neither does its picture.
    """

    pieces: tuple[PieceOf, ...]
    box: Box
    mm_a_pixel: float = 1.0

    @classmethod
    def of_square(
        cls, placement: Placement, square: Square, *, margin_m: float = 0.0, mm_a_pixel: float = 1.0
    ) -> "GridWindow":
        """One square, with some of what lies round it, from one placed picture."""
        return cls((PieceOf(placement.pk),), box_of(square, margin_m), mm_a_pixel)

    @classmethod
    def of_drawn_together(
        cls, drawn: list[DrawnSquare], box: Box, *, mm_a_pixel: float = 2.0
    ) -> "GridWindow":
        """Several drawn squares, each within its own square only."""
        pieces = [PieceOf(one.placement_id, box_of(one.square)) for one in drawn]
        return cls(tuple(pieces), box, mm_a_pixel)

    @classmethod
    def from_json(cls, said: dict[str, Any]) -> "GridWindow":
        pieces = [PieceOf(UUID(key), tuple(only) if only else None) for key, only in said["pieces"]]
        return cls(tuple(pieces), tuple(said["box"]), said["mm"])

    @classmethod
    def from_token(cls, token: str) -> "GridWindow | None":
        """The window of an address; None where nobody was given that address."""
        try:
            return cls.from_json(_signer.unsign_object(token))
        except BadSignature:
            return None

    def as_json(self) -> dict[str, Any]:
        pieces = [[one.placement_id.hex, _rounded(one.only)] for one in self.pieces]
        return {"pieces": pieces, "box": _rounded(self.box), "mm": self.mm_a_pixel}

    @cached_property
    def token(self) -> str:
        return _signer.sign_object(self.as_json(), compress=True)

    @cached_property
    def key(self) -> str:
        said = json.dumps(self.as_json(), sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(said.encode()).hexdigest()

    @property
    def name(self) -> str:
        return f"derived/{self.key[:2]}/{self.key}/window-v{VERSION}.webp"

    @property
    def raster(self) -> Window:
        return Window(*self.box, self.mm_a_pixel)

    @property
    def width_px(self) -> int:
        return self.raster.width_px

    @property
    def height_px(self) -> int:
        return self.raster.height_px

    @cached_property
    def is_made(self) -> bool:
        return bool(storages["default"].exists(self.name))

    @property
    def placement_ids(self) -> set[UUID]:
        return {one.placement_id for one in self.pieces}


_signer = Signer(salt="window of a grid")


def box_of(square: Square, margin_m: float = 0.0) -> Box:
    side_m = square.grid.side_m
    x, y = square.column * side_m, square.row * side_m
    return (x - margin_m, y - margin_m, x + side_m + margin_m, y + side_m + margin_m)


def _rounded(box: Box | None) -> list[float] | None:
    return None if box is None else [round(one, 6) for one in box]


def open_window(window: GridWindow) -> BinaryIO:
    """Raises FileNotFoundError while it is not drawn."""
    return cast(BinaryIO, storages["default"].open(window.name, "rb"))


@job("windows", words=gettext_lazy("Drawing squares from their pictures"))
def draw_wanted(progress: Progress) -> None:
    while drawn := draw_waiting(4):
        progress.step(done=drawn)


def draw_waiting(at_most: int) -> int:
    """Draw some of those that wait; returns how many were dealt with, well or badly."""
    rows = list(WindowToMake.objects.filter(words="")[:at_most])
    for row in rows:
        try:
            draw(GridWindow.from_json(row.window))
        except Exception as error:  # one bad picture must not hold up the others
            log.warning("window %s was not drawn", row.key, exc_info=error)
            row.tries += 1
            if row.tries >= TRIES or isinstance(error, Refused):
                row.words = error.words if isinstance(error, Refused) else _undrawn()
            row.save()
        else:
            row.delete()
    return len(rows)


def _undrawn() -> str:
    return _("This part of the grid could not be drawn. The original is kept, untouched.")


def draw(window: GridWindow) -> None:
    """Draw it, whole or not at all; one that is there already stays."""
    storage = storages["default"]
    if storage.exists(window.name):
        return
    if max(window.width_px, window.height_px) > MOST_SIDE_PX:
        raise ValueError(f"a window has at most {MOST_SIDE_PX} px a side, not {window.raster!r}")
    drawn = rectify_together(_pieces(window), window.raster)
    storage.save(window.name, ContentFile(_webp(drawn)))


def _pieces(window: GridWindow) -> Iterator[Piece]:
    rows = Placement.objects.select_related("picture__file").in_bulk(list(window.placement_ids))
    for one in window.pieces:
        yield _piece(rows[one.placement_id], one.only, window)


def _piece(row: Placement, only: Box | None, window: GridWindow) -> Piece:
    """The picture, decoded no larger than the window can show."""
    picture, placement = row.picture, row.as_value
    if picture is None:
        raise ValueError(f"placement {row.pk!r} is of no picture")
    k = _reduction(placement, row, only or window.box, window.mm_a_pixel)
    size = (row.width_px // k, row.height_px // k)
    with open_original(picture.file) as original:
        seen = upright(original, picture.file.media_type, picture.orientation, at_least=size)
    k_u, k_v = row.width_px / seen.width, row.height_px / seen.height
    reduced = placing.placement_of_derivative(placement, k_u, k_v)
    return Piece(np.asarray(seen), reduced, only)


def _reduction(placement: placing.Placement, row: Placement, box: Box, mm_a_pixel: float) -> int:
    """How far the picture may be reduced and still be finer than the window's pixels.

    Only by what divides its size: then the reduced picture spans exactly the same.
    """
    x_min, y_min, x_max, y_max = box
    ends = np.array([(x_min, y_min), (x_max, y_min), (x_max, y_max), (x_min, y_max)])
    try:
        seen = placing.to_picture(placement, ends)
        coarsest_mm = float(placing.metres_a_pixel(placement, seen).max()) * 1000.0
    except ValueError:  # the window reaches beyond the picture's horizon
        return 1
    for k in REDUCED:
        if k * coarsest_mm <= mm_a_pixel and row.width_px % k == 0 and row.height_px % k == 0:
            return k
    return 1


def _webp(drawn: Rectified) -> bytes:
    alpha = np.where(drawn.covered, 255, 0).astype(np.uint8)
    out = io.BytesIO()
    picture = Image.fromarray(np.dstack([drawn.image, alpha]), "RGBA")
    picture.save(out, "WEBP", quality=QUALITY, method=4)
    return out.getvalue()
