"""Scans as their page shows them: filed, waiting for a word, or left to a person and why."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from records.models import Drawing, Picture, Scan, ScanState, Season
from records.queries.pictures import pictures_for

SHOWN = 100


@dataclass(frozen=True)
class ScanShown:
    """`drawing`: what stands in the record with its picture, however it came there."""

    scan: Scan
    picture: Picture
    drawing: Drawing | None

    @property
    def is_waiting(self) -> bool:
        return self.scan.state == ScanState.WAITING

    @property
    def needs_square(self) -> bool:
        return self.drawing is None and self.scan.state == ScanState.ON_BOARD

    @property
    def needs_hand(self) -> bool:
        """Not filed, or filed and made void since."""
        return self.drawing is None and not self.is_waiting and not self.needs_square


def scans_left(season: Season) -> int:
    """How many wait for a person: film without its square, and what no codes filed."""
    open_ends = Scan.objects.filter(
        season=season, state__in=[ScanState.ON_BOARD, ScanState.BY_HAND]
    )
    drawn = Drawing.objects.standing().filter(picture=OuterRef("picture"))
    return open_ends.filter(~Exists(drawn)).count()


def scans_of(season: Season, *, may_lead: bool) -> list[ScanShown]:
    """The latest hundred, the latest first."""
    scans = list(Scan.objects.filter(season=season).select_related("sheet__season")[:SHOWN])
    keys = [one.picture_id for one in scans]
    seen = {one.pk: one for one in pictures_for(season, may_lead=may_lead).filter(pk__in=keys)}
    drawn = Drawing.objects.standing().filter(picture__in=keys).select_related("season")
    by_picture = {one.picture_id: one for one in drawn.prefetch_related("squares__square__grid")}
    return [
        ScanShown(one, seen[one.picture_id], by_picture.get(one.picture_id))
        for one in scans
        if one.picture_id in seen
    ]
