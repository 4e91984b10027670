"""How a drawn square was marked, for marking it anew."""

from typing import Any

from django.utils.formats import localize
from django.utils.translation import gettext as _

from records.models import DrawnSquare, Mark, Placement, Square

SAME_M = 1e-6


def corner_offsets_m(square: Square) -> list[tuple[float, float]]:
    """In the grid's order: −x −y, +x −y, +x +y, −x +y."""
    side_m = square.grid.side_m
    return [(0.0, 0.0), (side_m, 0.0), (side_m, side_m), (0.0, side_m)]


def marks_in_form(drawn: DrawnSquare) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The corners as initial values of the form, and its crossings as rows."""
    square = drawn.square
    x_0, y_0 = square.column * square.grid.side_m, square.row * square.grid.side_m
    corners: dict[str, Any] = {}
    crossings = []
    for mark in Mark.objects.filter(placement=drawn.placement):
        x_m, y_m = mark.x_m - x_0, mark.y_m - y_0
        at = _corner_at(square, x_m, y_m)
        seen = {"u": round(mark.u_px, 2), "v": round(mark.v_px, 2)}
        if at is None:
            crossings.append({"x_cm": round(x_m * 100, 1), "y_cm": round(y_m * 100, 1)} | seen)
        else:
            corners |= {f"c{at}_{axis}": value for axis, value in seen.items()}
    return corners, crossings


def _corner_at(square: Square, x_m: float, y_m: float) -> int | None:
    for number, (x, y) in enumerate(corner_offsets_m(square)):
        if abs(x - x_m) < SAME_M and abs(y - y_m) < SAME_M:
            return number
    return None


def fit_words(placement: Placement) -> str:
    """How well the marks of a placement agree, in one sentence."""
    if placement.rms_mm is None:
        return _("Four corners always fit, so they leave no residual.")
    if placement.rms_mm < 0.05:
        return _("Its marks agree to less than 0.1 mm (root mean square).")
    return _("Its marks agree within %(mm)s mm (root mean square).") % {
        "mm": localize(round(placement.rms_mm, 1))
    }


def ways_of(square: Square) -> dict[str, tuple[str, str]]:
    """Which labels x and y run from and to: K to L, 7 to 8."""
    here = square.grid.edge_labels_of(square.column, square.row)
    beyond = square.grid.edge_labels_of(square.column + 1, square.row + 1)
    return dict(zip(("x", "y"), zip(here, beyond, strict=True), strict=True))
