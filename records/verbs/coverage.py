"""Coverage follows its evidence in the same transaction; `recount` rebuilds it from nothing."""

from collections.abc import Iterable, Sequence
from typing import Any

from records.models import (
    Frame,
    FrameOnSquare,
    Grid,
    Placement,
    Season,
    Square,
    SquareCoverage,
    Stage,
)
from records.permissions import May
from records.verbs.guard import ALWAYS, verb
from records.verbs.many import make_many
from survey import coverage as covering
from survey import placement as placing
from survey.grid import Square as GridSquare
from survey.points import FloatArray


def outline_of(placement: Placement) -> FloatArray:
    """What a picture covers of its grid: (4, 2), m."""
    return placing.covered_outline(placement.as_value, placement.width_px, placement.height_px)


def frame_lies_on(frame: Frame) -> set[Square]:
    """Rewrite which existing squares the frame touches, and how much of each; returns them."""
    frame.on_squares.all().delete()
    if frame.placement is None or frame.placement.grid is None:
        return set()
    return frames_lie_on(frame.placement.grid, [frame])


def frames_lie_on(grid: Grid, frames: Sequence[Frame]) -> set[Square]:
    """Write which existing squares new frames of a grid touch; returns all of those."""
    fractions = {
        frame.pk: covering.fractions_of_squares(grid.frame, outline_of(frame.placement))
        for frame in frames
        if frame.placement is not None
    }
    squares = _squares_at(grid, {key for touched in fractions.values() for key in touched})
    rows = [
        FrameOnSquare(frame_id=pk, square=squares[key], fraction=fraction)
        for pk, touched in fractions.items()
        for key, fraction in touched.items()
        if key in squares
    ]
    make_many(rows)
    return {row.square for row in rows}


def _squares_at(grid: Grid, keys: set[GridSquare]) -> dict[GridSquare, Square]:
    standing = Square.objects.standing().filter(
        grid=grid, column__in={key.column for key in keys}, row__in={key.row for key in keys}
    )
    return {GridSquare(square.column, square.row): square for square in standing}


def recount_squares(stage: Stage, squares: Iterable[Square]) -> None:
    """Rewrite the coverage of these squares from the kept frames that touch them."""
    by_grid: dict[Any, list[Square]] = {}
    for square in sorted(squares, key=lambda one: str(one.pk)):
        by_grid.setdefault(square.grid_id, []).append(square)
    for group in by_grid.values():
        _recount_on_grid(stage, group)


def _recount_on_grid(stage: Stage, squares: list[Square]) -> None:
    outlines = [outline_of(placement) for placement in kept_placements(stage, squares)]
    keys = [(square.column, square.row) for square in squares]
    found = covering.coverage_of_squares(squares[0].grid.frame, keys, outlines)
    standing = {
        row.square_id: row
        for row in SquareCoverage.objects.select_for_update().filter(
            stage=stage, square__in=squares
        )
    }
    for square, key in zip(squares, keys, strict=True):
        coverage = standing.get(square.pk) or SquareCoverage(stage=stage, square=square)
        result = found[GridSquare(*key)]
        holes = [_hole(one) for one in result.holes]
        if coverage.fraction != result.fraction or coverage.holes != holes:
            coverage.fraction, coverage.holes = result.fraction, holes
            coverage.save()


def kept_placements(stage: Stage, squares: Iterable[Square]) -> list[Placement]:
    """Placements of the kept, unvoided frames of a stage that touch any of the squares."""
    frames = Frame.objects.filter(
        on_squares__square__in=list(squares),
        is_kept=True,
        photograph__stage=stage,
        photograph__voided_at=None,
    )
    return list(Placement.objects.filter(frames__in=frames).distinct().order_by("pk"))


def _hole(hole: covering.Hole) -> dict[str, Any]:
    return {
        "area_m2": round(hole.area_m2, 6),
        "where": hole.where.value,
        "outline_m": [[round(x, 6), round(y, 6)] for x, y in hole.outline.tolist()],
    }


@verb(May.RECORD, ALWAYS)
def recount(season: Season) -> int:
    """Rebuild the season's coverage from its frames; returns how many squares."""
    counted = 0
    for stage in season.stages.all():
        frames = Frame.objects.filter(photograph__stage=stage, is_kept=True)
        squares = set(Square.objects.filter(frames__frame__in=frames))
        squares |= set(Square.objects.filter(coverages__stage=stage))
        recount_squares(stage, squares)
        counted += len(squares)
    return counted
