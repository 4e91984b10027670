"""A square among its neighbours: their drawings laid together, to see where lines stop."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from records.intake.windows import GridWindow, box_of
from records.models import DrawnSquare, Extent, Season, Square, Stage
from records.queries.drawings import SquareShown, drawn_squares

AROUND = [(column, row) for row in (1, 0, -1) for column in (-1, 0, 1)]
PX_A_SIDE = 500


@dataclass(frozen=True)
class EdgeSquare:
    """One of the nine: laid in the picture, or the reason why not.

    `x`, `y`: its upper left corner in the picture, in thousandths of a side.
    """

    square: Square
    laid: SquareShown | None
    others: list[SquareShown]
    x: int
    y: int

    @property
    def label(self) -> str:
        return self.square.label


@dataclass(frozen=True)
class Edges:
    square: Square
    stage: Stage
    squares: list[EdgeSquare]
    window: GridWindow | None


def edges_of(
    season: Season,
    square: Square,
    stage: Stage,
    *,
    may_lead: bool,
    showing: UUID | None = None,
) -> Edges:
    """The nine squares from the upper left, with the drawing of each that stands best.

    `showing`: the drawn square that is looked at, whatever else stands in its place.
    """
    near = [(square.column + column, square.row + row) for column, row in AROUND]
    nine = {
        (one.column, one.row): one
        for one in Square.objects.standing()
        .filter(
            grid=square.grid,
            column__in={at[0] for at in near},
            row__in={at[1] for at in near},
        )
        .labelled()
    }
    drawn = drawn_squares(season, may_lead=may_lead).filter(stage=stage, square__in=nine.values())
    by_square: dict[Any, list[DrawnSquare]] = {}
    for one in drawn:
        by_square.setdefault(one.square_id, []).append(one)
    squares = [
        _edge(nine[at], by_square.get(nine[at].pk, []), square, showing)
        for at in near
        if at in nine
    ]
    laid = [one.laid.drawn for one in squares if one.laid is not None]
    side_m = square.grid.side_m
    window = (
        GridWindow.of_drawn_together(
            laid, box_of(square, side_m), mm_a_pixel=side_m * 1000 / PX_A_SIDE
        )
        if laid
        else None
    )
    return Edges(square, stage, squares, window)


def _edge(
    square: Square, drawn: list[DrawnSquare], middle: Square, showing: UUID | None
) -> EdgeSquare:
    shown = [SquareShown.of(one) for one in drawn]
    asked = [one for one in shown if one.drawn.pk == showing]
    laid = _best(asked or [one for one in shown if one.waits or one.is_accepted])
    others = [one for one in shown if one is not laid]
    x, y = square.column - middle.column + 1, middle.row + 1 - square.row
    return EdgeSquare(square, laid, others, x * 1000, y * 1000)


def _best(shown: list[SquareShown]) -> SquareShown | None:
    """An accepted whole square before one that waits, that before an accepted part; the latest."""

    def rank(one: SquareShown) -> int:
        if one.is_accepted:
            return 2 if one.drawn.extent == Extent.WHOLE else 0
        return 1

    return max(reversed(shown), key=rank, default=None)
