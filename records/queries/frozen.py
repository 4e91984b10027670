"""Whether work is recorded on a grid, its squares or a stage, so that these must stay."""

from collections.abc import Sequence

from records.models import (
    DiveTask,
    DrawnSquare,
    Find,
    Fix,
    FrameOnSquare,
    Grid,
    Photograph,
    PhotoRun,
    Placement,
    Square,
    Stage,
)


def grid_bears_evidence(grid: Grid) -> bool:
    laid = (PhotoRun, Placement, Fix)
    return _recorded(square__grid=grid) or any(
        model.objects.standing().filter(grid=grid).exists() for model in laid
    )


def squares_bear_evidence(squares: Sequence[Square]) -> bool:
    return _recorded(square__in=squares)


def stage_bears_evidence(stage: Stage) -> bool:
    return _recorded(stage=stage) or PhotoRun.objects.standing().filter(stage=stage).exists()


def square_bears_evidence_in(stage: Stage, square: Square) -> bool:
    return _recorded(stage=stage, square=square)


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
