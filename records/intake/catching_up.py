"""What a start finds undone: frames whose pixels nobody looked at, runs and cards not compared.

Frames may be older than measuring is, come back with a copy, or have lost their work with a
worker that was cut off at the wrong moment.
"""

from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.intake.alike import ask_to_compare_card, cards_behind
from records.intake.measures import LEAST_SIDE_PX, MEASURED, VERSION
from records.intake.seen import ask_to_compare, pairs_of
from records.intake.wanted import want_measured
from records.jobs import ask, job
from records.models import (
    CardState,
    Frame,
    IncomingFrame,
    PhotoRun,
    Picture,
    PictureMeasure,
    PictureToMake,
)
from records.progress import Steps

AT_MOST = 2_000
"""Frames at one start, the newest; older ones have their turn at the next."""


@job("catch_up", words=gettext_lazy("Looking for frames that were not measured"))
def catch_up(progress: Steps) -> dict[str, Any]:
    """Asks only for what is missing: done again it finds nothing."""
    missing = list(unmeasured()[:AT_MOST])
    progress.total(len(missing))
    for picture in missing:
        want_measured(picture)
        progress.step(_("Asking for frames that were not measured"))
    if PictureToMake.objects.filter(words="").exists():
        ask("derivatives", site=None, once=True)
    behind = [run for run in PhotoRun.objects.standing() if is_behind(run)]
    for run in behind:
        ask_to_compare(run)
    cards = list(cards_behind())
    for card in cards:
        ask_to_compare_card(card)
    return {"frames": len(missing), "runs": len(behind), "cards": len(cards)}


def unmeasured() -> QuerySet[Picture]:
    """Of tower frames, kept or coming in, not asked for either; the newest first. Those that
    could not be measured are not asked for again."""
    of_picture = {"file": OuterRef("file"), "orientation": OuterRef("orientation")}
    measured = PictureMeasure.objects.filter(**of_picture, recipe_version=VERSION)
    asked = PictureToMake.objects.filter(**of_picture, recipes=MEASURED)
    arriving = IncomingFrame.objects.standing().filter(
        card__state=CardState.ARRIVING, card__voided_at=None
    )
    frames = Q(pk__in=_tower_frames().values("photograph__picture"))
    return (
        Picture.objects.standing()
        .filter(frames | Q(pk__in=arriving.values("picture")), ~Exists(measured), ~Exists(asked))
        .filter(file__width_px__gte=LEAST_SIDE_PX, file__height_px__gte=LEAST_SIDE_PX)
        .select_related("file")
        .order_by("-made_at")
    )


def is_behind(run: PhotoRun) -> bool:
    """Whether a frame that could be compared with its neighbours is in no pair."""
    measured = PictureMeasure.objects.filter(
        file=OuterRef("photograph__picture__file"),
        orientation=OuterRef("photograph__picture__orientation"),
        recipe_version=VERSION,
    )
    ready = _tower_frames().filter(Exists(measured), card__run=run)
    placements = {str(key) for key in ready.values_list("placement", flat=True)}
    if len(placements) < 2:
        return False
    return not placements <= {key for pair in pairs_of(run) for key in (pair.one, pair.other)}


def _tower_frames() -> QuerySet[Frame]:
    return Frame.objects.filter(card__isnull=False, is_kept=True, photograph__voided_at=None)
