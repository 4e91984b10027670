"""What is laid over both panes of a square, and the strip below them: drawn in thousandths of the
square's side from the upper left corner of the window, x to the right, y down."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from records.models import Find, Grid, Square
from records.queries.plan import BARS_M
from records.queries.square_panes import MARGIN_OF_SIDE
from records.telling import told_number

SIDE = 1000
MARGIN = round(SIDE * MARGIN_OF_SIDE)
EXTENT = SIDE + 2 * MARGIN
# How far apart a frame's strings are shown, in squares of up to so many metres: every 20 cm in one
# of 1 m (common practice), as on the printed sheets; there is no sense in 40 lines.
STRINGS_M = ((0.25, 0.05), (0.75, 0.1), (2.0, 0.2), (5.0, 0.5))
WIDEST_STRINGS_M = 1.0
CROSS = 14  # half the length of an arm


@dataclass(frozen=True)
class Cross:
    """A find at its fix: the number stands on the side that has room."""

    number: str
    arms: str
    x: float
    y: float
    anchor: str


@dataclass(frozen=True)
class Bar:
    length: float
    words: str


@dataclass(frozen=True)
class Overlay:
    """All coordinates as text, out of the reach of the locale."""

    strings: str
    veil: str
    holes: list[str]
    finds: list[Cross]
    bar: Bar
    arrow_turn_deg: str
    is_wall: bool

    extent = EXTENT
    margin = MARGIN
    side = SIDE


def overlay_of(square: Square, finds: Iterable[Find], holes: Sequence[dict[str, Any]]) -> Overlay:
    """`finds` with their standing fix as `fix`; `holes` as `SquareCoverage` keeps them."""
    grid = square.grid
    return Overlay(
        strings=_strings(grid.side_m),
        veil=f"M0 0H{EXTENT}V{EXTENT}H0ZM{MARGIN} {MARGIN}V{MARGIN + SIDE}h{SIDE}V{MARGIN}Z",
        holes=[_outline(square, one["outline_m"]) for one in holes],
        finds=[one for find in finds if (one := _cross(square, find)) is not None],
        bar=_bar(grid),
        arrow_turn_deg=f"{grid.arrow_turn_deg:.1f}",
        is_wall=grid.is_upright,
    )


def _strings(side_m: float) -> str:
    """Counted from the corner nearest −x −y, as offsets are."""
    apart_m = next((apart for side, apart in STRINGS_M if side_m <= side), WIDEST_STRINGS_M)
    lines = range(1, math.ceil(round(side_m / apart_m, 9)))
    at = [round(SIDE * apart_m * one / side_m) for one in lines]
    far = MARGIN + SIDE
    return "".join(f"M{MARGIN + one} {MARGIN}V{far}M{MARGIN} {far - one}H{far}" for one in at)


def on_page(square: Square, x_m: float, y_m: float) -> tuple[float, float]:
    side_m = square.grid.side_m
    return (
        MARGIN + (x_m / side_m - square.column) * SIDE,
        MARGIN + (square.row + 1 - y_m / side_m) * SIDE,
    )


def _outline(square: Square, points_m: Sequence[Sequence[float]]) -> str:
    corners = (on_page(square, x_m, y_m) for x_m, y_m in points_m)
    return " ".join(f"{x:.1f} {y:.1f}" for x, y in corners)


def _cross(square: Square, find: Find) -> Cross | None:
    fix = getattr(find, "fix", None)
    if fix is None:
        return None
    x, y = on_page(square, fix.x_m, fix.y_m)
    if not (0 <= x <= EXTENT and 0 <= y <= EXTENT):
        return None
    arms = f"M{x - CROSS:.1f} {y:.1f}h{2 * CROSS}M{x:.1f} {y - CROSS:.1f}v{2 * CROSS}"
    is_right = x > EXTENT * 0.85
    beside = -CROSS - 12 if is_right else CROSS + 12
    anchor = "end" if is_right else "start"
    return Cross(str(find.n), arms, round(x + beside, 1), round(y + 13, 1), anchor)


def _bar(grid: Grid) -> Bar:
    """The longest round length that takes at most half of the side."""
    fitting = [metres for metres in BARS_M if metres <= grid.side_m / 2]
    metres = fitting[-1] if fitting else grid.side_m
    words = f"{told_number(metres)} m" if metres >= 1 else f"{told_number(metres * 100)} cm"
    return Bar(round(metres / grid.side_m * SIDE), words)
