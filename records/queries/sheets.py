"""Printed sheets as pages show them: which are out, which came back, which are void."""

from collections import Counter
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from records.intake.windows import GridWindow, PieceOf, box_of
from records.models import (
    Drawing,
    FrameOnSquare,
    Photograph,
    Placement,
    PrintedSheet,
    PrintKind,
    Season,
    Square,
    Stage,
)
from records.queries.pictures import pictures_for


@dataclass(frozen=True)
class SheetShown:
    """`drawing`: what came back under its number, void by now or not. `pile`: how many of the
    sheets printed with it still stand."""

    sheet: PrintedSheet
    labels: list[str]
    drawing: Drawing | None
    pile: int

    @property
    def is_out(self) -> bool:
        return self.drawing is None and not self.sheet.is_voided


def sheets_of(season: Season) -> list[SheetShown]:
    """The season's numbered sheets, the latest pile first, by number in it."""
    sheets = (
        PrintedSheet.objects.filter(season=season, kind=PrintKind.SHEET)
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
    return list(
        PrintedSheet.objects.standing()
        .filter(season=season, printing=printing)
        .select_related("season__site", "grid", "stage", "underlay")
        .order_by("n")
    )


def underlay_window(sheet: PrintedSheet) -> GridWindow | None:
    """The photographs under a sheet of one square, as the worker draws them; None without one.

    All kept frames that were there when it was made, so that it comes out the same once more, the
    best uppermost."""
    if sheet.underlay_id is None or sheet.stage is None:
        return None
    square = sheet.squares.select_related("square__grid").first()
    if square is None:
        return None
    fine = sheet.side_m * (1.0 if sheet.scale <= 5 else 2.0)
    frames = _kept_frames(square.square, sheet.stage).filter(made_at__lte=sheet.made_at)
    below = frames.exclude(frame__placement=sheet.underlay_id).order_by(
        "fraction", "-frame__photograph__n"
    )
    placements = [*below.values_list("frame__placement", flat=True), sheet.underlay_id]
    return GridWindow(tuple(PieceOf(one) for one in placements), box_of(square.square), fine)


def printed_over(drawing: Drawing) -> Photograph | None:
    """The photograph that was printed faintly under the sheet of a drawing; None without one."""
    sheets = PrintedSheet.objects.filter(season=drawing.season_id, n=drawing.n)
    under = sheets.exclude(underlay=None).values("underlay")
    return (
        Photograph.objects.filter(picture__placements__in=under)
        .select_related("season")
        .order_by("n")
        .first()
    )


def best_photograph(square: Square, stage: Stage) -> Placement | None:
    """The placement of the kept frame that shows most of a square, of those anybody may see."""
    frames = _kept_frames(square, stage).select_related("frame__placement")
    best = frames.order_by("-fraction", "frame__photograph__n").first()
    return best.frame.placement if best else None


def _kept_frames(square: Square, stage: Stage) -> QuerySet[FrameOnSquare]:
    return FrameOnSquare.objects.standing().filter(
        square=square,
        frame__is_kept=True,
        frame__photograph__stage=stage,
        frame__photograph__voided_at=None,
        frame__placement__grid=square.grid,
        frame__photograph__picture__in=pictures_for(stage.season, may_lead=False),
    )
