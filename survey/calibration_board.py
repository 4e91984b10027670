"""The printed board from which a lens is calibrated: its layout in mm, and its corners found.

A chequer with a code in each white square (OpenCV's ChArUco board, codes of `DICT_5X5_100`, which
no other print of ours bears): a corner is known by its number even where a part of the board lies
outside the picture, so that corners come from the picture's edge as well.
"""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from survey.code_edges import ByteArray, demand_grey
from survey.points import FloatArray, IntArray

BoolArray = npt.NDArray[np.bool_]

_DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_100)
_MODULES = 7  # a code's side, with its border


@dataclass(frozen=True)
class Board:
    """`columns` × `rows` squares of `square_mm`, codes of `marker_mm` in the middle of the white.

    Origin at the board's upper left corner, x right, y down, mm. Raises ValueError for fewer than
    3 × 3 squares, more codes than there are, or codes that leave no white round them.
    """

    columns: int = 10
    rows: int = 7
    square_mm: float = 25.0
    marker_mm: float = 18.0

    def __post_init__(self) -> None:
        if min(self.columns, self.rows) < 3 or self.columns * self.rows > 200:
            raise ValueError(f"A board has no {self.columns!r} × {self.rows!r} squares.")
        if not 0.0 < self.marker_mm <= 0.85 * self.square_mm < np.inf:
            raise ValueError(
                f"A code of {self.marker_mm!r} mm does not fit a square of {self.square_mm!r} mm."
            )

    def black_squares_mm(self) -> FloatArray:
        """(n, 2) of x, y: the upper left corners of the black squares, mm."""
        every = [(c, r) for r in range(self.rows) for c in range(self.columns) if (c + r) % 2 == 0]
        return np.array(every) * self.square_mm

    def codes_mm(self) -> list[tuple[float, float, BoolArray]]:
        """x, y of the upper left corner of each code, mm, and its modules (7, 7), true black."""
        inset = (self.square_mm - self.marker_mm) / 2
        white = [(c, r) for r in range(self.rows) for c in range(self.columns) if (c + r) % 2]
        return [
            (
                c * self.square_mm + inset,
                r * self.square_mm + inset,
                cv2.aruco.generateImageMarker(_DICTIONARY, code, _MODULES) < 128,
            )
            for code, (c, r) in enumerate(white)
        ]

    def corners_mm(self) -> FloatArray:
        """((columns − 1)·(rows − 1), 2) of x, y: where four squares meet, row by row, mm."""
        x, y = np.meshgrid(np.arange(1, self.columns), np.arange(1, self.rows))
        return np.asarray(
            np.column_stack([x.ravel(), y.ravel()]).astype(np.float64) * self.square_mm
        )


def find_board(board: Board, grey: ByteArray) -> tuple[IntArray, FloatArray]:
    """The board's corners in a picture: their numbers (n,) in `corners_mm`, and u, v (n, 2), px.

    n is 0 where the board is not seen. `grey`: (h, w) uint8. Raises ValueError for another array.
    """
    demand_grey(grey)
    size = (board.columns, board.rows)
    printed = cv2.aruco.CharucoBoard(size, board.square_mm, board.marker_mm, _DICTIONARY)
    corners, numbers, _, _ = cv2.aruco.CharucoDetector(printed).detectBoard(grey)
    if numbers is None or corners is None:
        return np.zeros(0, dtype=np.int64), np.zeros((0, 2))
    return np.ravel(numbers).astype(np.int64), corners.reshape(-1, 2).astype(np.float64)
