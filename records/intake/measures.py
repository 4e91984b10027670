"""What a tower frame's pixels say, looked at once in the worker next to its pictures.

A few kilobytes go to the record, for pages to judge by; the features that neighbours are matched
by lie among the derivatives. A child process of the pool calls `measured`, without a database.
"""

from collections.abc import Iterable
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import storages

from records.intake.recipes import Screen
from records.models import Picture, PictureMeasure, StoredFile
from survey.overlap import Features, features_of, packed_features, unpacked_features
from survey.quality import FrameMeasure, measure, packed, unpacked

MEASURED = "measured"
VERSION = 1
"""Raise it when survey measures otherwise: frames are then measured anew."""

LEAST_SIDE_PX = 48


def measured(screen: Screen) -> bytes | None:
    """The measure of a frame, packed; its features are written first. None if it is too small."""
    if min(screen.rgb.shape[:2]) < LEAST_SIDE_PX:
        return None
    storage = storages["default"]
    name = features_name(screen.file, screen.orientation)
    if not storage.exists(name):
        storage.save(name, ContentFile(packed_features(features_of(screen.rgb))))
    return packed(measure(screen.rgb))


def keep_measure(file: StoredFile, orientation: int, data: bytes) -> None:
    PictureMeasure.objects.update_or_create(
        file=file,
        orientation=orientation,
        defaults={"recipe_version": VERSION, "data": data},
    )


def features_name(file: StoredFile, orientation: int) -> str:
    sha = file.sha256
    return f"derived/{sha[:2]}/{sha}/o{orientation}/features-v{VERSION}.bin"


def are_features_kept(picture: Picture) -> bool:
    """They lie among the derivatives, where a file may be lost while the measure is kept."""
    name = features_name(picture.file, picture.orientation)
    return bool(storages["default"].exists(name))


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
