"""The register of comparisons of a drawing with a photograph."""

from typing import Any

from django.db.models import OuterRef, Prefetch, QuerySet, Subquery
from django.utils.translation import gettext_lazy as _

from records.archive.registers.base import (
    Column,
    Register,
    Value,
    Viewer,
    by_stage,
    get,
    nobody,
    number_of,
    those_who_record,
    yes_or_no,
)
from records.models import Comparison, Season, Square
from records.queries.agreement import comparisons_seen, rests_on, standing_of


def _comparisons(viewer: Viewer) -> QuerySet[Any]:
    """`limit_then_mm`: the season's, by its history, when the comparison was made."""
    then = Season.history.filter(
        id=OuterRef("drawn_square__drawing__season"), history_date__lte=OuterRef("made_at")
    ).order_by("-history_date", "-history_id")
    made = comparisons_seen(viewer.season, may_lead=viewer.sees_restricted)
    return (
        made.select_related(None)
        .select_related(
            "drawn_square__drawing__season",
            "drawn_square__stage",
            "frame__photograph__season",
            "made_by",
        )
        .annotate(limit_then_mm=Subquery(then.values("disagreement_limit_mm")[:1]))
        .prefetch_related(Prefetch("drawn_square__square", Square.objects.labelled()))
    )


def _mm(metres: float) -> float:
    """To a tenth, since nobody picks finer; + 0.0 takes the sign off a zero."""
    return round(metres * 1000, 1) + 0.0


def _mean(axis: int) -> Any:
    return lambda row: _mm(float(row.agreement.mean_m[axis]))


def _left(row: Comparison) -> Value:
    return _mm(row.best.left_m) if row.best else None


def _turn(row: Comparison) -> Value:
    return round(row.best.similarity.turn_deg, 2) + 0.0 if row.best else None


def _enlarged(row: Comparison) -> Value:
    return round((row.best.similarity.scale - 1.0) * 100, 2) + 0.0 if row.best else None


COMPARISONS = Register(
    name="comparisons",
    label=_("Comparisons of drawing and photograph"),
    rows=_comparisons,
    order=("made_at",),
    searched_by=nobody,
    columns=(
        Column(
            "square",
            _("Square"),
            get("drawn_square.square.label"),
            "drawn_square__square__column",
            is_link=True,
        ),
        Column("stage", _("Stage"), get("drawn_square.stage.name"), "drawn_square__stage__order"),
        Column(
            "drawing", _("Drawing"), number_of("drawn_square.drawing"), "drawn_square__drawing__n"
        ),
        Column(
            "photograph", _("Photograph"), number_of("frame.photograph"), "frame__photograph__n"
        ),
        Column("rms_mm", _("RMS offset"), lambda row: _mm(row.rms_m), "rms_m"),
        Column("left_mm", _("Best fit leaves"), _left),
        Column("limit_mm", _("Limit then"), get("limit_then_mm")),
        Column("second_look", _("Second look now"), lambda row: yes_or_no(rests_on(row))),
        Column("stands", _("Counts now"), standing_of),
        Column(
            "drawn_over_it",
            _("Drawn over this photograph"),
            lambda row: yes_or_no(row.is_over_it),
        ),
        Column("features_count", _("Features"), lambda row: len(row.points_m)),
        Column("mean_x_mm", _("Mean offset x"), _mean(0)),
        Column("mean_y_mm", _("Mean offset y"), _mean(1)),
        Column("turn_deg", _("Best fit turns"), _turn),
        Column("scale_percent", _("Best fit enlarges"), _enlarged),
        Column("compared_at", _("Compared"), get("made_at"), "made_at"),
        Column("compared_by", _("By"), get("made_by.name"), seen_by=those_who_record),
        Column("void", _("Void because"), get("void_reason")),
    ),
    narrowings=(by_stage("drawn_square__stage"),),
    page_of=lambda comparison: ("comparison", [comparison.pk]),
)
