"""Which stations cover an area with a footprint: rows, frames, overlaps, minutes and dives.

Spacing and counts are those of `survey.spacing`; here they become rows of stations on a grid.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy.typing as npt

from survey.errors import Unfit, UnfitError, demand_positive, gettext_noop
from survey.points import as_points
from survey.spacing import demand_overlap, spacing_m, stations_along

_DECIMALS = 9  # as in `survey.spacing`
_MOST_STATIONS = 500


class Along(StrEnum):
    """Along which axis of the grid rows run."""

    X = "x"
    Y = "y"


@dataclass(frozen=True)
class Area:
    """A rectangle on the grid, m. Raises ValueError unless it encloses something finite."""

    x_min_m: float
    y_min_m: float
    x_max_m: float
    y_max_m: float

    def __post_init__(self) -> None:
        demand_positive("area's length along x", self.x_max_m - self.x_min_m)
        demand_positive("area's length along y", self.y_max_m - self.y_min_m)


@dataclass(frozen=True)
class BaseFootprint:
    """The rectangle that every picture of a set-up covers, on its tower's base, m.

    `x_m`, `y_m`: its sides; `middle_x_m`, `middle_y_m`: its middle from the base's. Raises
    ValueError for sides that are not positive or a middle that is not finite.
    """

    x_m: float
    y_m: float
    middle_x_m: float = 0.0
    middle_y_m: float = 0.0

    def __post_init__(self) -> None:
        demand_positive("footprint along x", self.x_m)
        demand_positive("footprint along y", self.y_m)
        if not (math.isfinite(self.middle_x_m) and math.isfinite(self.middle_y_m)):
            raise ValueError(f"A middle is finite, not {self.middle_x_m!r}, {self.middle_y_m!r}.")


@dataclass(frozen=True)
class Asked:
    """How a run is to cover its area.

    Overlaps are fractions, 0 ≤ p < 1. `along`: the axis that rows follow. `serpentine`: every
    other row runs back, so that the rails are walked once; otherwise all run one way.
    `turn_deg`: the tower's turn, a multiple of 90. `grain_m`: stations are given in multiples of
    this, 0 for exact ones. Raises ValueError for other values.
    """

    forward_overlap: float = 0.4
    side_overlap: float = 0.4
    along: Along = Along.X
    serpentine: bool = True
    turn_deg: float = 0.0
    grain_m: float = 0.0

    def __post_init__(self) -> None:
        demand_overlap(self.forward_overlap)
        demand_overlap(self.side_overlap)
        if self.turn_deg % 90.0 != 0.0:
            raise ValueError(f"A tower is turned by quarters here, not by {self.turn_deg!r}°.")
        if not 0.0 <= self.grain_m < math.inf:
            raise ValueError(f"A grain is 0 or more, not {self.grain_m!r} m.")


@dataclass(frozen=True)
class PlannedRow:
    """A row of stations: where the base's middle stands on the first, and how it goes on.

    Metres on the grid; degrees counter-clockwise from +x. A single station has a step all the
    same: that of the overlap asked for.
    """

    start_x_m: float
    start_y_m: float
    direction_deg: float
    step_m: float
    stations: int
    turn_deg: float


@dataclass(frozen=True)
class RunPlan:
    """Rows in the order in which they are photographed, and the overlaps that they achieve.

    The achieved overlaps are those asked for or more; None where nothing has a neighbour that
    way. `footprint_along_m`, `footprint_across_m`: of a picture along a row, and across rows.
    """

    rows: tuple[PlannedRow, ...]
    footprint_along_m: float
    footprint_across_m: float
    forward_overlap: float | None
    side_overlap: float | None

    @property
    def frames(self) -> int:
        """How many stations the run has: a frame each."""
        return sum(row.stations for row in self.rows)


@dataclass(frozen=True)
class Work:
    """How long a run takes. `shots`: its frames and the boards; `minutes`: of bottom time."""

    shots: int
    minutes: float
    shots_a_dive: int
    dives: int


def base_footprint(outline: npt.ArrayLike) -> BaseFootprint | Unfit:
    """The upright rectangle within what a picture covers of its tower's base.

    `outline`: (4, 2), m, from the picture's lower left corner counter-clockwise, as
    `survey.placement.covered_outline` gives it. Each side goes through the nearer of the two
    corners beside it: the largest one where the outline is a rectangle, and for one that leans
    or narrows a rectangle that every picture surely covers. Unfit where none is left: the camera
    is turned on its tower. Raises ValueError for another shape.
    """
    corners = as_points(outline, (2,))
    if corners.shape != (4, 2):
        raise ValueError(f"A picture has four corners, not {corners.shape!r}.")
    (x, y) = corners.T
    left, right = max(x[0], x[3]), min(x[1], x[2])
    low, high = max(y[0], y[1]), min(y[2], y[3])
    if left >= right or low >= high:
        sentence = gettext_noop(
            "The camera sits turned on its tower, so that its pictures cover no upright "
            "rectangle. Type the run's rows instead."
        )
        return Unfit("turned-on-its-tower", sentence)
    sides = float(right - left), float(high - low)
    return BaseFootprint(*sides, float(left + right) / 2, float(low + high) / 2)


def plan_rows(area: Area, footprint: BaseFootprint, asked: Asked) -> RunPlan | Unfit:
    """Stations whose footprints cover an area, edges and all, spread evenly over it.

    As many stations a row, and rows, as `stations_along` says; then the step is made as small as
    covers the area just so, which overlaps more than asked for. A side shorter than the footprint
    takes one station in its middle. With a grain, starts and steps are multiples of it and cover
    the area all the same. Unfit beyond 500 stations a row or 500 rows, and where the step is
    finer than the grain.
    """
    quarters = round(asked.turn_deg / 90.0) % 4
    box_x, box_y = footprint.x_m, footprint.y_m
    if quarters % 2:
        box_x, box_y = box_y, box_x
    off_x, off_y = _turned(footprint.middle_x_m, footprint.middle_y_m, quarters)
    over_x = (area.x_min_m - off_x, area.x_max_m - off_x, box_x)
    over_y = (area.y_min_m - off_y, area.y_max_m - off_y, box_y)
    ahead, aside = (over_x, over_y) if asked.along is Along.X else (over_y, over_x)
    try:
        along = _Spread.over(*ahead, asked.forward_overlap, asked.grain_m)
        across = _Spread.over(*aside, asked.side_overlap, asked.grain_m)
    except UnfitError as error:
        return error.unfit
    rows = tuple(_row(asked, along, across, index) for index in range(across.count))
    return RunPlan(rows, ahead[2], aside[2], along.overlap(ahead[2]), across.overlap(aside[2]))


def work_of(
    plan: RunPlan, seconds_a_frame: float, minutes_a_dive: float, board_frames: int = 0
) -> Work | Unfit:
    """Minutes and dives at so many seconds a frame and so many minutes of work a dive.

    shots = frames + `board_frames` (run board, colour card, square tags); shots a dive =
    ⌊60·minutes / seconds⌋; dives = ⌈shots / shots a dive⌉. What is planned is work, no dive:
    bottom time is the diving supervisor's to give. Unfit where a dive is shorter than a frame.
    Raises ValueError for times that are not positive or fewer than 0 boards.
    """
    demand_positive("time a frame", seconds_a_frame)
    demand_positive("time a dive", minutes_a_dive)
    if board_frames < 0:
        raise ValueError(f"There are 0 board frames or more, not {board_frames!r}.")
    shots = plan.frames + board_frames
    shots_a_dive = math.floor(round(60 * minutes_a_dive / seconds_a_frame, _DECIMALS))
    if shots_a_dive < 1:
        sentence = gettext_noop(
            "At %(seconds)s s a frame not one fits into %(minutes)s minutes. Give more time a dive."
        )
        values = {"seconds": seconds_a_frame, "minutes": minutes_a_dive}
        return Unfit("no-frame-a-dive", sentence, values)
    dives = math.ceil(shots / shots_a_dive)
    return Work(shots, shots * seconds_a_frame / 60, shots_a_dive, dives)


@dataclass(frozen=True)
class _Spread:
    """Stations along one axis: `start`, `start + step`, … `count` of them, m."""

    start: float
    step: float
    count: int

    @classmethod
    def over(cls, low: float, high: float, size: float, overlap: float, grain: float) -> "_Spread":
        first, last, widest = low + size / 2, high - size / 2, spacing_m(size, overlap)
        if grain:
            return cls._on_grain(first / grain, last / grain, widest / grain, grain)
        count = _demand_few(stations_along(high - low, size, widest))
        if count == 1:
            return cls((low + high) / 2, widest, 1)
        return cls(first, (last - first) / (count - 1), count)

    @classmethod
    def _on_grain(cls, first: float, last: float, widest: float, grain: float) -> "_Spread":
        """Counted in grains: the first station at `first` or before, the last one at `last` or
        beyond, steps of whole grains up to `widest`; what is beyond is shared by both ends."""
        start, end, most = _floor(first), -_floor(-last), _floor(widest)
        if end <= start:
            return cls(_floor((start + end) / 2) * grain, max(most, 1) * grain, 1)
        if most < 1:
            sentence = gettext_noop(
                "Stations would stand less than %(grain)s m apart. Ask for less overlap."
            )
            raise UnfitError(Unfit("step-too-fine", sentence, {"grain": grain}))
        count = _demand_few(-((start - end) // most) + 1)
        step = -((start - end) // (count - 1))
        start -= (start + (count - 1) * step - end) // 2
        return cls(_tidy(start * grain), _tidy(step * grain), count)

    def overlap(self, size: float) -> float | None:
        return 1 - self.step / size if self.count > 1 else None


def _row(asked: Asked, along: _Spread, across: _Spread, index: int) -> PlannedRow:
    back = asked.serpentine and index % 2 == 1
    ahead = along.start + (along.count - 1) * along.step if back else along.start
    aside = across.start + index * across.step
    start = (ahead, aside) if asked.along is Along.X else (aside, ahead)
    direction_deg = (0.0 if asked.along is Along.X else 90.0) + 180.0 * back
    return PlannedRow(
        start_x_m=_tidy(start[0]),
        start_y_m=_tidy(start[1]),
        direction_deg=direction_deg,
        step_m=along.step,
        stations=along.count,
        turn_deg=asked.turn_deg % 360.0,
    )


def _turned(x_m: float, y_m: float, quarters: int) -> tuple[float, float]:
    return [(x_m, y_m), (-y_m, x_m), (-x_m, -y_m), (y_m, -x_m)][quarters]


def _floor(quotient: float) -> int:
    return math.floor(round(quotient, _DECIMALS))


def _tidy(metres: float) -> float:
    """Without the dust of binary sums: 0.1 × 3 is 0.3."""
    return round(metres, _DECIMALS)


def _demand_few(count: int) -> int:
    if count > _MOST_STATIONS:
        sentence = gettext_noop(
            "The area takes more than %(most)s stations a row, or rows. Plan it in parts."
        )
        raise UnfitError(Unfit("too-many-stations", sentence, {"most": _MOST_STATIONS}))
    return count
