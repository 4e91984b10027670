"""Corners of printed sheets, found once in the worker in the picture at its full size.

Markers on a tower's base, and the calibration board. A child process of the pool calls
`corners_in`, without a database.
"""

import json
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any, BinaryIO
from uuid import UUID

import numpy as np

from records.intake.decode import upright
from records.models import Picture, PictureCorners, PictureToMake, StoredFile
from survey.calibration_board import Board, find_board
from survey.markers import Kind, find_markers

BASE = "base-markers"
BOARD = "board"
VERSIONS = {BASE: 1, BOARD: 1}
"""Raise one when survey finds otherwise: pictures are then looked at anew."""


def _base_markers(grey: Any) -> list[Any]:
    """[code, eight numbers] a marker: u, v of its corners, px of the full picture."""
    found = [one for one in find_markers(grey) if one.meaning.kind is Kind.BASE]
    return [[one.code, *_rounded(one.corners.ravel())] for one in found]


def _board(grey: Any) -> list[Any]:
    """[number, u, v] a corner of the board."""
    numbers, seen = find_board(Board(), grey)
    return [[int(number), *_rounded(place)] for number, place in zip(numbers, seen, strict=True)]


SHEETS: Mapping[str, Callable[[Any], list[Any]]] = {BASE: _base_markers, BOARD: _board}


def corners_in(sheet: str, file: StoredFile, original: BinaryIO, orientation: int) -> bytes:
    """What is found of a sheet, as JSON."""
    picture = upright(original, file.media_type, orientation).convert("L")
    return json.dumps(SHEETS[sheet](np.asarray(picture))).encode()


def keep_corners(sheet: str, file: StoredFile, orientation: int, data: bytes) -> None:
    PictureCorners.objects.update_or_create(
        file=file,
        orientation=orientation,
        sheet=sheet,
        defaults={"recipe_version": VERSIONS[sheet], "found": json.loads(data)},
    )


def corners_of(pictures: Iterable[Picture], sheet: str) -> dict[UUID, list[Any]]:
    """By picture, of those that were looked at; one query."""
    wanted = {(one.file_id, one.orientation): one.pk for one in pictures}
    rows = PictureCorners.objects.filter(
        file__in=[file for file, _orientation in wanted],
        sheet=sheet,
        recipe_version=VERSIONS[sheet],
    )
    return {
        wanted[row.file_id, row.orientation]: row.found
        for row in rows
        if (row.file_id, row.orientation) in wanted
    }


def why_not_looked_at(pictures: Collection[Picture], sheet: str) -> dict[UUID, str]:
    """By picture, in words, of those that were tried often enough; one query."""
    tried = PictureToMake.objects.filter(file__in=[one.file_id for one in pictures], recipes=sheet)
    words = {(row.file_id, row.orientation): row.words for row in tried}
    return {one.pk: words.get((one.file_id, one.orientation), "") for one in pictures}


def _rounded(values: Any) -> list[float]:
    return [round(float(one), 3) for one in values]
