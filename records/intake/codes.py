"""Printed codes in the frames of a card, looked for once in the worker next to their pictures.

A child process of the pool calls `codes_in`, without a database.
"""

import json
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from uuid import UUID

import numpy as np

from records.intake.recipes import Screen
from records.models import Picture, PictureCodes, StoredFile
from survey.markers import MODULES, Marker, find_markers

CODES = "codes"
VERSION = 1
"""Raise it when survey finds otherwise: codes are then looked for anew."""


@dataclass(frozen=True)
class SeenCode:
    """A code, and how large it is, as a share of the picture's longer side: its box, and the mean
    of its sides. Its middle at `u`, `v`, as shares of the picture from its upper left corner."""

    code: int
    size: float
    u: float = 0.0
    v: float = 0.0
    side: float = 0.0


def codes_in(screen: Screen) -> bytes:
    """The codes in a frame, as `SeenCode` has them, as JSON. Looked for in the picture for the
    screen, where a board or tag seen whole has pixels enough."""
    found = [_seen(one, *screen.grey.shape) for one in find_markers(screen.grey)]
    return json.dumps([astuple(one) for one in found]).encode()


def _seen(marker: Marker, height_px: int, width_px: int) -> SeenCode:
    longer = max(height_px, width_px)
    u, v = marker.corners.mean(axis=0)
    shares = (
        float(np.ptp(marker.corners, axis=0).max()) / longer,
        float(u + 0.5) / width_px,
        float(v + 0.5) / height_px,
        marker.module_px * MODULES / longer,
    )
    return SeenCode(marker.code, *(round(one, 5) for one in shares))


def keep_codes(file: StoredFile, orientation: int, data: bytes) -> None:
    PictureCodes.objects.update_or_create(
        file=file,
        orientation=orientation,
        defaults={"recipe_version": VERSION, "codes": json.loads(data)},
    )


def are_looked_for(picture: Picture) -> bool:
    return PictureCodes.objects.filter(
        file=picture.file, orientation=picture.orientation, recipe_version=VERSION
    ).exists()


def codes_of(pictures: Iterable[Picture]) -> dict[UUID, list[SeenCode]]:
    """By picture, the largest first, of those that were looked at; one query."""
    wanted = {(one.file_id, one.orientation): one.pk for one in pictures}
    rows = PictureCodes.objects.filter(
        file__in=[file for file, _orientation in wanted], recipe_version=VERSION
    )
    return {
        wanted[row.file_id, row.orientation]: sorted(
            (SeenCode(*one) for one in row.codes), key=lambda one: -one.size
        )
        for row in rows
        if (row.file_id, row.orientation) in wanted
    }
