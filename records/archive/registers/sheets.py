"""The registers of printed sheets and coded boards, and of the scans that came in."""

from typing import Any

from django.db.models import OuterRef, Prefetch, Q, QuerySet, Subquery
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.archive.registers.base import (
    Column,
    Narrowing,
    Register,
    Value,
    Viewer,
    by_stage,
    choices_of,
    get,
    nobody,
    shown,
    those_who_record,
)
from records.models import (
    Drawing,
    NumberEnd,
    NumberEndKind,
    Photograph,
    PrintedSheet,
    PrintKind,
    Scan,
    ScanState,
    SheetSquare,
    SheetUnderlay,
    Square,
)
from records.queries.pictures import pictures_for

OUT, FILED, RETURNED, VOID = "out", "filed", "returned", "void"
FATES = (
    (OUT, _("out, or in use")),
    (FILED, _("filed")),
    (RETURNED, _("returned unused")),
    (VOID, _("void")),
)


def _sheets(viewer: Viewer) -> QuerySet[Any]:
    """What was printed in the season. `drawing_key`: what was filed under a sheet's number."""
    drawing = Drawing.objects.filter(season=OuterRef("season"), n=OuterRef("n"))
    ends = NumberEnd.objects.standing().filter(block=OuterRef("block"), n=OuterRef("n"))
    squares = SheetSquare.objects.prefetch_related(Prefetch("square", Square.objects.labelled()))
    printed: QuerySet[Any] = PrintedSheet.objects.filter(season=viewer.season)
    printed = printed.annotate(
        drawing_key=Subquery(drawing.values("pk")[:1]),
        drawing_voided_at=Subquery(drawing.values("voided_at")[:1]),
        number_end=Subquery(ends.values("end")[:1]),
        number_end_reason=Subquery(ends.values("reason")[:1]),
    )
    under = SheetUnderlay.objects.select_related("placement__picture")
    return printed.select_related("season", "stage", "made_by").prefetch_related(
        Prefetch("squares", squares),
        Prefetch("scans", _scans(viewer), to_attr="films"),
        Prefetch("underlays", under),
        Prefetch("underlays__placement__picture__photograph", _photographs(viewer)),
    )


def _photographs(viewer: Viewer) -> QuerySet[Any]:
    seen = pictures_for(viewer.season, may_lead=viewer.sees_restricted).values("pk")
    photographs: QuerySet[Any] = Photograph.objects.filter(picture__in=seen)
    return photographs.select_related("season")


def _fate_is(value: str) -> Q:
    void = Q(voided_at__isnull=False) | Q(number_end=NumberEndKind.VOID)
    filed = Q(drawing_key__isnull=False)
    returned = Q(number_end=NumberEndKind.RETURNED)
    return {
        VOID: void,
        FILED: filed,
        RETURNED: returned,
        OUT: Q(voided_at=None, drawing_key=None)
        & (Q(number_end=None) | Q(number_end=NumberEndKind.USED)),
    }[value]


def _fate(sheet: Any) -> Value:
    if sheet.is_voided or sheet.number_end == NumberEndKind.VOID:
        return _now("void")
    if sheet.drawing_voided_at:
        return _now("filed; its drawing is void")
    if sheet.drawing_key:
        return _now("filed")
    if sheet.number_end == NumberEndKind.RETURNED:
        return _now("returned unused")
    return _now("in use") if sheet.is_board else _now("out")


def _filed_as(sheet: Any) -> Value:
    """A sheet under its own number; what was drawn on film over a board, under theirs."""
    if sheet.drawing_key:
        return str(sheet)
    drawings = {one.n: str(one) for film in sheet.films if (one := _drawing_of(film))}
    return "; ".join(told for _n, told in sorted(drawings.items()))


def _why_void(sheet: Any) -> Value:
    ended = sheet.number_end == NumberEndKind.VOID
    return sheet.void_reason or (sheet.number_end_reason if ended else "")


def _under_it(sheet: PrintedSheet) -> Value:
    pictures = [one.placement.picture for one in sheet.underlays.all()]
    found = [one.photograph for one in pictures if getattr(one, "photograph", None)]
    return "; ".join(str(one) for one in sorted(found, key=lambda one: one.n))


SHEETS = Register(
    name="sheets",
    label=_("Printed sheets and boards"),
    rows=_sheets,
    order=("-kind", "n", "made_at"),
    searched_by=nobody,
    columns=(
        Column("sheet", _("Sheet"), str, "n", is_link=True),
        Column(
            "squares",
            _("Squares"),
            lambda row: "; ".join(one.square.label for one in row.squares.all()),
        ),
        Column("stage", _("Stage"), get("stage.name"), "stage__order"),
        Column("became", _("What became of it"), _fate),
        Column("drawings", _("Filed as"), _filed_as),
        Column("kind", _("Kind"), shown("kind"), "kind"),
        Column("scale", _("Scale"), lambda row: f"1:{row.scale}", "scale"),
        Column("paper", _("Paper"), shown("paper"), "paper"),
        Column("block", _("Across × up"), lambda row: f"{row.columns} × {row.rows}"),
        Column("line_m", _("Lines every"), get("line_m"), "line_m"),
        Column("underlay", _("Photographs under it"), _under_it),
        Column("code", _("Number in its codes"), get("mark"), "short"),
        Column("printed_at", _("Printed"), get("made_at"), "made_at"),
        Column("printed_by", _("By"), get("made_by.name"), seen_by=those_who_record),
        Column("void", _("Void because"), _why_void),
    ),
    narrowings=(
        Narrowing("kind", _("Kind"), choices_of(PrintKind), lambda value: Q(kind=value)),
        Narrowing("became", _("What became of it"), lambda _season: FATES, _fate_is),
        by_stage("stage"),
    ),
    page_of=lambda sheet: ("drawing", [sheet.drawing_key]) if sheet.drawing_key else None,
)


def _scans(viewer: Viewer) -> QuerySet[Any]:
    """With what became of each: the standing drawing of its picture, else a void one."""
    drawings = Drawing.objects.filter(season=viewer.season).select_related("season")
    seen = pictures_for(viewer.season, may_lead=viewer.sees_restricted).values("pk")
    scans: QuerySet[Any] = Scan.objects.filter(season=viewer.season, picture__in=seen)
    return scans.select_related("picture", "sheet__season", "made_by").prefetch_related(
        Prefetch("picture__drawings", drawings.order_by("made_at"), to_attr="of_season")
    )


def _drawing_of(scan: Any) -> Drawing | None:
    made: list[Drawing] = scan.picture.of_season
    standing = [one for one in made if not one.is_voided]
    return next(reversed(standing or made), None)


def _drawing(scan: Any) -> Value:
    drawing = _drawing_of(scan)
    return str(drawing) if drawing else None


def _lines_off(scan: Any) -> Value:
    """Of the paper between its codes; empty where it was not looked at, or could not be seen."""
    return None if scan.lines_off_mm is None else round(scan.lines_off_mm, 2)


def _page_of_scan(scan: Any) -> tuple[str, list[Any]] | None:
    drawing = _drawing_of(scan)
    return ("drawing", [drawing.pk]) if drawing else None


SCANS = Register(
    name="scans",
    label=_("Scans"),
    rows=_scans,
    order=("made_at",),
    searched_by=nobody,
    columns=(
        Column(
            "file_name",
            _("File"),
            get("picture.original_name"),
            "picture__original_name",
            is_link=True,
        ),
        Column("brought_at", _("Brought in"), get("made_at"), "made_at"),
        Column("brought_by", _("By"), get("made_by.name"), seen_by=those_who_record),
        Column("state", _("How it was read"), shown("state"), "state"),
        Column("why", _("Why not filed"), get("words")),
        Column("sheet", _("Sheet or board"), lambda row: str(row.sheet) if row.sheet else None),
        Column("drawing", _("Filed as"), _drawing),
        Column("lines_off_mm", _("Lines off on paper"), _lines_off),
        Column("void", _("Void because"), get("void_reason")),
    ),
    narrowings=(
        Narrowing(
            "state", _("How it was read"), choices_of(ScanState), lambda value: Q(state=value)
        ),
    ),
    page_of=_page_of_scan,
)
