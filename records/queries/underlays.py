"""Photographs printed faintly under drawing sheets, and what such a drawing can be a witness of."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from records.intake.windows import GridWindow, PieceOf, box_of
from records.models import (
    Drawing,
    FrameOnSquare,
    Photograph,
    Placement,
    PrintedSheet,
    Season,
    SheetUnderlay,
    Square,
    Stage,
)
from records.queries.pictures import pictures_for


def laid_under(squares: Sequence[Square], stage: Stage) -> list[Placement]:
    """The kept frames of the squares that anybody may see, the lowest first: that which shows
    most of a square lies uppermost."""
    frames = FrameOnSquare.objects.standing().filter(
        square__in=list(squares),
        frame__is_kept=True,
        frame__photograph__stage=stage,
        frame__photograph__voided_at=None,
        frame__placement__grid=squares[0].grid,
        frame__photograph__picture__in=pictures_for(stage.season, may_lead=False),
    )
    best_last = frames.select_related("frame__placement").order_by(
        "fraction", "-frame__photograph__n"
    )
    laid: dict[UUID, Placement] = {}
    for one in best_last:
        laid.pop(one.frame.placement_id, None)
        laid[one.frame.placement_id] = one.frame.placement
    return list(laid.values())


def with_underlays(sheets: QuerySet[PrintedSheet], season: Season) -> QuerySet[PrintedSheet]:
    """With `laid`: what is under each that anybody may see, the lowest first."""
    seen = pictures_for(season, may_lead=False).values("pk")
    under = SheetUnderlay.objects.filter(placement__picture__in=seen).order_by("place")
    under = under.select_related("placement__picture__photograph")
    return sheets.prefetch_related(Prefetch("underlays", under, to_attr="laid"))


def underlays_of(sheet: PrintedSheet) -> list[SheetUnderlay]:
    laid: list[SheetUnderlay] | None = getattr(sheet, "laid", None)
    if laid is None:
        (sheet,) = with_underlays(PrintedSheet.objects.filter(pk=sheet.pk), sheet.season)
        laid = sheet.laid  # type: ignore[attr-defined]
    return laid


def numbers_under(sheet: PrintedSheet) -> list[int]:
    """The numbers of the photographs under it."""
    photographs = [
        getattr(one.placement.picture, "photograph", None) for one in underlays_of(sheet)
    ]
    return sorted(one.n for one in photographs if one)


def underlay_window(sheet: PrintedSheet) -> GridWindow | None:
    """The photographs under a sheet, as the worker draws them; None without one.

    Those that were printed, so that it comes out the same once more."""
    laid = underlays_of(sheet)
    if not laid:
        return None
    boxes = [box_of(one.square) for one in sheet.squares.all()]
    x_min, y_min, x_max, y_max = zip(*boxes, strict=True)
    box = (min(x_min), min(y_min), max(x_max), max(y_max))
    fine = sheet.side_m * (1.0 if sheet.scale <= 5 else 2.0)
    return GridWindow(tuple(PieceOf(one.placement_id) for one in laid), box, fine)


def white_labels(sheets: Iterable[PrintedSheet]) -> list[str]:
    """Of a pile that was asked for with photographs: the squares that none of them shows."""
    sheets = list(sheets)
    laid = {sheet.pk: [one.placement.picture_id for one in underlays_of(sheet)] for sheet in sheets}
    if not any(laid.values()):
        return []
    pictures = {picture for one in laid.values() for picture in one}
    shown = FrameOnSquare.objects.filter(frame__photograph__picture__in=pictures)
    pairs = set(shown.values_list("square_id", "frame__photograph__picture_id"))
    return [
        one.square.label
        for sheet in sheets
        for one in sheet.squares.all()
        if not any((one.square_id, picture) in pairs for picture in laid[sheet.pk])
    ]


def photographs_under(drawing: Drawing, *, may_lead: bool) -> list[Photograph]:
    """Those printed under the sheet of a drawing, or of the one it was inked from."""
    seen = pictures_for(drawing.season, may_lead=may_lead).values("pk")
    drawings = Drawing.objects.filter(pk__in=[drawing.pk, drawing.inked_from_id])
    sheets = PrintedSheet.objects.filter(
        Exists(drawings.filter(season=OuterRef("season"), n=OuterRef("n")))
    )
    under = SheetUnderlay.objects.filter(sheet__in=sheets, placement__picture__in=seen)
    found = Photograph.objects.filter(picture__in=under.values("placement__picture"))
    return list(found.select_related("season").order_by("n"))


def drawn_over_it() -> Q:
    """Of comparisons: whether the drawing, or the one it was inked from, was made on a print of
    the very photograph that it is compared with; that the two agree then proves nothing."""
    return Q(Exists(_under_it("drawn_square__drawing"))) | Q(
        Exists(_under_it("drawn_square__drawing__inked_from"))
    )


def _under_it(drawing: str) -> QuerySet[SheetUnderlay]:
    under: QuerySet[SheetUnderlay] = SheetUnderlay.objects.filter(
        sheet__season=OuterRef(f"{drawing}__season"),
        sheet__n=OuterRef(f"{drawing}__n"),
        placement__picture=OuterRef("frame__photograph__picture"),
    )
    return under
