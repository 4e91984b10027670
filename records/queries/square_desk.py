"""The numbers of a square that its page's scripts measure with, in metres."""

from collections.abc import Sequence
from typing import Any

from records.intake.windows import box_of
from records.models import FrameOnSquare, Square
from records.queries.square_panes import MARGIN_OF_SIDE
from records.verbs.comparisons import BLANK_OF_SIDE
from records.verbs.coverage import outline_of


def desk_numbers(
    square: Square, seen: Sequence[FrameOnSquare] = (), *, sees_site_positions: bool
) -> dict[str, Any]:
    """What `static/js/square_desk.js` calls the grid. How the grid lies in its site is among them
    only for those who may see positions; of one photograph by itself also what it covers, and how
    far beside that a feature may be picked, as `compare` judges it."""
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
    if len(seen) == 1 and (placement := seen[0].frame.placement) is not None:
        slack_m = grid.side_m * BLANK_OF_SIDE
        numbers["seen"] = {"outline": outline_of(placement).tolist(), "slack": slack_m}
    return numbers
