"""Whether work is recorded on a grid, its squares or a stage, so that these must stay."""

from collections.abc import Sequence

from records.models import (
    DiveTask,
    DrawnSquare,
    Find,
    Fix,
    FrameOnSquare,
    Grid,
    Outline,
    Photograph,
    PhotoRun,
    Placement,
    Square,
    Stage,
)


def grid_bears_evidence(grid: Grid) -> bool:
    laid = (PhotoRun, Placement, Fix, Outline)
    return _recorded(square__grid=grid) or any(
        model.objects.standing().filter(grid=grid).exists() for model in laid
    )


def squares_bear_evidence(squares: Sequence[Square]) -> bool:
    return _recorded(square__in=squares) or _traced_on(squares)


def stage_bears_evidence(stage: Stage) -> bool:
    return _recorded(stage=stage) or any(
        model.objects.standing().filter(stage=stage).exists() for model in (PhotoRun, Outline)
    )


def square_bears_evidence_in(stage: Stage, square: Square) -> bool:
    return _recorded(stage=stage, square=square) or _traced_on([square], stage=stage)


def _traced_on(squares: Sequence[Square], **where: object) -> bool:
    """Whether a feature runs across one of them; it names its grid, not its squares."""
    at = {(one.grid_id, one.column, one.row) for one in squares}
    grids = {one.grid_id for one in squares}
    outlines = Outline.objects.standing().filter(grid__in=grids, **where).select_related("grid")
    return any(
        (one.grid_id, column, row) in at for one in outlines for column, row in one.squares_under
    )


def _recorded(**where: object) -> bool:
    """By whatever names a square and its stage; a frame names its stage through its photograph."""
    frames = {name.replace("stage", "frame__photograph__stage"): one for name, one in where.items()}
    return any(
        found.exists()
        for found in (
            DiveTask.objects.standing().filter(dive__voided_at=None, **where),
            DrawnSquare.objects.standing().filter(drawing__voided_at=None, **where),
            Photograph.objects.standing().filter(**where),
            Find.objects.standing().filter(**where),
            FrameOnSquare.objects.standing().filter(**frames),
        )
    )
