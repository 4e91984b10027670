"""Which pictures a person may see, and which of them are still being made."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from records.intake.measures import MEASURED
from records.intake.recipes import together_with
from records.models import (
    Find,
    FindPicture,
    Job,
    JobState,
    Picture,
    PictureToMake,
    Restriction,
    Season,
)


def pictures_for(season: Season, *, may_lead: bool) -> QuerySet[Picture]:
    """The site's pictures, with their files and `is_being_made`.

    Pictures of restricted finds are for leads and the director.
    """
    of_site = Picture.objects.filter(site=season.site_id).select_related("file")
    if not may_lead:
        of_site = of_site.filter(~Exists(_of_restricted_finds()))
    return with_making(of_site)


def _of_restricted_finds() -> QuerySet[FindPicture]:
    restricted = Find.objects.exclude(restriction=Restriction.NONE)
    return FindPicture.objects.filter(picture=OuterRef("pk"), find__in=restricted)


def with_making(pictures: QuerySet[Picture]) -> QuerySet[Picture]:
    """Any pictures, with `is_being_made`."""
    wanted = PictureToMake.objects.exclude(recipes=MEASURED).filter(
        file=OuterRef("file"), orientation=OuterRef("orientation"), words=""
    )
    return pictures.annotate(is_being_made=Exists(wanted))


def made_among(season: Season, ids: Iterable[UUID], *, may_lead: bool) -> list[UUID]:
    """Those of the pictures whose making is over, well or badly."""
    asked: Any = pictures_for(season, may_lead=may_lead).filter(pk__in=list(ids)[:200])
    return list(asked.filter(is_being_made=False).values_list("pk", flat=True))


def why_unmade(picture: Picture) -> str:
    """Why a picture's derivatives cannot be made, or nothing."""
    failed = PictureToMake.objects.exclude(recipes=MEASURED).filter(
        file=picture.file, orientation=picture.orientation
    )
    return failed.exclude(words="").values_list("words", flat=True).first() or ""


def is_under_way(picture: Picture, recipe: str) -> bool:
    """Whether it is asked for, and a job is there to make it."""
    wanted = PictureToMake.objects.filter(
        file=picture.file, orientation=picture.orientation, recipes=together_with(recipe)
    )
    at_work = Job.objects.filter(kind="derivatives", state__in=[JobState.WAITING, JobState.RUNNING])
    return wanted.exists() and at_work.exists()
