"""Printed sheets as pages show them: which are out, which came back, which are void."""

from collections import Counter
from dataclasses import dataclass
from uuid import UUID

from records.models import Drawing, PrintedSheet, PrintKind, Season, Square
from records.queries.underlays import numbers_under, with_underlays


@dataclass(frozen=True)
class SheetShown:
    """`drawing`: what came back under its number, void by now or not. `pile`: how many of the
    sheets printed with it still stand. `over`: numbers of the photographs under it."""

    sheet: PrintedSheet
    labels: list[str]
    drawing: Drawing | None
    pile: int
    over: list[int]

    @property
    def is_out(self) -> bool:
        return self.drawing is None and not self.sheet.is_voided


def sheets_of(season: Season) -> list[SheetShown]:
    """The season's numbered sheets, the latest pile first, by number in it."""
    sheets = (
        with_underlays(PrintedSheet.objects.filter(season=season, kind=PrintKind.SHEET), season)
        .select_related("season", "grid", "stage", "made_by")
        .prefetch_related("squares__square__grid")
        .order_by("-n")
    )
    drawn = Drawing.objects.filter(season=season, n__in=sheets.values("n"))
    by_number = {one.n: one for one in drawn.select_related("season")}
    among = len({sheet.grid_id for sheet in sheets}) > 1
    piles = Counter(sheet.printing for sheet in sheets if not sheet.is_voided)
    return [
        SheetShown(
            sheet,
            [_label(one.square, among) for one in sheet.squares.all()],
            by_number.get(sheet.n or 0),
            piles[sheet.printing],
            numbers_under(sheet),
        )
        for sheet in sheets
    ]


def _label(square: Square, among: bool) -> str:
    return square.grid.label_of(square.column, square.row, with_code=among)


def boards_of(season: Season) -> list[PrintedSheet]:
    """The site's boards that stand, whichever season they were printed in."""
    boards = PrintedSheet.objects.standing().filter(
        season__site=season.site_id, kind=PrintKind.BOARD
    )
    return list(boards.select_related("season").order_by("-made_at"))


def printing_of(season: Season, printing: UUID) -> list[PrintedSheet]:
    """The standing sheets of one pile, by number."""
    sheets = PrintedSheet.objects.standing().filter(season=season, printing=printing)
    return list(
        with_underlays(sheets, season)
        .select_related("season__site", "grid", "stage")
        .prefetch_related("squares__square__grid")
        .order_by("n")
    )
