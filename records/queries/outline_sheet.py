"""Traced features as a small picture of their squares, on the plan, and over a square's panes."""

from collections.abc import Sequence
from dataclasses import dataclass

from records.intake.windows import box_of
from records.models import Outline, Season, Square, Stage
from records.queries.outlines import Drawn, OutlineShown, across, drawn, outlines_of, outlines_shown
from records.queries.plan import Plan
from records.queries.square_overlay import on_page
from records.queries.squares import SquareState

WIDEST = 600  # units, near enough px


@dataclass(frozen=True)
class OutlineSheet:
    """Numbers as text. `squares`: label, x, y of the upper left corner; `side` of each."""

    view_box: str
    side: str
    squares: list[tuple[str, str, str]]
    shapes: list[Drawn]


def sheet_of(shown: Sequence[OutlineShown]) -> OutlineSheet:
    """All of one grid, with the squares that they run across; at least one."""
    outline = shown[0].outline
    under = {at for one in shown for at in one.outline.squares_under}
    of_grid = Square.objects.standing().filter(grid=outline.grid).labelled()
    squares = [one for one in of_grid if (one.column, one.row) in under]
    boxes = [box_of(one) for one in squares] + [one.outline.trace.box_m for one in shown]
    x_min, y_max = min(one[0] for one in boxes), max(one[3] for one in boxes)
    wide, high = max(one[2] for one in boxes) - x_min, y_max - min(one[1] for one in boxes)
    unit = WIDEST / max(wide, high)

    def at(x_m: float, y_m: float) -> tuple[float, float]:
        return (x_m - x_min) * unit, (y_max - y_m) * unit

    corners = [(one.label, *at(*box_of(one)[0:4:3])) for one in squares]
    return OutlineSheet(
        view_box=f"-8 -8 {wide * unit + 16:.1f} {high * unit + 16:.1f}",
        side=f"{outline.grid.side_m * unit:.1f}",
        squares=[(label, f"{x:.1f}", f"{y:.1f}") for label, x, y in corners],
        shapes=drawn(shown, at, arm=8),
    )


def shapes_on_plan(
    season: Season, plan: Plan, stage: Stage | None, states: Sequence[SquareState]
) -> list[Drawn]:
    """Of one stage, or of the present stage of any square that a feature runs across."""
    found = list(outlines_of(season, plan.grid, stage))
    if stage is None:
        present = {(one.column, one.row): one.stage for one in states}
        found = [one for one in found if _is_present(one, present)]
    return drawn(outlines_shown(found, season.site), plan.at, arm=1.6, plainer=True)


def _is_present(outline: Outline, present: dict[tuple[int, int], Stage | None]) -> bool:
    return any(present.get(at) == outline.stage for at in outline.squares_under)


def shown_on_square(season: Season, square: Square, stage: Stage | None) -> list[OutlineShown]:
    if stage is None:
        return []
    found = across(square, outlines_of(stage.season, square.grid, stage))
    return outlines_shown(found, season.site)


def shapes_on_square(square: Square, shown: Sequence[OutlineShown]) -> list[Drawn]:
    """In the units of what lies over the square's panes."""
    return drawn(shown, lambda x, y: on_page(square, x, y), arm=14)
