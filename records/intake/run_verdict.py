"""May the rails move? What a run's kept frames leave open: the door to `survey.verdict`."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import Q

from records.intake.measures import MEASURED
from records.intake.opinions import Opinion, run_opinions
from records.models import Frame, Job, JobState, Method, PhotoRun, PictureToMake, Square, SquareGoal
from survey import placement as placing
from survey import verdict as judging
from survey.coverage import Hole as HoleFound
from survey.grid import Square as GridSquare
from survey.points import FloatArray, as_points

__all__ = ["HoleFound", "LookedAt", "Opinion", "RunVerdict", "still_looked_at", "verdict_of"]


@dataclass(frozen=True)
class RunVerdict:
    """On the stations up to the last that has a frame; `ahead`: those after it, from 0.

    `wanted`: squares whose photographs are wanted; where there are none, all under the run.
    """

    run: PhotoRun
    wanted: list[Square]
    are_wanted: bool
    frames: list[Frame]
    found: judging.Verdict
    ahead: range

    @property
    def is_good(self) -> bool:
        return self.found.is_good

    @cached_property
    def holes(self) -> list[tuple[Square, tuple[HoleFound, ...]]]:
        """In the order of the squares; of each square the largest first."""
        at = {GridSquare(one.column, one.row): one for one in self.wanted}
        return [(at[key], self.found.holes[key]) for key in sorted(self.found.holes)]


def verdict_of(run: PhotoRun, opinion: Opinion | None = None) -> RunVerdict | None:
    """None before any frame is kept. A constant number of queries, however many frames."""
    opinion = opinion or run_opinions(run).opinion
    stations = [outline for row in run.rows.all() for outline in row.outlines(run.set_up.placement)]
    under = list(Square.objects.labelled().under(run.grid, stations))
    frames = _kept_on(run, under)
    if not any(_is_of(run, frame) for frame in frames):
        return None
    wanted = _wanted(run, under)
    taken = [_taken(run, frame, opinion) for frame in frames]
    reached = 1 + max((one.station for one in taken if one.station is not None), default=-1)
    found = judging.judge_run(
        run.grid.frame,
        [(square.column, square.row) for square in wanted or under],
        [_array(outline) for outline in stations[:reached]],
        taken,
        run.season.coverage_needed_fraction,
    )
    ahead = range(reached, len(stations))
    return RunVerdict(run, wanted or under, bool(wanted), frames, found, ahead)


@dataclass(frozen=True)
class LookedAt:
    """What the worker still does with a run's kept frames; the verdict waits for it."""

    pictures: int
    is_comparing: bool

    def __bool__(self) -> bool:
        return self.pictures > 0 or self.is_comparing


def still_looked_at(run: PhotoRun) -> LookedAt:
    """Pictures that could not be looked at are not waited for."""
    frames = Frame.objects.filter(card__run=run, is_kept=True, photograph__voided_at=None)
    files = frames.values("photograph__picture__file")
    waiting = PictureToMake.objects.filter(file__in=files, recipes=MEASURED, words="")
    jobs = Job.objects.filter(state__in=(JobState.WAITING, JobState.RUNNING))
    comparing = jobs.filter(kind="seen", argument={"run": str(run.pk)})
    return LookedAt(waiting.count(), comparing.exists())


def _wanted(run: PhotoRun, under: list[Square]) -> list[Square]:
    goals = SquareGoal.objects.filter(stage=run.stage, square__in=under, photographs_wanted=True)
    excepted = Q(exceptions__method=Method.PHOTOGRAPHS, exceptions__voided_at=None)
    wanted = set(goals.exclude(excepted).values_list("square_id", flat=True))
    return [square for square in under if square.pk in wanted]


def _kept_on(run: PhotoRun, squares: list[Square]) -> list[Frame]:
    """Of the run itself, and of the same surface from elsewhere."""
    here = Q(card__run=run) | Q(on_squares__square__in=squares, photograph__stage=run.stage)
    return list(
        Frame.objects.filter(here, is_kept=True, photograph__voided_at=None)
        .select_related("placement", "photograph__season", "card")
        .order_by("photograph__n")
        .distinct()
    )


def _is_of(run: PhotoRun, frame: Frame) -> bool:
    """Not of another run, and no photograph placed by known points."""
    return frame.card is not None and frame.card.run_id == run.pk


def _taken(run: PhotoRun, frame: Frame, opinion: Opinion) -> judging.Taken:
    kept: Any = frame.placement
    outline = placing.covered_outline(kept.as_value, kept.width_px, kept.height_px)
    off = opinion.moved.get(frame.pk, (0.0, 0.0))
    place = run.places.get((frame.row_id, frame.station)) if _is_of(run, frame) else None
    return judging.Taken(place, outline + _array(off), frame.pk not in opinion.unfit)


def _array(points: Any) -> FloatArray:
    return as_points(points, (2,))
