"""The register of traced features: areas, lines and points on a grid."""

from typing import Any

from django.db.models import OuterRef, Prefetch, Q, QuerySet, Subquery
from django.utils.translation import gettext_lazy as _

from records.archive.registers.base import (
    Column,
    Narrowing,
    Register,
    Value,
    Viewer,
    by_stage,
    get,
    nobody,
    shown,
    those_who_record,
)
from records.models import (
    Drawing,
    Grid,
    Outline,
    OutlineKind,
    OutlineShape,
    OutlineSource,
    Photograph,
    Season,
    Square,
    kinds_of,
)
from records.queries.outlines import with_number
from records.queries.pictures import pictures_for

DECIMALS = 4
"""Of a metre, as points are kept; of a square metre, a square centimetre."""


def _features(viewer: Viewer) -> QuerySet[Any]:
    """A grid is read once for all of its features, with its squares."""
    changed = Outline.history.filter(id=OuterRef("pk")).order_by("-history_date", "-history_id")
    squares = Square.objects.standing().labelled()
    grids = Grid.objects.select_related("site").prefetch_related(
        Prefetch("squares", squares, to_attr="labelled_squares")
    )
    features: QuerySet[Any] = with_number(Outline.objects.filter(stage__season=viewer.season))
    features = features.annotate(
        changed_at=Subquery(changed.values("history_date")[:1]),
        changed_by=Subquery(changed.values("history_user__name")[:1]),
    )
    return features.select_related("stage", "made_by").prefetch_related(
        Prefetch("grid", grids), Prefetch("sources", _sources(viewer), to_attr="seen_sources")
    )


def _sources(viewer: Viewer) -> QuerySet[Any]:
    """Of pictures that the viewer may see."""
    seen = pictures_for(viewer.season, may_lead=viewer.sees_restricted).values("pk")
    of_season = {"season": viewer.season}
    sources = OutlineSource.objects.standing().filter(placement__picture__in=seen)
    return sources.select_related("placement__picture").prefetch_related(
        Prefetch(
            "placement__picture__drawings",
            Drawing.objects.filter(**of_season).select_related("season"),
            to_attr="of_season",
        ),
        Prefetch(
            "placement__picture__photograph",
            Photograph.objects.filter(**of_season).select_related("season"),
        ),
    )


def kind_of(feature: Outline) -> OutlineKind:
    return next(one for one in kinds_of(feature.grid.site) if one.letters == feature.kind)


def _name(feature: Outline) -> Value:
    return feature.label or kind_of(feature).name


def _kind(feature: Outline) -> Value:
    return f"{feature.kind} {kind_of(feature).name}"


def _if_changed(name: str) -> Any:
    return lambda row: getattr(row, name) if row.version > 1 else None


def _squares(feature: Any) -> Value:
    under = set(feature.squares_under)
    there = [one for one in feature.grid.labelled_squares if (one.column, one.row) in under]
    return "; ".join(one.label for one in there)


def _area(feature: Outline) -> Value:
    is_area = feature.shape == OutlineShape.AREA
    return round(feature.trace.area_m2, DECIMALS) if is_area else None


def _length(shape: OutlineShape) -> Any:
    """Along a line, or all round an area."""

    def length(feature: Outline) -> Value:
        return round(feature.trace.length_m, DECIMALS) if feature.shape == shape else None

    return length


def _pictures(feature: Any) -> Value:
    pictures = [one.placement.picture for one in feature.seen_sources]
    drawings = {one.n: str(one) for picture in pictures for one in picture.of_season}
    photographs = {
        one.n: str(one) for picture in pictures if (one := getattr(picture, "photograph", None))
    }
    return "; ".join(
        [told for each in (drawings, photographs) for _n, told in sorted(each.items())]
    )


def _kinds(season: Season) -> list[tuple[str, str]]:
    return [(one.letters, f"{one.letters} {one.name}") for one in kinds_of(season.site)]


FEATURES = Register(
    name="features",
    label=_("Traced features"),
    rows=_features,
    order=("made_at",),
    searched_by=nobody,
    columns=(
        Column("number", _("Number"), get("number")),
        Column("feature", _("Feature"), _name, "label", is_link=True),
        Column("kind", _("Kind"), _kind, "kind"),
        Column("shape", _("Traced as"), shown("shape"), "shape"),
        Column("grid", _("Grid"), get("grid.code"), "grid__code"),
        Column("squares", _("Squares"), _squares),
        Column("stage", _("Stage"), get("stage.name"), "stage__order"),
        Column("area_m2", _("Area"), _area),
        Column("length_m", _("Length"), _length(OutlineShape.LINE)),
        Column("round_m", _("All round"), _length(OutlineShape.AREA)),
        Column("points_count", _("Points"), lambda row: len(row.trace.points)),
        Column("traced_over", _("Traced over"), shown("traced_over"), "traced_over"),
        Column("pictures", _("Pictures under it"), _pictures),
        Column("remark", _("Remark"), get("remark")),
        Column("traced_at", _("Traced"), get("made_at"), "made_at"),
        Column("traced_by", _("By"), get("made_by.name"), seen_by=those_who_record),
        Column("version", _("Version"), get("version"), "version"),
        Column("changed_at", _("Last changed"), _if_changed("changed_at"), "changed_at"),
        Column("changed_by", _("Changed by"), _if_changed("changed_by"), seen_by=those_who_record),
        Column("void", _("Void because"), get("void_reason")),
    ),
    narrowings=(
        Narrowing("kind", _("Kind"), _kinds, lambda value: Q(kind=value)),
        by_stage("stage"),
    ),
    page_of=lambda feature: ("outline", [feature.pk]),
)
