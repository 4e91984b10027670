"""What is asked of pictures: derivatives, and what their pixels say. The quick worker does it."""

from collections.abc import Iterable
from functools import partial

from django.db import transaction

from records.intake.codes import CODES, are_looked_for
from records.intake.corners import corners_of
from records.intake.measures import MEASURED, are_features_kept, measures_of
from records.intake.recipes import together_with
from records.jobs import ask
from records.models import Picture, PictureToMake


def want(picture: Picture, recipe: str = "screen") -> None:
    """Ask for a picture's derivatives; asked twice is asked once."""
    _ask_for(picture, together_with(recipe))


def want_measured(picture: Picture) -> bool:
    """Ask what a tower frame's pixels say, once its pictures are made; whether it was asked."""
    if measures_of([picture]) and are_features_kept(picture):
        return False
    _ask_for(picture, MEASURED)
    return True


def want_features_again(pictures: Iterable[Picture]) -> None:
    """Ask anew of those that were measured; for pictures whose features are not there."""
    lost = list(pictures)
    measured = measures_of(lost) if lost else {}
    for picture in lost:
        if picture.pk in measured:
            _ask_for(picture, MEASURED)


def want_codes(picture: Picture) -> None:
    """Ask which printed codes a tower frame shows: boards tell where the run was."""
    if not are_looked_for(picture):
        _ask_for(picture, CODES)


def want_corners(picture: Picture, sheet: str) -> None:
    """Ask where a printed sheet's corners lie in a picture: base markers or calibration board."""
    if corners_of([picture], sheet).get(picture.pk) is None:
        _ask_for(picture, sheet)


def _ask_for(picture: Picture, group: str) -> None:
    if not picture.file.is_shown:
        return
    PictureToMake.objects.get_or_create(
        file=picture.file, orientation=picture.orientation, recipes=group
    )
    # After the commit: a worker that began before it would not see the row.
    transaction.on_commit(partial(ask, "derivatives", site=None, once=True))
