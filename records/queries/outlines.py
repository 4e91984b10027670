"""Traced features as pages and files ask for them: measured, and drawn in a picture's units."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery
from django.utils.translation import gettext as _

from records.intake.windows import Box, box_of
from records.models import (
    Grid,
    Outline,
    OutlineKind,
    OutlineShape,
    Season,
    Site,
    Square,
    Stage,
    kinds_of,
)
from records.telling import told_number

PX_A_MM = 3.0  # lines and dashes are told in mm on paper; on a screen a little less than to size
SMALL_M2 = 0.01  # smaller areas are told in cm²
PLAINER_M = 0.01  # how closely the small picture of a plan follows what was traced


@dataclass(frozen=True)
class OutlineShown:
    outline: Outline
    kind: OutlineKind
    labels: list[str]
    number: int

    @property
    def mark(self) -> str:
        """`T 12`: what tells it from its like, in rows, on maps and in files."""
        return f"{self.kind.letters} {self.number}"

    @property
    def name(self) -> str:
        """`T 12, keel, port side`, or the kind's name where nobody labelled it."""
        return f"{self.mark}, {self.outline.label or self.kind.name}"

    @cached_property
    def size(self) -> str:
        trace, shape = self.outline.trace, self.outline.shape
        if shape == OutlineShape.POINT:
            return ""
        length = _("%(n)s m") % {"n": told_number(round(trace.length_m, 2))}
        if shape == OutlineShape.LINE:
            return length
        if trace.area_m2 < SMALL_M2:
            area = told_number(round(trace.area_m2 * 10_000, 1))
            return _("%(area)s cm², %(length)s round") % {"area": area, "length": length}
        area = told_number(round(trace.area_m2, 3))
        return _("%(area)s m², %(length)s round") % {"area": area, "length": length}


def outlines_of(
    season: Season, grid: Grid | None = None, stage: Stage | None = None, *, void: bool = False
) -> Any:
    """The season's traced features in the order made; the void ones too where asked."""
    found = Outline.objects.filter(stage__season=season)
    if not void:
        found = found.standing().filter(stage__voided_at=None)
    if grid is not None:
        found = found.filter(grid=grid)
    if stage is not None:
        found = found.filter(stage=stage)
    return found.select_related("grid__site", "stage__season", "made_by")


def with_number(outlines: QuerySet[Outline]) -> QuerySet[Any]:
    """With `number`: which of its season's features it is in the order made, void ones too; it
    stays, since none is ever deleted."""
    before = Q(made_at__lt=OuterRef("made_at")) | Q(
        made_at=OuterRef("made_at"), pk__lte=OuterRef("pk")
    )
    of_season = Outline.objects.filter(before, stage__season=OuterRef("stage__season")).order_by()
    counted = of_season.values("stage__season").annotate(count=Count("pk")).values("count")
    return outlines.annotate(number=Subquery(counted))


def outlines_shown(outlines: Iterable[Outline], site: Site) -> list[OutlineShown]:
    """Each with its kind and the labels of the site's squares that it runs across."""
    found = list(outlines)
    under = [at for one in found for at in one.squares_under]
    squares = Square.objects.standing().filter(
        grid__in={one.grid_id for one in found},
        column__in={column for column, _row in under},
        row__in={row for _column, row in under},
    )
    at = {(one.grid_id, one.column, one.row): one.label for one in squares.labelled()}
    kinds = {one.letters: one for one in kinds_of(site)}
    these = Outline.objects.filter(pk__in=[one.pk for one in found])
    numbers = dict(with_number(these).values_list("pk", "number"))
    return [
        OutlineShown(
            outline=one,
            kind=kinds[one.kind],
            labels=[at[key] for key in _keys(one) if key in at],
            number=numbers[one.pk],
        )
        for one in found
    ]


def _keys(outline: Outline) -> list[tuple[Any, int, int]]:
    return [(outline.grid_id, column, row) for column, row in outline.squares_under]


def across(square: Square, outlines: Iterable[Outline]) -> list[Outline]:
    """Those that run across a square; `outlines` of its grid."""
    at = square.column, square.row
    return [one for one in near(box_of(square), outlines) if at in one.squares_under]


def near(box: Box, outlines: Iterable[Outline]) -> list[Outline]:
    """Those that may reach into a box of their grid, by their points alone: what lies elsewhere
    need not be cut by squares."""
    return [one for one in outlines if _reaches(one, box)]


def _reaches(outline: Outline, box: Box) -> bool:
    xs, ys = zip(*outline.points_m, strict=True)
    x_min, y_min, x_max, y_max = box
    return bool(min(xs) <= x_max and max(xs) >= x_min and min(ys) <= y_max and max(ys) >= y_min)


@dataclass(frozen=True)
class Drawn:
    """A feature in a picture's units: path data, its letters (on a plan without its number) and
    where they stand. Numbers as text, out of the reach of the locale."""

    id: str
    name: str
    path: str
    letters: str
    x: str
    y: str
    line_px: str
    dashes: str
    filling: str
    points_m: list[list[float]]


OnPage = Callable[[float, float], tuple[float, float]]


def drawn(
    shown: Iterable[OutlineShown], at: OnPage, *, arm: float, plainer: bool = False
) -> list[Drawn]:
    """`at`: from grid x, y, m, to the picture; `arm`: half a point's cross there. `plainer`: for
    a small picture, with fewer points and no filling."""
    return [_drawn(one, at, arm, plainer) for one in shown]


def _drawn(one: OutlineShown, at: OnPage, arm: float, plainer: bool) -> Drawn:
    outline = one.outline
    trace = outline.plainer(PLAINER_M) if plainer else outline.trace
    x, y = at(*trace.place_of_name)
    if outline.shape == OutlineShape.POINT:
        y -= 2 * arm  # above its cross, which it would hide
    is_filled = outline.shape == OutlineShape.AREA and not plainer
    return Drawn(
        id=str(outline.pk),
        name=one.name,
        path=_path(outline.shape, [at(*point) for point in trace.points.tolist()], arm),
        letters=one.kind.letters if plainer else one.mark,
        x=f"{x:.1f}",
        y=f"{y:.1f}",
        line_px=_line_px(one.kind),
        dashes=_dashes(one.kind),
        filling=filling_of(one.kind) if is_filled else "none",
        points_m=outline.points_m,
    )


def _path(shape: str, seen: list[tuple[float, float]], arm: float) -> str:
    if shape == OutlineShape.POINT:
        x, y = seen[0]
        return f"M{x - arm:.1f} {y:.1f}h{2 * arm:.1f}M{x:.1f} {y - arm:.1f}v{2 * arm:.1f}"
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in seen)
    return f"M{line}Z" if shape == OutlineShape.AREA else f"M{line}"


def _line_px(kind: OutlineKind) -> str:
    return f"{max(kind.look.line_mm * PX_A_MM, 1.2):g}"


def _dashes(kind: OutlineKind) -> str:
    return " ".join(f"{length * PX_A_MM:g}" for length in kind.look.dash_mm)


def filling_of(kind: OutlineKind) -> str:
    """What fills an area of the kind on a page that has the fillings."""
    if kind.look.is_solid:
        return "currentColor"
    return f"url(#look-{kind.number})" if kind.look.marks else "none"


@dataclass(frozen=True)
class Key:
    """A kind in a legend: a box of 40 × 16 px in its line and filling."""

    kind: OutlineKind
    line_px: str
    dashes: str
    filling: str

    @property
    def tile(self) -> tuple[str, str]:
        width, height = self.kind.look.tile_mm
        return f"{width:g}", f"{height:g}"


def legend_of(site: Site) -> list[Key]:
    return [Key(kind, _line_px(kind), _dashes(kind), filling_of(kind)) for kind in kinds_of(site)]
