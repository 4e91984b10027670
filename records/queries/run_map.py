"""The map of a run as a drawing: squares, stations, what each frame covers. 100 units a metre.

Numbers are text here, so that no locale puts a comma into the drawing.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import PhotoRun, Placement, RunRow, Square

UNITS_A_METRE = 100
WIDE_PX = 780  # of the drawing on a tablet held upright
LETTER_PX, STATION_PX = 15, 12
_BEFORE = 4.2  # of a station's radius: from its middle to the row's words, which are so wide
_ROOM = 4.0  # of a station's radius, between two of them

Outline = list[tuple[float, float]]


class Stands(StrEnum):
    """What is on a station: nothing, a frame, a frame of another card; or nothing in between; or
    whatever stands there, it is to be shot again."""

    EMPTY = "empty"
    FRAME = "frame"
    OTHER = "other"
    GAP = "gap"
    AGAIN = "again"


@dataclass(frozen=True)
class Rect:
    x: str
    y: str
    side: str
    label: str
    label_x: str
    label_y: str


@dataclass(frozen=True)
class StationMark:
    place: int
    number: int
    words: str
    x: str
    y: str
    text_y: str
    outline: str
    stands: Stands

    @property
    def has_frame(self) -> bool:
        return self.stands in (Stands.FRAME, Stands.OTHER)


@dataclass(frozen=True)
class RowMark:
    """The row's number, before its first station."""

    words: str
    x: str
    y: str


@dataclass(frozen=True)
class RunMap:
    view_box: str
    rows: list[RowMark]
    squares: list[Rect]
    stations: list[StationMark]
    holes: list[str]
    letter: str
    station_letter: str
    radius: str
    words: str
    is_roomy: bool
    """Whether stations may be drawn larger on a small screen without touching each other."""


def map_of(run: PhotoRun, stands: Mapping[int, Stands], holes_m: Iterable[Outline] = ()) -> RunMap:
    """`stands`: by station, counted from 0 over the run; those left out are empty. `holes_m`:
    outlines on the grid of what is shown to nobody."""
    outlines = _outlines(run, run.set_up.placement)
    sheet = _Sheet(outlines)
    squares = [sheet.square(run, square) for square in Square.objects.under(run.grid, outlines)]
    marks = [
        sheet.station(run, place, outlines[place], stands.get(place) or Stands.EMPTY)
        for place in range(len(run.stations))
    ]
    rows = [sheet.row(row) for row in run.in_order]
    return RunMap(
        view_box=sheet.view_box(rows),
        rows=rows,
        squares=squares,
        stations=marks,
        holes=[sheet.points(outline) for outline in holes_m],
        letter=_told(sheet.units(LETTER_PX)),
        station_letter=_told(sheet.radius(run)),
        radius=_told(sheet.radius(run)),
        words=_words(marks),
        is_roomy=_ROOM * sheet.radius(run) < UNITS_A_METRE * _apart_m(run),
    )


def _apart_m(run: PhotoRun) -> float:
    """The shortest way between two stations of a row, or of rows that follow each other."""
    steps = [row.step_m for row in run.in_order if row.stations > 1]
    ends = [[row.station_at(1), row.station_at(row.stations)] for row in run.in_order]
    beside = [
        math.dist(at, other) for one, after in pairwise(ends) for at in one for other in after
    ]
    return min(steps + beside, default=math.inf)


def _outlines(run: PhotoRun, set_up: Placement) -> list[Outline]:
    return [outline for row in run.in_order for outline in row.outlines(set_up)]


def _words(marks: list[StationMark]) -> str:
    with_frame = sum(mark.has_frame for mark in marks)
    words = ngettext(
        "Map of the run: %(count)d station, %(frames)d with a frame.",
        "Map of the run: %(count)d stations, %(frames)d with a frame.",
        len(marks),
    )
    return words % {"count": len(marks), "frames": with_frame}


class _Sheet:
    """Metres of the grid to units of the drawing: x to the right, y down."""

    def __init__(self, outlines: list[Outline]) -> None:
        xs = [x for outline in outlines for x, _y in outline]
        ys = [y for outline in outlines for _x, y in outline]
        self.left, self.right = min(xs), max(xs)
        self.bottom, self.top = min(ys), max(ys)

    def units(self, px: float) -> float:
        """So many pixels as the drawing shows on a tablet."""
        return px * (self.right - self.left) * UNITS_A_METRE / WIDE_PX

    def radius(self, run: PhotoRun) -> float:
        """Of a station's circle: as large as may be read, and apart from its neighbour's."""
        steps = [row.step_m for row in run.in_order if row.stations > 1]
        return min([self.units(STATION_PX), *(0.45 * UNITS_A_METRE * step for step in steps)])

    def view_box(self, rows: list[RowMark]) -> str:
        """All footprints, and the words before the rows."""
        rim, half = self.units(6), self.units(2 * STATION_PX)
        xs = [float(row.x) + side for row in rows for side in (-half, half)]
        ys = [float(row.y) for row in rows]
        left, low = min(0.0, *xs) - rim, min(0.0, *ys) - rim
        right = max((self.right - self.left) * UNITS_A_METRE, *xs) + rim
        high = max((self.top - self.bottom) * UNITS_A_METRE, *ys) + rim
        return f"{left:.1f} {low:.1f} {right - left:.1f} {high - low:.1f}"

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        return (x_m - self.left) * UNITS_A_METRE, (self.top - y_m) * UNITS_A_METRE

    def square(self, run: PhotoRun, square: Square) -> Rect:
        side = run.grid.side_m
        x, y = self.at(square.column * side, (square.row + 1) * side)
        label = run.grid.label_of(square.column, square.row)
        gap = self.units(4)
        return Rect(
            x=_told(x),
            y=_told(y),
            side=_told(side * UNITS_A_METRE),
            label=label,
            label_x=_told(x + gap),
            label_y=_told(y + gap + self.units(LETTER_PX) * 0.8),
        )

    def station(self, run: PhotoRun, place: int, outline: Outline, stands: Stands) -> StationMark:
        row, number = run.stations[place]
        x, y = self.at(*row.station_at(number))
        return StationMark(
            place=place,
            number=number,
            words=run.station_words(place),
            x=_told(x),
            y=_told(y),
            text_y=_told(y + self.radius(run) * 0.36),
            outline=self.points(outline),
            stands=stands,
        )

    def row(self, row: RunRow) -> RowMark:
        back = _BEFORE * self.radius(row.run)
        direction = math.radians(row.direction_deg)
        x, y = self.at(*row.station_at(1))
        return RowMark(
            words=_("row %(n)s") % {"n": row.order},
            x=_told(x - back * math.cos(direction)),
            y=_told(y + back * math.sin(direction) + self.units(STATION_PX) * 0.36),
        )

    def points(self, outline: Outline) -> str:
        corners = (self.at(*corner) for corner in outline)
        return " ".join(f"{_told(u)},{_told(v)}" for u, v in corners)


def _told(number: float) -> str:
    return f"{number:.1f}"
