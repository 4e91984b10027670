"""Rows of drawings and their squares for tests; see factory.py."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from records.models import Drawing, DrawnSquare, NumberKind, PrintedSheet, Season, Square, Stage
from records.verbs.drawn_squares import SquareMarks, _entries
from records.verbs.numbers import take_numbers
from records.verbs.placing import placed_by_marks
from records.verbs.sheets import PrintEntry, SheetEntry, print_sheets
from tests.factory_pictures import make_picture, make_stored_file

# A square 800 px wide in the middle of a sheet of 1,000 × 1,400 px, y up.
CORNERS = ((100.0, 1100.0), (900.0, 1100.0), (900.0, 300.0), (100.0, 300.0))


def make_drawing(season: Season, **fields: Any) -> Drawing:
    if "picture" not in fields:
        sheet = make_stored_file(width_px=1000, height_px=1400)
        fields["picture"] = make_picture(season.site, file=sheet)
    with transaction.atomic():
        (n,) = take_numbers(season, NumberKind.DRAWING, 1)
    return Drawing.objects.create(**{"season": season, "n": n} | fields)


def make_drawn_square(
    drawing: Drawing, square: Square, stage: Stage, corners: Any = CORNERS, **fields: Any
) -> DrawnSquare:
    entries = _entries(square, SquareMarks(corners))
    placement = placed_by_marks(drawing.picture, square.grid, entries)
    said = {"extent": "whole"} | fields
    return DrawnSquare.objects.create(
        drawing=drawing, square=square, stage=stage, placement=placement, **said
    )


def make_sheet(
    stage: Stage, squares: Sequence[Square], printing: UUID | None = None, **how: Any
) -> PrintedSheet:
    """One printed sheet; an account that may print acts."""
    entry = PrintEntry([SheetEntry(squares, stage)], **how)
    return print_sheets(stage.season, entry, printing or uuid4())[0]
