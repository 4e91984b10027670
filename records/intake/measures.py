"""What a tower frame's pixels say, looked at once in the worker next to its pictures.

A few kilobytes go to the record, for pages to judge by; the features that neighbours are matched
by lie among the derivatives. A child process of the pool calls `measured`, without a database.
"""

from collections.abc import Iterable
from typing import BinaryIO, cast
from uuid import UUID

import numpy as np
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from PIL import Image

from records.intake.recipes import RECIPES, derived_name, make
from records.models import Picture, PictureMeasure, StoredFile
from survey.overlap import Features, features_of, packed_features, unpacked_features
from survey.quality import FrameMeasure, measure, packed, unpacked

MEASURED = "measured"
VERSION = 1
"""Raise it when survey measures otherwise: frames are then measured anew."""

LEAST_SIDE_PX = 48


def measured(file: StoredFile, original: BinaryIO, orientation: int) -> bytes | None:
    """The measure of a frame, packed; its features are written first. None if it is too small.

    From the picture for the screen, which is made if it is not there yet: so every frame is
    measured through the same decoding, and the original is decoded once.
    """
    storage = storages["default"]
    screen = derived_name(file, orientation, RECIPES["screen"].name)
    if not storage.exists(screen):
        make(file, original, orientation, "usual")
    with storage.open(screen, "rb") as stored, Image.open(cast(BinaryIO, stored)) as picture:
        pixels = np.asarray(picture.convert("RGB"))
    if min(pixels.shape[:2]) < LEAST_SIDE_PX:
        return None
    name = features_name(file, orientation)
    if not storage.exists(name):
        storage.save(name, ContentFile(packed_features(features_of(pixels))))
    return packed(measure(pixels))


def keep_measure(file: StoredFile, orientation: int, data: bytes) -> None:
    PictureMeasure.objects.update_or_create(
        file=file,
        orientation=orientation,
        defaults={"recipe_version": VERSION, "data": data},
    )


def features_name(file: StoredFile, orientation: int) -> str:
    sha = file.sha256
    return f"derived/{sha[:2]}/{sha}/o{orientation}/features-v{VERSION}.bin"


def features_kept(picture: Picture) -> Features | None:
    """None while they are not made."""
    try:
        with storages["default"].open(features_name(picture.file, picture.orientation)) as stored:
            return unpacked_features(stored.read())
    except FileNotFoundError:
        return None


def measures_of(pictures: Iterable[Picture]) -> dict[UUID, FrameMeasure]:
    """By picture, those that are measured; one query."""
    wanted = {(one.file_id, one.orientation): one.pk for one in pictures}
    rows = PictureMeasure.objects.filter(
        file__in=[file for file, _orientation in wanted], recipe_version=VERSION
    )
    return {
        wanted[row.file_id, row.orientation]: unpacked(bytes(row.data))
        for row in rows
        if (row.file_id, row.orientation) in wanted
    }
