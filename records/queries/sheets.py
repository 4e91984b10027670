"""Printed sheets as pages show them: which are out, which came back, which are void."""

from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from records.acting import acting_account
from records.models import Drawing, PrintedSheet, PrintKind, Season, Square
from records.queries.underlays import numbers_under, with_underlays

JUST_NOW = timedelta(hours=1)


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


def made_just_now(season: Season, entry: Any, *, but: UUID) -> list[PrintedSheet]:
    """The sheets that the acting account made within the hour for the same squares in the same
    way (a PrintEntry), while all are still out; none of the form `but`, which is only sent twice.
    """
    filed = Drawing.objects.filter(season=season).values("n")
    recent = (
        PrintedSheet.objects.standing()
        .filter(season=season, kind=PrintKind.SHEET, made_by=acting_account())
        .filter(made_at__gte=timezone.now() - JUST_NOW)
        .filter(paper=entry.paper, scale=entry.scale, line_m=entry.line_m)
        .exclude(n__in=filed)
        .select_related("season")
        .prefetch_related("squares", "underlays")
        .order_by("n")
    )
    if any(one.printing == but for one in recent):
        return []
    made = {
        (frozenset(on.square_id for on in one.squares.all()), bool(one.underlays.all())): one
        for one in recent
    }
    asked = [
        (frozenset(square.pk for square in one.squares), bool(one.underlay)) for one in entry.sheets
    ]
    return [made[key] for key in asked] if all(key in made for key in asked) else []
