"""Where everything stands on a printed drawing sheet and on a coded board, in mm of paper.

Printing and reading share this one place. Origin at the paper's upper left corner, x right,
y down, mm. A metre of the grid is 1000 / scale mm; the grid's +x runs right, its +y up the paper.
"""

import enum
from dataclasses import dataclass

import numpy as np

from survey.errors import Unfit, demand_positive, gettext_noop
from survey.points import FloatArray

LAYOUT_VERSION = 1
"""Raise it when anything that is read moves; prints of older layouts stay in use."""

FLAT_WITHIN_MM = 0.5
"""So near a scan's corners are to lie to the truth, on paper: beyond it paper that is not flat is
told, too."""

# Modules a side of a code: seven that carry it, and the border.
CODE_MODULES = 9
CODE_MM = 16.0
# From the paper's edges to the codes' borders; printers leave 3 to 5 mm blank.
CODE_INSET_MM = 8.0
# The second witness, beside the lower left code.
QR_MM = 18.0

_BAND_MM = 26.0  # above and below: codes and what is printed between them
_CLOSE_MM = 5.0  # an area may come as near as this to the paper's left and right edges
_PRINTED_MM = 8.0  # many printers leave this much of the paper's edge blank
_LABELS_MM = 5.0  # above and below the area: its labels
_BOXES_MM = 34.0  # at least this high is the part where divers write
_MOST_LINES = 200


class Paper(enum.StrEnum):
    """ISO 216 sizes."""

    A4 = "a4"
    A3 = "a3"


_PORTRAIT_MM = {Paper.A4: (210.0, 297.0), Paper.A3: (297.0, 420.0)}


@dataclass(frozen=True)
class Box:
    """A part of the paper: its upper left corner, width and height, mm."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class PrintLayout:
    """`columns` × `rows` squares of `side_m` at 1 to `scale`, a thin line every `line_m`.

    Raises ValueError for sizes and counts that are not positive; whether it fits the paper says
    `problem`.
    """

    paper: Paper = Paper.A4
    scale: int = 10
    columns: int = 1
    rows: int = 1
    side_m: float = 1.0
    line_m: float = 0.2

    def __post_init__(self) -> None:
        demand_positive("scale", self.scale)
        demand_positive("side of a square", self.side_m)
        demand_positive("distance of the lines", self.line_m)
        if min(self.columns, self.rows) < 1:
            raise ValueError(f"A sheet has no {self.columns!r} × {self.rows!r} squares.")

    @property
    def mm_a_metre(self) -> float:
        """Millimetres of paper for a metre of the grid."""
        return 1000.0 / self.scale

    @property
    def is_landscape(self) -> bool:
        """Whether the paper lies on its long side: where the squares fit only so."""
        return not self._fits(*_PORTRAIT_MM[self.paper])

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the paper."""
        width, height = _PORTRAIT_MM[self.paper]
        return (height, width) if self.is_landscape else (width, height)

    @property
    def problem(self) -> Unfit | None:
        """Why these squares cannot be printed so; None where they can."""
        width, height = _PORTRAIT_MM[self.paper]
        if not (self._fits(width, height) or self._fits(height, width)):
            sentence = gettext_noop(
                "At 1:%(scale)s these squares are %(width)s × %(height)s mm, too large for "
                "%(paper)s. Choose fewer squares, larger paper or a smaller scale."
            )
            values = {
                "scale": self.scale,
                "width": round(self.columns * self._square_mm),
                "height": round(self.rows * self._square_mm),
                "paper": self.paper.upper(),
            }
            return Unfit("too-large-for-paper", sentence, values)
        if max(self.columns, self.rows) * self.side_m / self.line_m > _MOST_LINES:
            return Unfit("too-many-lines", gettext_noop("The lines lie too close together."))
        return None

    @property
    def area(self) -> Box:
        """Where the squares lie."""
        width, height = self.columns * self._square_mm, self.rows * self._square_mm
        return Box((self.size_mm[0] - width) / 2, _BAND_MM + _LABELS_MM, width, height)

    @property
    def is_near_edge(self) -> bool:
        """Whether many printers would cut the area's left and right edges off."""
        return self.area.x_mm < _PRINTED_MM

    @property
    def boxes(self) -> Box:
        """Where divers write: all that is left between the area and the lower codes."""
        width, height = self.size_mm
        top = self.area.y_mm + self.area.height_mm + _LABELS_MM
        return Box(CODE_INSET_MM, top, width - 2 * CODE_INSET_MM, height - _BAND_MM - top)

    @property
    def qr(self) -> Box:
        """The second witness with its white rim."""
        height = self.size_mm[1]
        x = CODE_INSET_MM + CODE_MM + 4.0
        return Box(x, height - CODE_INSET_MM - CODE_MM / 2 - QR_MM / 2, QR_MM, QR_MM)

    @property
    def codes(self) -> tuple[Box, Box, Box, Box]:
        """The four codes' borders: upper left, upper right, lower right, lower left."""
        width, height = self.size_mm
        left, right = CODE_INSET_MM, width - CODE_INSET_MM - CODE_MM
        top, bottom = CODE_INSET_MM, height - CODE_INSET_MM - CODE_MM
        places = (left, top), (right, top), (right, bottom), (left, bottom)
        first, second, third, fourth = (Box(x, y, CODE_MM, CODE_MM) for x, y in places)
        return first, second, third, fourth

    def code_corners_mm(self) -> FloatArray:
        """(4, 4, 2): of each code its corners, both upper left, upper right, lower right, lower
        left, mm."""
        corner = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]) * CODE_MM
        starts = np.array([[one.x_mm, one.y_mm] for one in self.codes])
        return starts[:, None] + corner

    @property
    def offsets_m(self) -> list[float]:
        """Where thin lines stand within a square, m from its corner nearest −x −y."""
        count = int(np.ceil(round(self.side_m / self.line_m, 9)))
        return [n * self.line_m for n in range(1, count)]

    def lines_mm(self) -> tuple[list[float], list[float]]:
        """Where thin lines stand: x of the upright ones, y of the level ones, mm.

        Lines count from each square's corner nearest −x −y; its edges are not among them.
        """
        steps = [offset_m * self.mm_a_metre for offset_m in self.offsets_m]
        area = self.area
        across = [area.x_mm + c * self._square_mm + s for c in range(self.columns) for s in steps]
        bottom = area.y_mm + area.height_mm
        up = [bottom - r * self._square_mm - s for r in range(self.rows) for s in steps]
        return across, up

    def to_paper(self, points_m: FloatArray) -> FloatArray:
        """(n, 2) of x, y, m from the lowest left corner of the squares → (n, 2), mm of paper."""
        area = self.area
        x = area.x_mm + points_m[..., 0] * self.mm_a_metre
        y = area.y_mm + area.height_mm - points_m[..., 1] * self.mm_a_metre
        return np.stack([x, y], axis=-1)

    def to_squares(self, points_mm: FloatArray) -> FloatArray:
        """The inverse of `to_paper`: mm of paper → m from the lowest left corner of the squares."""
        area = self.area
        x = (points_mm[..., 0] - area.x_mm) / self.mm_a_metre
        y = (area.y_mm + area.height_mm - points_mm[..., 1]) / self.mm_a_metre
        return np.stack([x, y], axis=-1)

    @property
    def _square_mm(self) -> float:
        return self.side_m * self.mm_a_metre

    def _fits(self, width_mm: float, height_mm: float) -> bool:
        room_x = width_mm - 2 * _CLOSE_MM
        room_y = height_mm - 2 * (_BAND_MM + _LABELS_MM) - _BOXES_MM
        within = 1e-6
        return (
            self.columns * self._square_mm <= room_x + within
            and self.rows * self._square_mm <= room_y + within
        )
