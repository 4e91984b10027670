"""A tower set-up's page: its versions, and the pictures that its base may be marked on."""

from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from django.utils.translation import ngettext

from records.models import (
    CardFileRole,
    Frame,
    IncomingFrame,
    Mark,
    Picture,
    PlacedBy,
    Placement,
    Season,
    Site,
    TowerSetUp,
)
from records.queries.marks import VersionTold, fit_told, marks_told, one_figure
from records.queries.pictures import pictures_for

MOST_TO_CHOOSE = 24


def set_ups_of(site: Site) -> QuerySet[TowerSetUp]:
    """With `is_marked`: whether its base was marked on a picture yet."""
    marked = Placement.objects.filter(set_up=OuterRef("pk"), method=PlacedBy.MARKS, voided_at=None)
    of_site: QuerySet[TowerSetUp] = TowerSetUp.objects.filter(site=site)
    with_marks: QuerySet[TowerSetUp] = of_site.annotate(is_marked=Exists(marked))
    return with_marks


def laid_anew_words(version: Placement) -> str:
    """How many frames took a version as it was made, or nothing."""
    frames = Frame.objects.filter(
        card__run__set_up=version.set_up,
        placement__method=PlacedBy.STATION,
        placement__made_at__gte=version.made_at,
    )
    count = frames.count()
    if not count:
        return ""
    return ngettext(
        "%(count)d accepted frame was laid anew.",
        "%(count)d accepted frames were laid anew.",
        count,
    ) % {"count": count}


def versions_told(set_up: TowerSetUp) -> list[VersionTold]:
    """The latest begun first; one that a later mark of the same begin replaced says so."""
    marks = Prefetch("marks", Mark.objects.order_by("made_at"))
    made: Any = set_up.placements.select_related("made_by", "picture", "lens").prefetch_related(
        marks
    )
    standing = [one.pk for one in set_up.versions()]
    rows = sorted(made, key=lambda one: _rank(standing, one), reverse=True)
    last_of = {one.valid_from: one.pk for one in rows[::-1] if not one.is_voided}
    return [
        VersionTold(
            placement=row,
            is_in_force=row.pk == standing[-1],
            is_replaced=not row.is_voided and last_of[row.valid_from] != row.pk,
            fit=fit_told(row),
            mm_a_pixel=one_figure(row.mm_a_pixel),
            marks=marks_told(row, row.marks.all()),
        )
        for row in rows
    ]


def _rank(standing: list[Any], row: Placement) -> tuple[int, Any]:
    return (standing.index(row.pk) if row.pk in standing else -1, row.made_at)


def frames_of(season: Season, set_up: TowerSetUp) -> QuerySet[Picture]:
    """Pictures taken with the set-up, accepted or still waiting, the latest first."""
    taken = IncomingFrame.objects.filter(
        card__run__set_up=set_up, card__run__season=season, role=CardFileRole.FRAME
    )
    pictures = pictures_for(season, may_lead=True).filter(
        pk__in=taken.values("picture"), voided_at=None
    )
    return pictures.order_by("-taken_at", "-made_at")[:MOST_TO_CHOOSE]


def base_seen(set_up: TowerSetUp, picture: Picture) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The base's size as it was typed last, and how it was marked last: where it is marked anew
    on the same picture, with all its points, else with the names and places of the further ones.
    """
    seen: dict[str, Any] = {}
    if set_up.base_x_m and set_up.base_y_m:
        seen = {
            "width_cm": round(set_up.base_x_m * 100, 1),
            "depth_cm": round(set_up.base_y_m * 100, 1),
        }
    marked = [one for one in set_up.versions() if one.method == PlacedBy.MARKS]
    if not marked:
        return seen, []
    last = max(marked, key=lambda one: one.made_at)
    marks = list(Mark.objects.filter(placement=last).order_by("made_at"))
    is_here = last.picture_id == picture.pk
    if is_here:
        for number, mark in enumerate(marks[:4]):
            seen |= {f"c{number}_{axis}": value for axis, value in _seen_at(mark).items()}
    further = [
        {"name": mark.label, "x_cm": round(mark.x_m * 100, 1), "y_cm": round(mark.y_m * 100, 1)}
        | (_seen_at(mark) if is_here else {})
        for mark in marks[4:]
    ]
    return seen, further


def _seen_at(mark: Mark) -> dict[str, float]:
    return {"u": round(mark.u_px, 2), "v": round(mark.v_px, 2)}
