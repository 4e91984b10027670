"""Which stations cover an area with a footprint: rows, frames, overlaps, minutes and dives.

Spacing and counts are those of `survey.spacing`; here they become rows of stations on a grid.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, UnfitError, demand_positive, gettext_noop
from survey.points import as_points
from survey.spacing import Spread, demand_overlap, tidy
from survey.turned import Band, Lying

_DECIMALS = 9  # as in `survey.spacing`


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
    `turn_deg`: the tower's turn, counter-clockwise. `grain_m`: stations are given in multiples of
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
        if not math.isfinite(self.turn_deg):
            raise ValueError(f"A turn is a number of degrees, not {self.turn_deg!r}.")
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
    way. `footprint_along_m`, `footprint_across_m`: of a picture along a row, and across rows;
    of a turned one the upright rectangle within it that counts. `lying`: how it lies.
    """

    rows: tuple[PlannedRow, ...]
    footprint_along_m: float
    footprint_across_m: float
    forward_overlap: float | None
    side_overlap: float | None
    lying: Lying

    @property
    def frames(self) -> int:
        """How many stations the run has: a frame each."""
        return sum(row.stations for row in self.rows)

    @property
    def seen_once_fraction(self) -> float:
        """The share of a frame within a row that neither neighbour along it sees."""
        return self.lying.seen_once_fraction(self.rows[0].step_m)

    @property
    def gap_of_a_lost_frame_m(self) -> float:
        """How wide a gap a lost frame leaves on its row's middle line, m."""
        return self.lying.gap_of_a_lost_one_m(self.rows[0].step_m)


@dataclass(frozen=True)
class Work:
    """How long a run takes. `shots`: its frames and the boards; `minutes`: of bottom time."""

    shots: int
    minutes: float
    shots_a_dive: int
    dives: int


def base_footprint(outline: npt.ArrayLike) -> BaseFootprint | Unfit:
    """The upright rectangle within what a picture covers of its tower's base.

    `outline`: (4k, 2), m, from the picture's lower left corner counter-clockwise, k points a side,
    as `survey.placement.covered_outline` gives it. Each side goes through the innermost point of
    that side: the largest one where the outline is a rectangle, and for one that leans, narrows
    or bends a rectangle that every picture surely covers. Unfit where none is left: the camera
    is turned on its tower. Raises ValueError for another shape.
    """
    points = as_points(outline, (2,))
    count, rest = divmod(len(points), 4)
    if points.ndim != 2 or count < 1 or rest:
        raise ValueError(f"A picture has four sides of points, not {points.shape!r}.")
    lower, right_side, upper, left_side = (
        np.take(points, range(side * count, (side + 1) * count + 1), axis=0, mode="wrap")
        for side in range(4)
    )
    left, right = left_side[:, 0].max(), right_side[:, 0].min()
    low, high = lower[:, 1].max(), upper[:, 1].min()
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
    takes one station in its middle. Turned by other than quarters, each row covers a band without
    a gap (`survey.turned`), of that width which takes the fewest frames. With a grain, starts and
    steps are multiples of it and cover the area all the same. Unfit beyond 500 stations a row or
    500 rows, and where the step is finer than the grain.
    """
    lying = Lying.turned(footprint.x_m, footprint.y_m, asked.turn_deg)
    off_x, off_y = _turned(footprint.middle_x_m, footprint.middle_y_m, asked.turn_deg)
    ahead = (area.x_min_m - off_x, area.x_max_m - off_x)
    aside = (area.y_min_m - off_y, area.y_max_m - off_y)
    if asked.along is Along.Y:
        lying, ahead, aside = lying.aside, aside, ahead
    try:
        band, along, across = _fewest(lying, ahead, aside, asked)
    except UnfitError as error:
        return error.unfit
    return RunPlan(
        tuple(_row(asked, along, across, index) for index in range(across.count)),
        band.along_m,
        band.across_m,
        lying.overlap_at(along.step) if along.count > 1 else None,
        lying.aside.overlap_at(across.step) if across.count > 1 else None,
        lying,
    )


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


def _fewest(
    lying: Lying, ahead: tuple[float, float], aside: tuple[float, float], asked: Asked
) -> tuple[Band, Spread, Spread]:
    """The band that takes the fewest frames, and of those the fewest rows."""
    found, refused = [], []
    for band in lying.bands(asked.forward_overlap, asked.side_overlap):
        try:
            along = Spread.over(*ahead, band.along_m, band.step_m, asked.grain_m)
            across = Spread.over(*aside, band.across_m, band.apart_m, asked.grain_m)
        except UnfitError as error:
            refused.append(error)
        else:
            found.append((band, along, across))
    if not found:
        raise refused[0]
    return min(found, key=lambda one: (one[1].count * one[2].count, one[2].count))


def _row(asked: Asked, along: Spread, across: Spread, index: int) -> PlannedRow:
    back = asked.serpentine and index % 2 == 1
    ahead = along.start + (along.count - 1) * along.step if back else along.start
    aside = across.start + index * across.step
    start = (ahead, aside) if asked.along is Along.X else (aside, ahead)
    direction_deg = (0.0 if asked.along is Along.X else 90.0) + 180.0 * back
    return PlannedRow(
        start_x_m=tidy(start[0]),
        start_y_m=tidy(start[1]),
        direction_deg=direction_deg,
        step_m=along.step,
        stations=along.count,
        turn_deg=asked.turn_deg % 360.0,
    )


def _turned(x_m: float, y_m: float, turn_deg: float) -> tuple[float, float]:
    quarters, rest_deg = divmod(turn_deg, 90.0)
    x, y = [(x_m, y_m), (-y_m, x_m), (-x_m, -y_m), (y_m, -x_m)][int(quarters) % 4]
    cos, sin = math.cos(math.radians(rest_deg)), math.sin(math.radians(rest_deg))
    return x * cos - y * sin, x * sin + y * cos
