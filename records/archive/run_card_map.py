"""The map on a run's card: black on white, in millimetres of paper, x to the right, y down.

It is read on a slate under water: what is printed is large, and what would not fit is left out.
"""

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import Any

from django.utils import formats
from django.utils.translation import gettext as _

from records.models import PhotoRun, RunRow, Square
from records.queries.plan import BARS_M

Point = tuple[float, float]

WIDE_MM = 178.0
BELOW_MM, SHEET_MM = 98.0, 225.0  # high: what is left below the settings, and a sheet
MUCH_SMALLER = 0.75  # than on a sheet of its own is too small
RIM_MM = 1.0
MOST_MM_A_METRE = 60.0
CIRCLE_MM = 3.6  # its radius: three figures of 10 pt
APART_MM = 7.8  # middles of two circles
DOT_MM = 0.8
BEFORE_MM = 9.0  # a row's number before its first station, an arrow's point beyond the last
ROUND_MM = 13.0  # beyond its stations a row takes so much
EACH = (1, 2, 5, 10, 20, 50, 100, 200)
LETTER_MM, LINE_MM = 2.1, 4.2  # of the squares' labels, 10 pt
BAR_MM = 45.0


def card_map(
    run: PhotoRun, wanted: Collection[int] | None = None, holes_m: Iterable[Iterable[Point]] = ()
) -> dict[str, Any]:
    """The whole run; with `wanted`, these stations alone, counted from 0 over the run."""
    feet = [foot for row in run.in_order for foot in row.outlines(run.set_up.placement)]
    squares = list(Square.objects.under(run.grid, feet))
    paper = _Paper.for_run(run, feet, squares)
    shown = range(len(feet)) if wanted is None else sorted(wanted)
    lines = _lines(run, shown, paper)
    circles = _circles(lines, again=wanted is not None)
    dots = [at for line in lines for at in line.stations.values()]
    outlined = {shown[0], shown[-1]} if wanted is None else shown
    return {
        "width": paper.width_mm,
        "height": paper.height_mm,
        "squares": [
            _square(run, square, paper, dots + [line.box for line in lines]) for square in squares
        ],
        "feet": [paper.points(feet[place]) for place in sorted(outlined)],
        "holes": [paper.points(hole) for hole in holes_m],
        "lines": [{"from": line.starts, "to": line.points_to} for line in lines],
        "dots": dots,
        "dot": min([DOT_MM, *(0.25 * line.step_mm for line in lines if line.row.stations > 1)]),
        "circles": circles,
        "boxes": [{"at": line.box, "n": str(line.row.order)} for line in lines],
        "bar": _bar(paper),
        "turn": run.grid.arrow_turn_deg,
        "arrow": _("up") if run.grid.is_upright else _("site north"),
        "key": _key(again=wanted is not None),
    }


@dataclass(frozen=True)
class _Paper:
    left_m: float
    top_m: float
    mm_a_metre: float
    width_mm: float
    height_mm: float

    @classmethod
    def for_run(
        cls, run: PhotoRun, feet: Iterable[Iterable[Point]], squares: Iterable[Square]
    ) -> "_Paper":
        """Below the card's settings, or on a sheet of its own where it would be too small."""
        side = run.grid.side_m
        corners = [corner for foot in feet for corner in foot]
        for one in squares:
            corners += [((one.column + more) * side, (one.row + more) * side) for more in (0, 1)]
        below, sheet = (cls._within(run, corners, high) for high in (BELOW_MM, SHEET_MM))
        return below if below.mm_a_metre >= MUCH_SMALLER * sheet.mm_a_metre else sheet

    @classmethod
    def _within(cls, run: PhotoRun, corners: list[Point], high_mm: float) -> "_Paper":
        paper = cls._around(corners, high_mm)
        for _again in range(3):  # what stands round the rows takes room, which makes all smaller
            reach_m = ROUND_MM / paper.mm_a_metre
            beyond = [end for row in run.in_order for end in _round(row, reach_m)]
            paper = cls._around(corners + beyond, high_mm)
        return paper

    @classmethod
    def _around(cls, corners: list[Point], high_mm: float) -> "_Paper":
        xs, ys = zip(*corners, strict=True)
        wide_m, high_m = max(xs) - min(xs), max(ys) - min(ys)
        mm_a_metre = min(
            (WIDE_MM - 2 * RIM_MM) / wide_m, (high_mm - 2 * RIM_MM) / high_m, MOST_MM_A_METRE
        )
        size = wide_m * mm_a_metre + 2 * RIM_MM, high_m * mm_a_metre + 2 * RIM_MM
        return cls(min(xs), max(ys), mm_a_metre, *size)

    def at(self, x_m: float, y_m: float) -> Point:
        x = RIM_MM + (x_m - self.left_m) * self.mm_a_metre
        y = RIM_MM + (self.top_m - y_m) * self.mm_a_metre
        return round(x, 2), round(y, 2)

    def points(self, outline_m: Iterable[Point]) -> list[Point]:
        return [self.at(*corner) for corner in outline_m]


def _round(row: RunRow, reach_m: float) -> list[Point]:
    direction = math.radians(row.direction_deg)
    along = reach_m * math.cos(direction), reach_m * math.sin(direction)
    first, last = row.station_at(1), row.station_at(row.stations)
    return [
        (first[0] - along[0], first[1] - along[1]),
        (last[0] + along[0], last[1] + along[1]),
    ]


@dataclass(frozen=True)
class _Line:
    """A row on paper: its stations by number, and which way it runs."""

    row: RunRow
    starts: Point
    ends: Point
    step_mm: float
    stations: dict[int, Point] = field(default_factory=dict)

    @property
    def box(self) -> Point:
        return self._beyond(self.starts, -BEFORE_MM)

    @property
    def points_to(self) -> Point:
        return self._beyond(self.ends, BEFORE_MM)

    def _beyond(self, at: Point, by_mm: float) -> Point:
        direction = math.radians(self.row.direction_deg)
        return at[0] + by_mm * math.cos(direction), at[1] - by_mm * math.sin(direction)


def _lines(run: PhotoRun, shown: Iterable[int], paper: _Paper) -> list[_Line]:
    """Of the rows that have a station to show."""
    found: dict[Any, _Line] = {}
    for place in shown:
        row, number = run.stations[place]
        if row.pk not in found:
            ends = [paper.at(*row.station_at(one)) for one in (1, row.stations)]
            found[row.pk] = _Line(row, ends[0], ends[1], row.step_m * paper.mm_a_metre)
        found[row.pk].stations[number] = paper.at(*row.station_at(number))
    return list(found.values())


def _circles(lines: list[_Line], *, again: bool) -> list[dict[str, Any]]:
    """Which stations bear their number: the ends of each row first, then every so many, each
    apart from those before. The others are dots, to be counted from there."""
    taken: list[Point] = [line.box for line in lines]
    told = []
    ends = [(line, number) for line in lines for number in (min(line.stations), max(line.stations))]
    between = [(line, number) for line in lines for number in _between(line, again=again)]
    for line, number in dict.fromkeys((line.row.pk, number) for line, number in ends + between):
        at = next(one for one in lines if one.row.pk == line).stations[number]
        if all(math.dist(at, other) >= APART_MM for other in taken):
            taken.append(at)
            told.append({"at": at, "n": str(number)})
    return told


def _between(line: _Line, *, again: bool) -> list[int]:
    if again:
        return list(line.stations)
    each = next((each for each in EACH if each * line.step_mm >= APART_MM), EACH[-1])
    return [number for number in line.stations if number % each == 0]


def _square(run: PhotoRun, square: Square, paper: _Paper, marks: list[Point]) -> dict[str, Any]:
    """Its label stands in the first of its corners that no mark covers."""
    side_mm = run.grid.side_m * paper.mm_a_metre
    x, y = paper.at(square.column * run.grid.side_m, (square.row + 1) * run.grid.side_m)
    label = run.grid.label_of(square.column, square.row)
    wide_mm = len(label) * LETTER_MM
    right, low = x + side_mm - 1 - wide_mm, y + side_mm - 1 - LINE_MM
    corners = [(x + 1, y + 1), (right, y + 1), (x + 1, low), (right, low)]
    near = [at for at in marks if -4 < at[0] - x < side_mm + 4 and -4 < at[1] - y < side_mm + 4]
    free = [
        corner
        for corner in corners
        if wide_mm + 2 <= side_mm and all(_clear(corner, wide_mm, mark) for mark in near)
    ]
    return {"at": (x, y), "side": side_mm, "label": label, "label_at": free[:1]}


def _clear(corner: Point, wide_mm: float, mark: Point) -> bool:
    nearest = (
        min(max(mark[0], corner[0]), corner[0] + wide_mm),
        min(max(mark[1], corner[1]), corner[1] + LINE_MM),
    )
    return math.dist(nearest, mark) > CIRCLE_MM


def _bar(paper: _Paper) -> dict[str, Any]:
    metres = max((one for one in BARS_M if one * paper.mm_a_metre <= BAR_MM), default=BARS_M[0])
    words = _("%(n)s m") % {"n": formats.number_format(metres)}
    return {"length": metres * paper.mm_a_metre, "words": words}


def _key(*, again: bool) -> str:
    if again:
        return _(
            "In a box the row; in a circle the station to shoot again, with what its picture "
            "covers. Hatched is what no good picture shows. The arrow says which way the row runs."
        )
    return _(
        "In a box the row; in a circle a station; a dot is a station too. The arrow says which "
        "way the row runs. Broken lines show what the run's first and last picture cover."
    )
