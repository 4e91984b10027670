"""The desk for tracing: a square among its eight neighbours, over drawings or photographs."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from records.intake.windows import Box, GridWindow, PieceOf, box_of
from records.models import (
    Drawing,
    Outline,
    Photograph,
    Picture,
    Season,
    Square,
    Stage,
    TracedOver,
)
from records.queries.edges import edges_of
from records.queries.outlines import Drawn, drawn, near, outlines_shown
from records.queries.pictures import pictures_for
from records.queries.square_panes import frames_on_each, photo_pane

PX_A_SIDE = 600
ARM_PX = 14


@dataclass(frozen=True)
class Desk:
    """`windows`: what may lie under, all of the same part of the grid; `over`: which one does.

    Lines and labels are in px of that window, as text.
    """

    square: Square
    stage: Stage
    over: str
    windows: dict[str, GridWindow]
    squares: list[Square]
    width_px: int
    height_px: int
    lines: str
    labels: list[tuple[str, str, str]]
    shapes: list[Drawn]
    x_min_m: float
    y_max_m: float
    m_a_px: float

    @property
    def window(self) -> GridWindow | None:
        return self.windows.get(self.over)

    @property
    def under(self) -> GridWindow | None:
        """The other one, which may be let through."""
        return next((one for key, one in self.windows.items() if key != self.over), None)


def desk_for(
    season: Season,
    square: Square,
    stage: Stage,
    over: str,
    others: Iterable[Outline],
    *,
    may_lead: bool,
) -> Desk:
    """`over`: what was asked for, if it is there; else drawings, else photographs. `others`:
    features of the grid; shown are those that reach into the nine squares."""
    side_m = square.grid.side_m
    x_min, y_min, x_max, y_max = box = box_of(square, side_m)
    edges = edges_of(season, square, stage, may_lead=may_lead)
    squares = [one.square for one in edges.squares]
    mm = side_m * 1000 / PX_A_SIDE
    windows = {}
    if laid := [one.laid.drawn for one in edges.squares if one.laid is not None]:
        together = GridWindow.of_drawn_together(laid, box, mm_a_pixel=mm)
        windows[TracedOver.DRAWING.value] = together
    if photographs := _photographs(season, squares, stage, box, mm, may_lead):
        windows[TracedOver.PHOTOGRAPHS.value] = photographs
    m_a_px = mm / 1000

    def at(x_m: float, y_m: float) -> tuple[float, float]:
        return (x_m - x_min) / m_a_px - 0.5, (y_max - y_m) / m_a_px - 0.5

    corners = [(one, at(*box_of(one)[0:4:3])) for one in squares]
    return Desk(
        square=square,
        stage=stage,
        over=over if over in windows else next(iter(windows), ""),
        windows=windows,
        squares=squares,
        width_px=round((x_max - x_min) / m_a_px),
        height_px=round((y_max - y_min) / m_a_px),
        lines="".join(
            f"M{x:.1f} {y:.1f}h{PX_A_SIDE}v{PX_A_SIDE}h-{PX_A_SIDE}Z" for _square, (x, y) in corners
        ),
        labels=[(one.label, f"{x + 14:.1f}", f"{y + 46:.1f}") for one, (x, y) in corners],
        shapes=drawn(outlines_shown(near(box, others), season.site), at, arm=ARM_PX),
        x_min_m=x_min,
        y_max_m=y_max,
        m_a_px=m_a_px,
    )


def _photographs(
    season: Season, squares: list[Square], stage: Stage, box: Box, mm: float, may_lead: bool
) -> GridWindow | None:
    """Of each square what its page shows first, within its square only."""
    seen = pictures_for(season, may_lead=may_lead).values("pk")
    frames: dict[Any, list[Any]] = {}
    for one in frames_on_each(squares, stage, seen):
        frames.setdefault(one.square_id, []).append(one)
    pieces = []
    for square in squares:
        pane = photo_pane(square, frames.get(square.pk, []), "", season.coverage_needed_fraction)
        pieces += [
            PieceOf(one.frame.placement_id, box_of(square))
            for one in reversed(pane.shown)
            if one.frame.placement_id
        ]
    return GridWindow(tuple(pieces), box, mm) if pieces else None


def sources_of(outline: Outline, *, may_lead: bool) -> tuple[list[Drawing], list[Photograph]]:
    """What it was traced over, as far as the person may see those pictures."""
    season = outline.season
    seen = pictures_for(season, may_lead=may_lead).values("pk")
    under = Picture.objects.filter(placements__outline_sources__outline=outline, pk__in=seen)
    of_season = {"picture__in": under.values("pk"), "season": season}
    drawings = Drawing.objects.filter(**of_season).select_related("season")
    photographs = Photograph.objects.filter(**of_season).select_related("season")
    return list(drawings), list(photographs)


def placements_under(window: GridWindow | None, points_m: Sequence[Sequence[float]]) -> list[UUID]:
    """Of a window, those pictures over whose part of the grid the points go."""
    if window is None or not points_m:
        return []
    xs, ys = zip(*points_m, strict=True)
    return [
        one.placement_id
        for one in window.pieces
        if one.only is not None
        and one.only[0] < max(xs) + 1e-6
        and one.only[2] > min(xs) - 1e-6
        and one.only[1] < max(ys) + 1e-6
        and one.only[3] > min(ys) - 1e-6
    ]
