"""Scans of printed sheets, and of film on a coded board: filed under what their codes say."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import uuid4, uuid5

import numpy as np
from django.utils.translation import gettext as _

from records.acting import acting_account
from records.models import (
    Drawing,
    DrawingKind,
    DrawnSquare,
    Grid,
    Picture,
    PrintedSheet,
    Scan,
    ScanState,
    Season,
    Square,
    Stage,
)
from records.permissions import May, demand
from records.queries.square_words import told_squares
from records.refusals import Refused
from records.verbs.drawings import DrawingEntry, bring_in_drawing
from records.verbs.drawn_squares import demand_open_surface
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    UNTIL_FIELDWORK_CLOSED,
    current,
    demand_open,
    restore,
    save_in_words,
    verb,
)
from records.verbs.pictures import turn_picture
from records.verbs.placing import MarkEntry, placed_by_marks
from survey.print_layout import PrintLayout


@dataclass(frozen=True)
class SeenOnPaper:
    """A print in a picture: the 16 corners of its codes, u, v, px, once the picture has this
    orientation, and what its lines tell of the paper."""

    corners_px: Sequence[tuple[float, float]]
    orientation: int
    flatness: Mapping[str, Any] | None = None
    """As `Scan.flatness`."""


def demand_takes_scans(season: Season) -> None:
    """Ask before anything is written to disk; the verb asks again, under its lock."""
    demand(acting_account(), season.site, May.RECORD)
    demand_open(season, UNTIL_FIELDWORK_CLOSED)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def take_in_scan(season: Season, picture: Picture) -> Scan:
    """A picture to be read; the same one again is read again, unless it is a drawing already."""
    known: Scan | None = (
        Scan.objects.select_for_update().filter(season=season, picture=picture).first()
    )
    demand_no_drawing(picture)
    if known is None:
        return save_in_words(Scan(season=season, picture=picture))
    return _wanted_again(known)


@verb(May.RECORD, UNTIL_DEPOSITED)
def leave_to_person(scan: Scan, words: str, sheet: PrintedSheet | None = None) -> Scan:
    """It could not be filed; its words say why. `sheet`: which its codes name, where they do.

    A scan that still waited when fieldwork closed is told so too, instead of waiting for ever.
    """
    row = current(Scan, scan.pk, None)
    if row.state != ScanState.WAITING:
        return row
    row.sheet = sheet
    return _set(row, ScanState.BY_HAND, words)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def lay_on_board(scan: Scan, board: PrintedSheet, seen: SeenOnPaper) -> Scan:
    """Film on a coded board: it lies fast; which square it shows is asked."""
    row = current(Scan, scan.pk, None)
    if row.state != ScanState.WAITING:
        return row
    _demand_of_this(row, board)
    row.sheet = board
    row.corners_px = [list(one) for one in _turned(row, seen)]
    row.flatness = seen.flatness
    return _set(row, ScanState.ON_BOARD, "")


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def file_by_sheet(scan: Scan, sheet: PrintedSheet, seen: SeenOnPaper) -> Drawing | None:
    """A drawing under the sheet's number, on the sheet's squares; each then waits for its check.

    None where another worker was quicker.
    """
    row = current(Scan, scan.pk, None)
    if row.state != ScanState.WAITING:
        return None
    row.sheet = sheet
    _demand_of_this(row, sheet)
    _demand_not_filed(sheet)
    grid, stage = sheet.grid, sheet.stage
    assert grid is not None  # a constraint of the row
    assert stage is not None
    squares = [one.square for one in sheet.squares.select_related("square__grid")]
    corners = _turned(row, seen)
    entry = DrawingEntry(
        kind=sheet.drawing_kind,
        scale=sheet.scale,
        frame_lies="",
        squares_on_sheet=told_squares(squares),
    )
    drawing = bring_in_drawing(
        row.season, row.picture, entry, uuid5(row.pk, "drawing"), number=sheet.n
    )
    _lay(drawing, squares, stage, _marks(sheet.layout, corners, grid, sheet.column, sheet.row))
    row.flatness = seen.flatness
    _set(row, ScanState.FILED, "")
    return drawing


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def file_film(
    scan: Scan,
    squares: Sequence[Square],
    stage: Stage,
    number: int | None = None,
    seen_version: int | None = None,
    said: DrawingEntry | None = None,
    extent: str = "",
) -> Drawing:
    """Say which squares film on a board shows: the lowest left one lies at the board's lower left.

    `number` is the one written on the film, from a block; else the next one.
    `said`: of its frame, dive and diver; `extent` of each square, empty where nobody has said.
    """
    row = current(Scan, scan.pk, seen_version)
    board = row.sheet
    if row.state != ScanState.ON_BOARD or board is None or not row.corners_px:
        raise Refused(_("This scan does not wait for its square any more."))
    grid = squares[0].grid
    column = min(one.column for one in squares)
    lowest = min(one.row for one in squares)
    _demand_on_board(board, squares, column, lowest)
    kind = DrawingKind.ELEVATION if grid.is_upright else DrawingKind.PLAN
    entry = replace(
        said or DrawingEntry(frame_lies=""),
        kind=kind,
        scale=board.scale,
        squares_on_sheet=told_squares(squares),
    )
    drawing = bring_in_drawing(
        row.season, row.picture, entry, uuid5(row.pk, f"film {row.version}"), number=number
    )
    corners = [(u, v) for u, v in row.corners_px]
    _lay(drawing, squares, stage, _marks(board.layout, corners, grid, column, lowest), extent)
    _set(row, ScanState.FILED, "")
    return drawing


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def read_again(scan: Scan) -> Scan:
    """Have it looked at once more: a stage was opened meanwhile, or a sheet was found."""
    row = current(Scan, scan.pk, None)
    demand_no_drawing(row.picture)
    return _wanted_again(row)


def _wanted_again(row: Scan) -> Scan:
    if row.is_voided:
        restore(row)
    return _set(row, ScanState.WAITING, "")


def _set(row: Scan, state: ScanState, words: str) -> Scan:
    row.state, row.words = state, words
    return save_in_words(row)


def demand_no_drawing(picture: Picture) -> None:
    there = Drawing.objects.standing().filter(picture=picture).select_related("season").first()
    if there is not None:
        raise Refused(
            _("This sheet is in the record already: it is %(drawing)s.") % {"drawing": there}
        )


def _demand_of_this(scan: Scan, sheet: PrintedSheet) -> None:
    """Of this season (a board: of this site), and not void."""
    if sheet.is_voided:
        raise Refused(
            _("%(sheet)s was made void: %(reason)s") % {"sheet": sheet, "reason": sheet.void_reason}
        )
    if sheet.season.site_id != scan.season.site_id:
        raise ValueError(f"sheet {sheet.pk!r} is of another site than scan {scan.pk!r}")
    if not sheet.is_board and sheet.season_id != scan.season_id:
        raise Refused(
            _("This is %(sheet)s, a sheet of the season %(season)s. Bring it in there.")
            % {"sheet": sheet, "season": sheet.season.code}
        )


def _demand_not_filed(sheet: PrintedSheet) -> None:
    filed = Drawing.objects.filter(season=sheet.season, n=sheet.n or 0).first()
    if filed is None:
        return
    if filed.is_voided:
        raise Refused(
            _(
                "%(sheet)s was scanned before and its drawing was made void. Bring this scan in "
                "by hand; it gets a new number."
            )
            % {"sheet": sheet}
        )
    raise Refused(
        _(
            "%(sheet)s was scanned before and is in the record. If this scan is the better one, "
            "a lead makes the other drawing void and this one is brought in by hand."
        )
        % {"sheet": sheet}
    )


def _demand_on_board(board: PrintedSheet, squares: Sequence[Square], column: int, row: int) -> None:
    if len({one.grid_id for one in squares}) != 1:
        raise Refused(_("Film on one board shows squares of one grid."), field="squares")
    if abs(squares[0].grid.side_m - board.side_m) > 1e-9:
        raise Refused(
            _("This board is for squares of %(board)s m; those of this grid have %(grid)s m.")
            % {"board": board.side_m, "grid": squares[0].grid.side_m},
            field="squares",
        )
    across = max(one.column for one in squares) - column + 1
    up = max(one.row for one in squares) - row + 1
    if across > board.columns or up > board.rows:
        raise Refused(
            _("This board holds %(across)d × %(up)d squares; name those that the film shows.")
            % {"across": board.columns, "up": board.rows},
            field="squares",
        )


def _turned(scan: Scan, seen: SeenOnPaper) -> list[tuple[float, float]]:
    """The picture with the print's upper edge up, and where the corners lie in it."""
    if scan.picture.orientation != seen.orientation:
        scan.picture = turn_picture(scan.season, scan.picture, seen.orientation)
    return list(seen.corners_px)


def _marks(
    layout: PrintLayout,
    corners_px: Sequence[tuple[float, float]],
    grid: Grid,
    column: int,
    row: int,
) -> list[MarkEntry]:
    """The codes' corners with their places on the grid, were the paper laid on it."""
    places = layout.to_squares(layout.code_corners_mm().reshape(-1, 2))
    places = places + np.array([column, row]) * grid.side_m
    return [
        MarkEntry(u, v, x, y, _said(at))
        for at, ((u, v), (x, y)) in enumerate(zip(corners_px, places.tolist(), strict=True))
    ]


def _said(at: int) -> str:
    """How a mark is called: the codes count from the upper left, clockwise, and so do corners."""
    return _("code %(n)d, corner %(corner)d") % {"n": at // 4 + 1, "corner": at % 4 + 1}


def _lay(
    drawing: Drawing,
    squares: Sequence[Square],
    stage: Stage,
    marks: Sequence[MarkEntry],
    extent: str = "",
) -> None:
    """`extent` empty: codes say where a square lies, not how much of it is drawn."""
    for square in squares:
        demand_open_surface(drawing, square, stage)
        placement = placed_by_marks(drawing.picture, square.grid, marks)
        save_in_words(
            DrawnSquare(
                id=uuid4(),
                drawing=drawing,
                square=square,
                stage=stage,
                extent=extent,
                placement=placement,
            )
        )
