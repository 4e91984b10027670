"""Comparisons of a drawing with a photograph, as their verb would have made them."""

from records.models import Comparison, DrawnSquare, Frame

FEATURES = ((0.2, 0.2), (0.8, 0.25), (0.7, 0.8), (0.3, 0.7))


def points_off(dx_m: float = 0.0, dy_m: float = 0.0) -> list[list[float]]:
    """Features of the square (0, 0), all shifted alike on the photograph."""
    return [[x, y, round(x + dx_m, 4), round(y + dy_m, 4)] for x, y in FEATURES]


def make_comparison(drawn: DrawnSquare, frame: Frame, dx_m: float = 0.01) -> Comparison:
    return Comparison.objects.create(
        drawn_square=drawn,
        frame=frame,
        drawing_placement=drawn.placement,
        photo_placement=frame.placement,
        points_m=points_off(dx_m),
        rms_m=abs(dx_m),
        can_judge=True,
    )
