"""Finds as pages ask for them. Restricted ones are seen by leads and the director only: every
query of finds begins with `finds_seen`."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from records.archive.registers import Viewer
from records.models import Find, Fix, Grid, Restriction, Season, Square, Stage


def finds_seen(season: Season, *, may_lead: bool) -> QuerySet[Find]:
    """All finds of the season that the person may know of, void ones too."""
    finds: QuerySet[Find] = Find.objects.filter(season=season)
    return finds if may_lead else finds.filter(restriction=Restriction.NONE)


def with_all(finds: QuerySet[Find]) -> QuerySet[Find]:
    """What lists and pages need: labelled square, stage, diver, dive, standing fix."""
    fixes = Fix.objects.standing().select_related("grid")
    return finds.select_related("season", "stage", "dive__season", "found_by").prefetch_related(
        Prefetch("square", Square.objects.labelled()), Prefetch("fixes", fixes)
    )


def fix_of(find: Find) -> Fix | None:
    """The one that stands, of a find asked for `with_all`."""
    return next(iter(find.fixes.all()), None)


@dataclass(frozen=True)
class FindMark:
    """A standing find with its place on a grid in m; no x and y where nobody measured it."""

    id: UUID
    n: int
    number: str
    object_name: str
    whereabouts: str
    stage_id: UUID | None
    x_m: float | None
    y_m: float | None
    sigma_m: float | None


def finds_on(square: Square, viewer: Viewer) -> list[FindMark]:
    """The season's finds of a square, by number; two queries."""
    return _marks(_standing(viewer).filter(square=square), square.grid_id)


def finds_on_grid(grid: Grid, stage: Stage | None, viewer: Viewer) -> list[FindMark]:
    """The season's finds on a grid's squares, of one stage or of all; two queries."""
    finds = _standing(viewer).filter(square__grid=grid)
    return _marks(finds if stage is None else finds.filter(stage=stage), grid.pk)


def _standing(viewer: Viewer) -> QuerySet[Find]:
    seen = finds_seen(viewer.season, may_lead=viewer.sees_restricted)
    return seen.filter(voided_at=None).order_by("n")


def _marks(finds: QuerySet[Find], grid_id: UUID) -> list[FindMark]:
    fixes = Fix.objects.standing().filter(grid=grid_id)
    rows: Iterable[Find] = finds.select_related("season").prefetch_related(Prefetch("fixes", fixes))
    return [_mark(find, fix_of(find)) for find in rows]


def _mark(find: Find, fix: Fix | None) -> FindMark:
    return FindMark(
        id=find.pk,
        n=find.n,
        number=find.number,
        object_name=find.object_name,
        whereabouts=str(find.get_whereabouts_display()),
        stage_id=find.stage_id,
        x_m=fix.x_m if fix else None,
        y_m=fix.y_m if fix else None,
        sigma_m=fix.sigma_m if fix else None,
    )
