"""What is to be said of a run's frames: unfit by their pixels, or beside their stations.

The door to `survey.quality` and `survey.slips`. It reads numbers, no pixels, so a page may ask it.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any
from uuid import UUID

from records.intake.measures import measures_of
from records.intake.seen import pairs_of, placed_frames
from records.models import Frame, PhotoRun, RunRow
from survey import placement as placing
from survey.errors import Unfit
from survey.quality import Flag, FrameMeasure, Judgement, PlacedFrame, Remark, judge
from survey.slips import OnStation, RunSeen, Slip, SlipKind, slips

__all__ = [
    "Flag",
    "Judgement",
    "Opinion",
    "Remark",
    "RunOpinions",
    "Slip",
    "SlipKind",
    "Unfit",
    "run_opinions",
]


@dataclass(frozen=True)
class Opinion:
    """What was seen of frames beyond their stations: `unfit` shows its ground to nobody; `moved`
    lies so far, x and y in m, from where its station says."""

    unfit: frozenset[UUID] = frozenset()
    moved: Mapping[UUID, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class RunOpinions:
    """Of kept frames by their keys; `unmeasured` have not been looked at yet."""

    frames: Mapping[UUID, Frame]
    judged: Mapping[UUID, Judgement]
    seen: RunSeen

    @property
    def unmeasured(self) -> int:
        return len(self.frames) - len(self.judged)

    @property
    def slips(self) -> tuple[Slip, ...]:
        return self.seen.slips

    @property
    def untold(self) -> tuple[Unfit, ...]:
        """Steps along a row that no pair bridges."""
        return self.seen.untold

    @cached_property
    def flagged(self) -> list[Frame]:
        """In the order of the stations."""
        return [frame for pk, frame in self.frames.items() if self.flags(pk)]

    def flags(self, frame: UUID) -> frozenset[Flag]:
        return self.judged[frame].flags if frame in self.judged else frozenset()

    @cached_property
    def moved(self) -> dict[UUID, tuple[float, float]]:
        """So far, x and y in m, slipped frames lie from where their stations say."""
        moved: dict[UUID, tuple[float, float]] = {}
        for slip in self.slips:
            if slip.kind is SlipKind.EVERY_STEP:
                continue
            for key in map(UUID, slip.keys):
                x_m, y_m = moved.get(key, (0.0, 0.0))
                moved[key] = (x_m + slip.x_m, y_m + slip.y_m)
        return moved

    @property
    def opinion(self) -> Opinion:
        """In short, for the verdict on the run."""
        unfit = (frame.pk for frame in self.flagged if not frame.trusted_reason)
        return Opinion(frozenset(unfit), self.moved)


def run_opinions(run: PhotoRun) -> RunOpinions:
    """Of all kept frames of a run; three queries, however many frames."""
    frames = {frame.pk: frame for frame in placed_frames(run)}
    measures = measures_of(frame.photograph.picture for frame in frames.values())
    return RunOpinions(frames, _judged(frames.values(), measures), _slips(run, frames))


def _judged(
    frames: Iterable[Frame], measures: Mapping[UUID, FrameMeasure]
) -> Mapping[UUID, Judgement]:
    """Remembered for the latest runs: each page of one of their frames asks. Measures and
    placements never change, so their keys say whether anything else is to be judged."""
    measured = [one for one in frames if one.photograph.picture_id in measures]
    seen = tuple((one.pk, one.placement_id, one.row and one.row.direction_deg) for one in measured)
    found = _remembered.get(seen)
    if found is None:
        found = {UUID(one.key): one for one in judge(list(accepted(measured, measures)))}
        if len(_remembered) >= RUNS_REMEMBERED:
            _remembered.pop(next(iter(_remembered), seen), None)
        _remembered[seen] = found
    return found


RUNS_REMEMBERED = 16
_remembered: dict[tuple[Any, ...], Mapping[UUID, Judgement]] = {}


def _slips(run: PhotoRun, frames: Mapping[UUID, Frame]) -> RunSeen:
    """Pairs name placements: those of frames that stood elsewhere meanwhile fall out."""
    by_placement = {str(frame.placement_id): str(pk) for pk, frame in frames.items()}
    seen = [
        replace(pair.seen(), one=by_placement[pair.one], other=by_placement[pair.other])
        for pair in pairs_of(run)
        if pair.one in by_placement and pair.other in by_placement
    ]
    stations = [
        OnStation(str(pk), frame.row.order, frame.station)
        for pk, frame in frames.items()
        if frame.row is not None and frame.station is not None
    ]
    return slips(stations, seen) if seen else RunSeen((), {}, ())


def accepted(
    frames: Iterable[Frame], measures: Mapping[UUID, FrameMeasure]
) -> Iterator[PlacedFrame]:
    for frame in frames:
        placement, measured = frame.placement, measures.get(frame.photograph.picture_id)
        if placement is not None and measured is not None:
            placed = placement.as_value
            size = placement.width_px, placement.height_px
            yield placed_at(str(frame.pk), measured, placed, size, frame.row)


def placed_at(
    key: str,
    measured: FrameMeasure,
    placement: placing.Placement,
    size: tuple[int, int],
    row: RunRow | None,
) -> PlacedFrame:
    """The placement is of the whole picture, the measure of one for the screen."""
    k_u, k_v = size[0] / measured.width_px, size[1] / measured.height_px
    reduced = placing.placement_of_derivative(placement, k_u, k_v)
    return PlacedFrame(key, measured, reduced, None if row is None else row.direction_deg)
