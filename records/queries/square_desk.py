"""The numbers of a square that its page's scripts measure with, in metres."""

from typing import Any

from records.intake.windows import box_of
from records.models import Square
from records.queries.square_panes import MARGIN_OF_SIDE


def desk_numbers(square: Square, *, sees_site_positions: bool) -> dict[str, Any]:
    """What `static/js/square_desk.js` calls the grid. How the grid lies in its site is among them
    only for those who may see positions."""
    grid = square.grid
    numbers: dict[str, Any] = {
        "label": square.label,
        "box": box_of(square, grid.side_m * MARGIN_OF_SIDE),
        "corner": [square.column * grid.side_m, square.row * grid.side_m],
        "side": grid.side_m,
        "wall": grid.is_upright,
    }
    if sees_site_positions:
        numbers["site"] = grid.in_site
    return numbers
