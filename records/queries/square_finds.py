"""The finds of a square and those whose fix lies on it or close by."""

from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q

from records.intake.windows import box_of
from records.models import Find, Fix, Season, Square, Stage
from records.queries.finds import finds_seen
from records.queries.square_panes import MARGIN_OF_SIDE


def finds_of(square: Square, season: Season, *, may_lead: bool) -> list[Find]:
    """By number, each with its standing fix on the square's grid as `fix`, or None."""
    x_min, y_min, x_max, y_max = box_of(square, square.grid.side_m * MARGIN_OF_SIDE)
    on_grid: Any = Fix.objects.standing().filter(grid=square.grid)
    close_by = on_grid.filter(
        find=OuterRef("pk"), x_m__gte=x_min, x_m__lte=x_max, y_m__gte=y_min, y_m__lte=y_max
    )
    finds = (
        finds_seen(season, may_lead=may_lead)
        .filter(Q(square=square) | Exists(close_by), voided_at=None)
        .select_related("stage", "found_by")
        .prefetch_related(Prefetch("fixes", on_grid, to_attr="standing_fixes"))
        .order_by("n")
    )
    found: list[Any] = list(finds)
    for find in found:
        find.fix = next(iter(find.standing_fixes), None)
    return found


def in_stage(finds: list[Find], stage: Stage | None) -> list[Find]:
    """Those of the surface that is shown, and those of which nobody said the stage."""
    return [one for one in finds if one.stage_id is None or (stage and one.stage_id == stage.pk)]
