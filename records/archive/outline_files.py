"""Traced features as files: GeoJSON in grid coordinates, and SVG at scale.

Neither says where the site lies: no E, N, no bearing, no names of persons.
"""

import json
from collections.abc import Sequence

from django.utils.translation import gettext as _

from records.intake.windows import box_of
from records.models import Grid, Season, Square
from records.queries.outlines import OutlineShown
from survey.outline_geojson import Told, feature_collection
from survey.outline_svg import KindShown, SheetWords, Shown, SquareShown, svg_at_scale

SCALES = (5, 10, 20, 50)
NOTE = (
    "Plain grid coordinates of the named grid, in metres. Structure of RFC 7946, but these are not "
    "longitude and latitude: programs that expect those will show them off the coast of Africa."
)


def as_geojson(season: Season, grid: Grid, shown: Sequence[OutlineShown]) -> str:
    about = {
        "note": NOTE,
        "site": season.site.code,
        "season": season.code,
        "grid": grid.code,
        "square_side_m": grid.side_m,
        "plane": _plane(grid),
    }
    features = [
        Told(str(one.outline.pk), one.outline.trace, _properties(season, one)) for one in shown
    ]
    return json.dumps(feature_collection(features, about), ensure_ascii=False, indent=1) + "\n"


def _plane(grid: Grid) -> str:
    if not grid.is_upright:
        return "plan"
    return "wall, y up" if grid.slope_deg > 0 else "wall, y down"


def _properties(season: Season, one: OutlineShown) -> dict[str, object]:
    outline = one.outline
    return {
        "number": one.number,
        "kind": one.kind.letters,
        "kind_name": one.kind.name,
        "label": outline.label,
        "remark": outline.remark,
        "season": season.code,
        "stage": outline.stage.name,
        "grid": outline.grid.code,
        "squares": one.labels,
        "traced_over": outline.traced_over,
    }


def as_svg(
    season: Season, scale: int, title: str, shown: Sequence[OutlineShown], squares: Sequence[Square]
) -> str:
    """`squares`: those drawn with their labels; labelled."""
    words = SheetWords(
        title=title,
        lines=(
            _("1:%(scale)s, true size in millimetres; grid x to the right, y up.")
            % {"scale": scale},
            _("%(site)s, %(season)s") % {"site": season.site, "season": season},
        ),
        legend=_("Kinds of features"),
    )
    features = [
        Shown(
            f"outline-{one.outline.pk}",
            one.outline.trace,
            KindShown(one.kind.letters, one.kind.name, one.kind.number),
            one.name,
            one.mark,
        )
        for one in shown
    ]
    boxes = [SquareShown(one.label, box_of(one)) for one in squares]
    return svg_at_scale(features, boxes, scale, words)
