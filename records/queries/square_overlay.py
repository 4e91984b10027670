"""What is laid over both panes of a square, and the strip below them: drawn in thousandths of the
square's side from the upper left corner of the window, x to the right, y down."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from records.models import Find, Grid, Square
from records.queries.plan import BARS_M, turn_of_arrow
from records.queries.square_panes import MARGIN_OF_SIDE
from records.telling import told_number

SIDE = 1000
MARGIN = round(SIDE * MARGIN_OF_SIDE)
EXTENT = SIDE + 2 * MARGIN
STRINGS = 5  # of a frame, as a rule every 20 cm of a square of 1 m (common practice)
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
        strings=_strings(),
        veil=f"M0 0H{EXTENT}V{EXTENT}H0ZM{MARGIN} {MARGIN}V{MARGIN + SIDE}h{SIDE}V{MARGIN}Z",
        holes=[_outline(square, one["outline_m"]) for one in holes],
        finds=[one for find in finds if (one := _cross(square, find)) is not None],
        bar=_bar(grid),
        arrow_turn_deg=f"{turn_of_arrow(grid):.1f}",
        is_wall=grid.is_upright,
    )


def _strings() -> str:
    at = [MARGIN + SIDE * one // STRINGS for one in range(1, STRINGS)]
    far = MARGIN + SIDE
    return "".join(f"M{one} {MARGIN}V{far}M{MARGIN} {one}H{far}" for one in at)


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
