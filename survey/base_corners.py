"""A tower's base that bears a printed code in each corner: where the codes lie on it, and the
marks that a picture of them gives.

Marker n, from 1, stands in corner n of the base, counted as `survey.grid.corners` does: from −x −y
counter-clockwise. All stand upright, their upper edge toward +y, the outer corner of their black
border on the base's corner: the base is what lies between the outer edges of the black.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from survey.errors import Unfit, gettext_noop
from survey.markers import BaseMarker, Kind, Marker, base_marks, code_for, meaning_of
from survey.placement import Placement, to_plane
from survey.points import FloatArray

CORNERS = 4
# Of `Marker.corners` (upper left, upper right, lower right, lower left), the one on the base's
# corner, by corner of the base.
OUTER = (3, 2, 1, 0)
_SIGNS = ((-1, -1), (1, -1), (1, 1), (-1, 1))


@dataclass(frozen=True)
class CornerMark:
    """A corner of a marker: `number` of the marker from 1, `corner` as `Marker.corners` counts,
    seen at u, v px, lying at x, y m of the base; `is_outer`: it is the base's own corner."""

    number: int
    corner: int
    u_px: float
    v_px: float
    x_m: float
    y_m: float

    @property
    def is_outer(self) -> bool:
        """Whether it lies on the base's corner."""
        return self.corner == OUTER[self.number - 1]


@dataclass(frozen=True)
class BaseSeen:
    """The marks of the markers found, four each, and the numbers of those that are not seen."""

    marks: tuple[CornerMark, ...]
    missing: tuple[int, ...]


def corner_markers(width_m: float, depth_m: float, side_m: float) -> tuple[BaseMarker, ...]:
    """The four markers of a base, from corner 1 on.

    `width_m`, `depth_m`: along x and y between the outer edges of the black; `side_m`: of a
    marker's black border. Raises ValueError for sizes that are not positive, or markers that
    overlap.
    """
    if not 0.0 < 2.0 * side_m <= min(width_m, depth_m):
        raise ValueError(f"Markers of {side_m!r} m do not fit a base {width_m!r} × {depth_m!r} m.")
    return tuple(
        BaseMarker(
            code_for(Kind.BASE, number),
            x_sign * (width_m - side_m) / 2.0,
            y_sign * (depth_m - side_m) / 2.0,
            side_m,
        )
        for number, (x_sign, y_sign) in enumerate(_SIGNS, start=1)
    )


def see_base(found: Iterable[Marker], base: Iterable[BaseMarker]) -> BaseSeen | Unfit:
    """The marks that a picture gives; `base` from `corner_markers`.

    Unfit as `base_marks`, and where fewer than two markers are seen: those of one lie too close
    together to place the whole base.
    """
    marks = base_marks(found, list(base))
    if isinstance(marks, Unfit):
        return marks
    missing = tuple(meaning_of(code).number for code in marks.missing)
    if len(missing) > CORNERS - 2:
        sentence = gettext_noop(
            "Only one of the base's markers is seen in this picture, which does not place the "
            "whole base. Take a picture in which they are whole and clean, or mark by hand."
        )
        return Unfit("one-base-marker", sentence)
    return BaseSeen(_corner_marks(marks.codes, marks.picture, marks.plane), missing)


def stretch_of_markers(seen: BaseSeen, placement: Placement) -> tuple[float, float]:
    """How much larger the markers come out on the base than they are, along x and along y.

    A base noted too wide stretches the plane, which four corners cannot tell; the markers, whose
    size is known, come out too wide with it. Mean over all sides seen, dimensionless.
    """
    given = np.array([(one.x_m, one.y_m) for one in seen.marks]).reshape(-1, 4, 2)
    fitted = to_plane(placement, [(one.u_px, one.v_px) for one in seen.marks]).reshape(-1, 4, 2)
    along_x, along_y = (
        np.linalg.norm(fitted[:, one] - fitted[:, other], axis=2).mean()
        / np.linalg.norm(given[:, one] - given[:, other], axis=2).mean()
        for one, other in (([0, 3], [1, 2]), ([0, 1], [3, 2]))
    )
    return float(along_x), float(along_y)


def _corner_marks(
    codes: tuple[int, ...], picture: FloatArray, plane: FloatArray
) -> tuple[CornerMark, ...]:
    return tuple(
        CornerMark(meaning_of(code).number, place % 4, *seen, *lies)
        for place, (code, seen, lies) in enumerate(
            zip(codes, picture.tolist(), plane.tolist(), strict=True)
        )
    )
