"""Photographs that a person may see, the latest first, with their pictures."""

from typing import Any

from django.db.models import Prefetch, QuerySet

from records.models import Dive, Photograph, PhotoKind, Season, Square
from records.queries.evidence import whole_percent
from records.queries.pictures import pictures_for


def photographs_for(season: Season, *, may_lead: bool) -> QuerySet[Photograph]:
    """Pictures of restricted finds are for leads and the director."""
    pictures: Any = pictures_for(season, may_lead=may_lead)
    seen = Photograph.objects.filter(season=season, picture__in=pictures.values("pk"))
    return (
        seen.select_related("season", "dive__season", "stage", "photographer", "frame__row__run")
        .prefetch_related(
            Prefetch("picture", pictures), Prefetch("square", Square.objects.labelled())
        )
        .order_by("-n")
    )


def singles_of(dive: Dive, *, may_lead: bool) -> list[Photograph]:
    """The dive's photographs that are no tower frames."""
    mine = photographs_for(dive.season, may_lead=may_lead).filter(dive=dive, voided_at=None)
    return list(mine.exclude(kind=PhotoKind.FRAME).order_by("n"))


def stands_on(photograph: Photograph) -> list[tuple[Square, str]]:
    """The squares that it covers, with the percentage, those it shows most of first."""
    frame = getattr(photograph, "frame", None)
    if frame is None:
        return []
    labelled = Prefetch("square", Square.objects.labelled())
    squares = frame.on_squares.prefetch_related(labelled).order_by("-fraction")
    return [(one.square, whole_percent(one.fraction)) for one in squares]


def is_placeable(photograph: Photograph, *, may_lead: bool) -> bool:
    """A picture with a size; what a lead left out is used again by leads only."""
    frame = getattr(photograph, "frame", None)
    is_left_out = frame is not None and not frame.is_kept
    return photograph.picture.upright_size_px is not None and (may_lead or not is_left_out)
