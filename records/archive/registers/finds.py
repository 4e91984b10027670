"""The register of finds."""

from typing import Any

from django.db.models import Prefetch, Q, QuerySet
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
from records.models import Find, Fix, Restriction, Square, Whereabouts


def _finds(viewer: Viewer) -> QuerySet[Any]:
    finds = Find.objects.filter(season=viewer.season)
    if not viewer.sees_restricted:
        finds = finds.filter(restriction=Restriction.NONE)
    fixes = Fix.objects.standing().select_related("grid")
    return finds.select_related("season", "stage", "dive__season", "found_by").prefetch_related(
        Prefetch("square", Square.objects.labelled()), Prefetch("fixes", fixes)
    )


def fix_of(find: Find) -> Fix | None:
    return next(iter(find.fixes.all()), None)


def _offset(axis: int) -> Any:
    def offset(find: Find) -> Value:
        fix, square = fix_of(find), find.square
        if fix is None or square is None or fix.grid_id != square.grid_id:
            return None
        place = (fix.x_m - square.column * fix.grid.side_m, fix.y_m - square.row * fix.grid.side_m)
        return round(place[axis], 4)

    return offset


def _of_fix(name: str) -> Any:
    return lambda find: at(fix_of(find), name)


def _square(find: Find) -> Value:
    return find.square.label if find.square else None


FINDS = Register(
    name="finds",
    label=_("Finds"),
    rows=_finds,
    columns=(
        Column("number", _("Number"), get("number"), "n", is_link=True),
        Column("object_name", _("Object name"), get("object_name"), "object_name"),
        Column("material", _("Material"), get("material"), "material"),
        Column("description", _("Description"), get("description")),
        Column("pieces_count", _("Count"), get("count"), "count"),
        Column("length_mm", _("Length"), get("length_mm"), "length_mm"),
        Column("width_mm", _("Width"), get("width_mm"), "width_mm"),
        Column("height_mm", _("Height"), get("height_mm"), "height_mm"),
        Column("weight_g", _("Weight"), get("weight_g"), "weight_g"),
        Column("condition", _("Condition"), get("condition"), "condition"),
        Column("whereabouts", _("In place or lifted"), shown("whereabouts"), "whereabouts"),
        Column("square", _("Square"), _square, "square__column"),
        Column("where", _("Off the grid"), get("where_in_words"), seen_by=those_who_record),
        Column("stage", _("Stage"), get("stage.name"), "stage__order"),
        Column("offset_x_m", _("Offset x"), _offset(0)),
        Column("offset_y_m", _("Offset y"), _offset(1)),
        Column("depth_m", _("Depth"), _of_fix("depth_m")),
        Column("sigma_m", _("σ"), _of_fix("sigma_m")),
        Column(
            "found_by",
            _("Found by"),
            get("found_by.initials"),
            "found_by__initials",
            seen_by=those_who_record,
        ),
        Column("found_on", _("Found on"), get("found_on"), "found_on"),
        Column("dive", _("Dive"), number_of("dive"), "dive__n"),
        Column(
            "restricted",
            _("Restricted because of"),
            lambda find: str(find.get_restriction_display()) if find.is_restricted else None,
            seen_by=lambda viewer: viewer.sees_restricted,
        ),
        Column("void", _("Void because"), get("void_reason")),
    ),
    narrowings=(
        Narrowing(
            "object_name",
            _("Object name"),
            lambda season: [(name, name) for name in season.site.object_names],
            lambda value: Q(object_name=value),
        ),
        Narrowing(
            "whereabouts",
            _("In place or lifted"),
            choices_of(Whereabouts),
            lambda value: Q(whereabouts=value),
        ),
    ),
    page_of=lambda find: ("find", [find.pk]),
)
