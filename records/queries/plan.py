"""The plan of a grid as a drawing: 20 units a square, x to the right, y down, rows upward.

Lettering is sized for a tablet held upright, on which the whole grid shows without scrolling.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from records.models import Grid
from records.queries.finds import FindMark
from records.queries.squares import SquareState
from records.templatetags.textures import SQUARE_SIDE, Cell

TABLET_WIDTH_PX, TABLET_HEIGHT_PX = 780, 760
LETTER_PX, SMALL_LETTER_PX = 20, 12  # small where the squares are
LABELS_FROM_PX_A_UNIT = 2.2  # smaller squares take no label of their own
LETTER_WIDTH = 0.62  # of its height
BARS_M = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500)


@dataclass(frozen=True)
class Lettered:
    text: str
    x: float
    y: float


@dataclass(frozen=True)
class Arrow:
    """Its middle, its turn clockwise from up, and its length: north, or upward on a wall."""

    x: float
    y: float
    turn_deg: float
    length: float


@dataclass(frozen=True)
class ScaleBar:
    x: float
    y: float
    length: float
    metres: float


@dataclass(frozen=True)
class Cross:
    """Where a find lies on the sheet, and its number."""

    x: float
    y: float
    n: int


@dataclass(frozen=True)
class Plan:
    grid: Grid
    left: int
    top: int
    view_box: str
    cells: list[Cell]
    columns: list[Lettered]
    rows: list[Lettered]
    letter: float
    arrow: Arrow
    bar: ScaleBar

    def crosses(self, finds: Iterable[FindMark]) -> list[Cross]:
        """Small plain crosses for the finds that have a position."""
        found = [
            (find.n, self.at(find.x_m, find.y_m))
            for find in finds
            if find.x_m is not None and find.y_m is not None
        ]
        return [Cross(x=round(x, 2), y=round(y, 2), n=n) for n, (x, y) in found]

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Where a point of the grid lies on the sheet."""
        a_metre = SQUARE_SIDE / self.grid.side_m
        left, top = self.left * SQUARE_SIDE, (self.top + 1) * SQUARE_SIDE
        return x_m * a_metre - left, top - y_m * a_metre


def draw_plan(
    grid: Grid, states: list[SquareState], picks: Callable[[SquareState], bool] | None = None
) -> Plan | None:
    """The squares that `picks` leaves out stand back. None where the grid has no squares."""
    if not states:
        return None
    sheet = _Sheet.around(grid, states)
    cells = [sheet.cell(one, stands_back=picks is not None and not picks(one)) for one in states]
    return Plan(
        grid=grid,
        left=sheet.left,
        top=sheet.top,
        view_box=sheet.view_box,
        cells=cells,
        columns=sheet.column_labels(),
        rows=sheet.row_labels(),
        letter=sheet.letter,
        arrow=sheet.arrow(),
        bar=sheet.bar(),
    )


@dataclass(frozen=True)
class _Sheet:
    """Where things stand: the squares' extent, the lettering, and the room it takes."""

    grid: Grid
    left: int
    right: int
    bottom: int
    top: int
    column_texts: dict[int, str]
    row_texts: dict[int, str]
    letter: float = 6.0

    @classmethod
    def around(cls, grid: Grid, states: list[SquareState]) -> "_Sheet":
        columns, rows = [one.column for one in states], [one.row for one in states]
        texts = {(one.column, one.row): grid.edge_labels_of(one.column, one.row) for one in states}
        sheet = cls(
            grid=grid,
            left=min(columns),
            right=max(columns),
            bottom=min(rows),
            top=max(rows),
            column_texts={column: text for (column, _row), (text, _other) in texts.items()},
            row_texts={row: text for (_column, row), (_other, text) in texts.items()},
        )
        for _again in range(3):  # larger lettering takes room, which makes all of it smaller
            letter_px = SMALL_LETTER_PX if sheet.lettered_all_round else LETTER_PX
            sheet = replace(sheet, letter=letter_px / sheet.px_a_unit)
        return sheet

    @property
    def width(self) -> int:
        return (self.right - self.left + 1) * SQUARE_SIDE

    @property
    def height(self) -> int:
        return (self.top - self.bottom + 1) * SQUARE_SIDE

    @property
    def beside(self) -> float:
        return self._wide(self.row_texts.values()) + self.letter

    @property
    def above(self) -> float:
        return self.letter * 1.6

    @property
    def strip(self) -> float:
        """Below the squares: scale and north."""
        return self.letter * 3.6 + (self.above if self.lettered_all_round else 0)

    @property
    def px_a_unit(self) -> float:
        across = self.width + self.beside + self.letter
        down = self.height + self.above + self.strip
        return min(TABLET_WIDTH_PX / across, TABLET_HEIGHT_PX / down)

    @property
    def lettered_all_round(self) -> bool:
        return self.px_a_unit_alone < LABELS_FROM_PX_A_UNIT

    @property
    def px_a_unit_alone(self) -> float:
        return min(TABLET_WIDTH_PX / self.width, TABLET_HEIGHT_PX / self.height)

    @property
    def view_box(self) -> str:
        right = self.beside if self.lettered_all_round else self.letter
        across, down = self.width + self.beside + right, self.height + self.above + self.strip
        return f"{-self.beside:.1f} {-self.above:.1f} {across:.1f} {down:.1f}"

    def cell(self, state: SquareState, *, stands_back: bool) -> Cell:
        name = self.grid.label_of(state.column, state.row)
        return Cell(
            column=state.column,
            row=state.row,
            x=(state.column - self.left) * SQUARE_SIDE,
            y=(self.top - state.row) * SQUARE_SIDE,
            words=state.words_alone,
            evidence=state.texture,
            name=name,
            label="" if self.lettered_all_round else name,
            stands_back=stands_back,
        )

    def column_labels(self) -> list[Lettered]:
        step = math.ceil((self._wide(self.column_texts.values()) + 2) / SQUARE_SIDE)
        shown = sorted(self.column_texts)[::step]
        at = {column: (column - self.left + 0.5) * SQUARE_SIDE for column in shown}
        edges = [-self.letter * 0.5]
        if self.lettered_all_round:
            edges.append(self.height + self.letter * 1.2)
        return [Lettered(self.column_texts[one], at[one], y) for y in edges for one in shown]

    def row_labels(self) -> list[Lettered]:
        step = math.ceil(self.letter * 1.2 / SQUARE_SIDE)
        shown = sorted(self.row_texts)[::step]
        middle = SQUARE_SIDE / 2 + self.letter * 0.36
        at = {row: (self.top - row) * SQUARE_SIDE + middle for row in shown}
        wide = self._wide(self.row_texts.values()) / 2
        edges = [-wide - self.letter * 0.4]
        if self.lettered_all_round:
            edges.append(self.width + wide + self.letter * 0.4)
        return [Lettered(self.row_texts[one], x, at[one]) for x in edges for one in shown]

    def bar(self) -> ScaleBar:
        """The longest round length that takes at most two fifths of the width."""
        unit = SQUARE_SIDE / self.grid.side_m
        fitting = [metres for metres in BARS_M if metres * unit <= self.width * 0.4]
        metres = fitting[-1] if fitting else self.grid.side_m
        return ScaleBar(0, self._strip_middle, metres * unit, metres)

    def arrow(self) -> Arrow:
        length = self.letter * 2.4
        turn = self.grid.arrow_turn_deg
        return Arrow(self.width - length / 2, self._strip_middle, turn, length)

    @property
    def _strip_middle(self) -> float:
        return self.height + self.strip - self.letter * 1.8

    def _wide(self, texts: Iterable[str]) -> float:
        return max(len(text) for text in texts) * self.letter * LETTER_WIDTH
