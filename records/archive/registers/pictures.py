"""The registers of drawings and of photographs."""

from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.archive.registers.base import (
    Column,
    Narrowing,
    Register,
    Value,
    Viewer,
    at,
    choices_of,
    get,
    number_of,
    shown,
    those_who_record,
)
from records.models import (
    Drawing,
    DrawingKind,
    DrawnSquare,
    Frame,
    Photograph,
    PhotoKind,
    Restriction,
    Square,
    Verdict,
)
from records.queries.checks import of_latest_check


def _drawings(viewer: Viewer) -> QuerySet[Any]:
    verdict = of_latest_check("verdict")
    squares = (
        DrawnSquare.objects.standing()
        .select_related("stage")
        .annotate(latest_verdict=verdict)
        .order_by("square__column", "square__row")
        .prefetch_related(Prefetch("square", Square.objects.labelled()))
    )
    drawings = Drawing.objects.filter(season=viewer.season)
    return drawings.select_related(
        "season", "picture", "dive__season", "drawn_by", "inked_from__season"
    ).prefetch_related(Prefetch("squares", squares))


def _squares(drawing: Drawing) -> Value:
    return "; ".join(
        f"{one.square.label} ({one.stage}), {one.extent_words}: {_verdict(one)}"
        for one in drawing.squares.all()
    )


def _verdict(drawn: Any) -> str:
    found = drawn.latest_verdict
    return str(Verdict(found).label) if found else _now("waiting for a check")


DRAWINGS = Register(
    name="drawings",
    label=_("Drawings"),
    rows=_drawings,
    columns=(
        Column("number", _("Number"), get("number"), "n", is_link=True),
        Column("squares", _("Squares"), _squares),
        Column("kind", _("Kind"), shown("kind"), "kind"),
        Column("scale", _("Scale"), lambda row: f"1:{row.scale}", "scale"),
        Column("frame", _("Frame lay"), shown("frame_lies")),
        Column(
            "drawn_by",
            _("Drawn by"),
            get("drawn_by.initials"),
            "drawn_by__initials",
            seen_by=those_who_record,
        ),
        Column("dive", _("Dive"), number_of("dive"), "dive__n"),
        Column("inked_from", _("Inked from"), number_of("inked_from")),
        Column("file_name", _("File"), get("picture.original_name"), "picture__original_name"),
        Column("note", _("Note"), get("note")),
        Column("void", _("Void because"), get("void_reason")),
    ),
    narrowings=(
        Narrowing("kind", _("Kind"), choices_of(DrawingKind), lambda value: Q(kind=value)),
    ),
    page_of=lambda drawing: ("drawing", [drawing.pk]),
)


def _photographs(viewer: Viewer) -> QuerySet[Any]:
    photographs = Photograph.objects.filter(season=viewer.season)
    if not viewer.sees_restricted:
        hidden = {Restriction.HUMAN_REMAINS, Restriction.ORDNANCE}
        photographs = photographs.exclude(picture__finds__find__restriction__in=hidden)
    return photographs.select_related(
        "season", "picture", "dive__season", "photographer", "stage", "frame__row__run"
    ).prefetch_related(Prefetch("square", Square.objects.labelled()))


def _station(photograph: Photograph) -> Value:
    frame = getattr(photograph, "frame", None)
    if frame is None or frame.row is None:
        return None
    return f"{frame.row.run.name} {frame.row.order}/{frame.station}"


def _left_out(photograph: Photograph) -> Value:
    frame: Frame | None = getattr(photograph, "frame", None)
    return None if frame is None else frame.left_out_reason or None


def _label(row: Any) -> Value:
    label: str | None = at(row, "square.label")
    return label


PHOTOGRAPHS = Register(
    name="photographs",
    label=_("Photographs"),
    rows=_photographs,
    columns=(
        Column("number", _("Number"), get("number"), "n", is_link=True),
        Column("kind", _("Kind"), shown("kind"), "kind"),
        Column("subject", _("Subject"), get("subject"), "subject"),
        Column("square", _("Square"), _label, "square__column"),
        Column("stage", _("Stage"), get("stage.name"), "stage__order"),
        Column("facing", _("Facing"), get("facing"), "facing"),
        Column("scale", _("Scale in the picture"), get("scale_words")),
        Column(
            "photographer",
            _("Photographer"),
            get("photographer.initials"),
            "photographer__initials",
            seen_by=those_who_record,
        ),
        Column("dive", _("Dive"), number_of("dive"), "dive__n"),
        Column("taken_at", _("Taken"), get("picture.taken_at"), "picture__taken_at"),
        Column("station", _("Run, row/station"), _station),
        Column("left_out", _("Left out because"), _left_out),
        Column("file_name", _("File"), get("picture.original_name"), "picture__original_name"),
        Column("void", _("Void because"), get("void_reason")),
    ),
    narrowings=(Narrowing("kind", _("Kind"), choices_of(PhotoKind), lambda value: Q(kind=value)),),
    page_of=lambda photograph: ("photo", [photograph.pk]),
)
