"""A window of the grid drawn at n mm a pixel from one picture, through its placement.

Area-true: a pixel shows the mean of what the picture has inside it, not one sample of it.
Where the picture is finer than the raster, each pixel is sampled on a regular lattice whose
points lie at most one picture pixel apart, and the samples are averaged; so every picture pixel
counts by its area, and fine detail turns grey instead of turning into false stripes. Where the
picture is coarser, it is interpolated (bilinear). Means are taken of the values as stored.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from survey.homography import inverted, project
from survey.lens import Lens, greatest_stretch, undistort_points, undistortion_maps
from survey.outline import picture_outline
from survey.placement import Placement, covered_outline
from survey.points import FloatArray

ByteArray = npt.NDArray[np.uint8]
BoolArray = npt.NDArray[np.bool_]

# OpenCV addresses the pixels of a picture that it warps by 16-bit numbers.
MOST_SIDE_PX = 32_766

# Side of a block of samples: 12 MB in colour, whatever the size of the window.
_BLOCK_PX = 2048


@dataclass(frozen=True)
class Window:
    """A part of the grid, in m, and the size of a pixel in which it is drawn, in mm.

    Raster: x = x_min + (u + ½)·n/1000, y = y_max − (v + ½)·n/1000. A last pixel that is only
    begun counts whole. Raises ValueError for bounds in the wrong order, a pixel that is not
    positive, or a raster wider or higher than 32,766 px.
    """

    x_min_m: float
    y_min_m: float
    x_max_m: float
    y_max_m: float
    mm_a_pixel: float

    def __post_init__(self) -> None:
        width_m, height_m = self.x_max_m - self.x_min_m, self.y_max_m - self.y_min_m
        if not (0.0 < width_m < math.inf and 0.0 < height_m < math.inf):
            raise ValueError(f"A window must have a size, not {width_m!r} × {height_m!r} m.")
        if not 0.0 < self.mm_a_pixel < math.inf:
            raise ValueError(f"A pixel must have a size, not {self.mm_a_pixel!r} mm.")
        if max(self.width_px, self.height_px) > MOST_SIDE_PX:
            raise ValueError(
                f"A raster has at most {MOST_SIDE_PX} px a side, not "
                f"{self.width_px!r} × {self.height_px!r}."
            )

    @property
    def width_px(self) -> int:
        """Columns of the raster."""
        return math.ceil((self.x_max_m - self.x_min_m) * 1000.0 / self.mm_a_pixel - 1e-6)

    @property
    def height_px(self) -> int:
        """Rows of the raster."""
        return math.ceil((self.y_max_m - self.y_min_m) * 1000.0 / self.mm_a_pixel - 1e-6)

    @property
    def raster_to_grid(self) -> FloatArray:
        """The raster's (u, v) to the grid's (x, y) as a homography, (3, 3)."""
        n = self.mm_a_pixel / 1000.0
        x_0, y_0 = self.x_min_m + n / 2.0, self.y_max_m - n / 2.0
        return np.array([[n, 0.0, x_0], [0.0, -n, y_0], [0.0, 0.0, 1.0]])


@dataclass(frozen=True, eq=False)
class Rectified:
    """A window drawn: `image` (h, w) or (h, w, channels), and where it shows something.

    `covered` (h, w) is true where the middle of the pixel lies in a picture; elsewhere the
    image is 0.
    """

    image: ByteArray
    covered: BoolArray


@dataclass(frozen=True, eq=False)
class Piece:
    """One picture of several in a window, and the part of the grid that it may fill.

    `only`: x_min, y_min, x_max, y_max in m, such as the square that a drawing was made of; None
    for all that the picture covers.
    """

    picture: ByteArray
    placement: Placement
    only: tuple[float, float, float, float] | None = None


def rectify(picture: ByteArray, placement: Placement, window: Window) -> Rectified:
    """A window of the grid drawn from one picture through its placement, area-true.

    `picture`: (h, w) or (h, w, channels), uint8, upright, as taken. A reduced decode serves
    as well, with `placement_of_derivative`: take one that is still finer than the window's pixels.
    Raises ValueError for another array, or a horizon that crosses the picture.
    """
    return rectify_together([Piece(picture, placement)], window)


def rectify_together(pieces: Iterable[Piece], window: Window) -> Rectified:
    """A window drawn from several pictures, later ones over earlier ones; see `rectify`.

    Pieces are taken one by one, so that an iterator may decode each when its turn comes. Raises
    ValueError as `rectify`, for no pieces, and for pictures that differ in their channels.
    """
    size = (window.height_px, window.width_px)
    image: ByteArray | None = None
    covered = np.zeros(size, dtype=np.bool_)
    for piece in pieces:
        _check_picture(piece.picture)
        channels = piece.picture.shape[2:]
        if image is None:
            image = np.zeros(size + channels, dtype=np.uint8)
        if image.shape[2:] != channels:
            raise ValueError(f"Pictures must agree in channels, not {piece.picture.shape!r}.")
        _draw(piece, window, image, covered)
    if image is None:
        raise ValueError("A window is drawn from one picture at least, not 0.")
    return Rectified(image, covered)


def _draw(piece: Piece, window: Window, image: ByteArray, covered: BoolArray) -> None:
    """Draw one piece into the window's image and mask, block by block."""
    picture = np.ascontiguousarray(piece.picture)
    left, top, right, bottom = _part_of_raster(piece, window)
    if left >= right or top >= bottom:
        return
    to_picture = inverted(piece.placement.matrix) @ window.raster_to_grid
    lens = piece.placement.lens
    across, down = _samples_a_pixel(to_picture, (left, top, right, bottom), picture, lens)
    for v in range(top, bottom, max(1, _BLOCK_PX // down)):
        for u in range(left, right, max(1, _BLOCK_PX // across)):
            end_v = min(v + max(1, _BLOCK_PX // down), bottom)
            end_u = min(u + max(1, _BLOCK_PX // across), right)
            inside = _inside(to_picture, (u, v, end_u, end_v), piece, window)
            if not inside.any():
                continue
            part = (u, v, end_u, end_v)
            block = _block(picture, to_picture, part, (across, down), lens)
            image[v:end_v, u:end_u][inside] = block[inside]
            covered[v:end_v, u:end_u] |= inside


def _block(
    picture: ByteArray,
    to_picture: FloatArray,
    part: tuple[int, int, int, int],
    samples_a_pixel: tuple[int, int],
    lens: Lens | None,
) -> ByteArray:
    """The mean of so many samples, across and down, in each pixel of a part of the raster."""
    (u, v, end_u, end_v), (across, down) = part, samples_a_pixel
    columns, rows = end_u - u, end_v - v
    # Sample i of a row stands at u + (i + ½)/across − ½.
    to_raster = np.array(
        [
            [1.0 / across, 0.0, u + 0.5 / across - 0.5],
            [0.0, 1.0 / down, v + 0.5 / down - 0.5],
            [0.0, 0.0, 1.0],
        ]
    )
    samples = _sampled(picture, to_picture @ to_raster, (columns * across, rows * down), lens)
    mean = cv2.resize(samples, (columns, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(mean, dtype=np.uint8).reshape((rows, columns, *picture.shape[2:]))


def _sampled(
    picture: ByteArray, to_picture: FloatArray, size: tuple[int, int], lens: Lens | None
) -> ByteArray:
    """A raster of `size` (columns, rows) of single samples."""
    if lens is None:
        sampled = cv2.warpPerspective(
            picture,
            to_picture,
            size,
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        )
    else:
        u, v = undistortion_maps(lens, to_picture, *size)
        sampled = cv2.remap(picture, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(sampled, dtype=np.uint8)


def _samples_a_pixel(
    to_picture: FloatArray,
    part: tuple[int, int, int, int],
    picture: ByteArray,
    lens: Lens | None,
) -> tuple[int, int]:
    """How many picture pixels a raster pixel spans at most, across and down, rounded up.

    The columns of the Jacobian of raster → picture, (M_k − (u, v)·m₃k)/w for k = 1, 2, on a
    lattice over the part and at the picture's corners, times the most that the lens stretches.
    """
    u, v = np.meshgrid(np.linspace(part[0], part[2], 9), np.linspace(part[1], part[3], 9))
    height, width = picture.shape[:2]
    outline = picture_outline(width, height)
    if lens is not None:
        outline = undistort_points(lens, outline)
    corners = project(inverted(to_picture), outline)[0]
    low, high = np.array(part[:2]) - 0.5, np.array(part[2:]) + 0.5
    corners = corners[((corners >= low) & (corners <= high)).all(axis=1)]
    places, w = project(to_picture, np.concatenate([np.stack([u.ravel(), v.ravel()], 1), corners]))
    near = (places >= outline.min(axis=0) - 0.5).all(axis=1) & (w > 0)
    near &= (places <= outline.max(axis=0) + 0.5).all(axis=1)
    places, w = places[near], w[near]
    spans = [
        np.linalg.norm((to_picture[:2, k] - places * to_picture[2, k]) / w[:, None], axis=1)
        for k in (0, 1)
    ]
    most = 1.0 if lens is None else greatest_stretch(lens)
    across, down = (max(1, math.ceil(most * span.max(initial=1.0) - 1e-6)) for span in spans)
    return across, down


def _part_of_raster(piece: Piece, window: Window) -> tuple[int, int, int, int]:
    """The part of the raster that a piece can fill: left, top, right, bottom, half-open."""
    height, width = piece.picture.shape[:2]
    outline = covered_outline(piece.placement, width, height)
    low, high = outline.min(axis=0), outline.max(axis=0)
    if piece.only is not None:
        low, high = np.maximum(low, piece.only[:2]), np.minimum(high, piece.only[2:])
    ends = project(
        inverted(window.raster_to_grid), np.array([[low[0], high[1]], [high[0], low[1]]])
    )
    (left, top), (right, bottom) = ends[0]
    return (
        max(0, math.floor(left)),
        max(0, math.floor(top)),
        min(window.width_px, math.ceil(right) + 1),
        min(window.height_px, math.ceil(bottom) + 1),
    )


def _inside(
    to_picture: FloatArray, part: tuple[int, int, int, int], piece: Piece, window: Window
) -> BoolArray:
    """Which pixels of a part have their middle in the picture and in what it may fill.

    With (p, q, w) the homogeneous coordinates of a pixel's middle in the picture: w > 0,
    −w/2 ≤ p ≤ (width − ½)·w, likewise q; each is linear in the raster's u and v. Through a lens
    each is looked up.
    """
    u, v = np.arange(part[0], part[2])[None, :], np.arange(part[1], part[3])[:, None]
    height, width = piece.picture.shape[:2]
    p, q, w = to_picture
    inside = w[0] * u + (w[1] * v + w[2]) > 0.0
    if piece.placement.lens is None:
        for side in (p + w / 2, (width - 0.5) * w - p, q + w / 2, (height - 0.5) * w - q):
            inside &= side[0] * u + (side[1] * v + side[2]) >= 0.0
    else:
        shift = np.array([[1.0, 0.0, part[0]], [0.0, 1.0, part[1]], [0.0, 0.0, 1.0]])
        size = (part[2] - part[0], part[3] - part[1])
        taken_u, taken_v = undistortion_maps(piece.placement.lens, to_picture @ shift, *size)
        inside &= (taken_u >= -0.5) & (taken_u <= width - 0.5)
        inside &= (taken_v >= -0.5) & (taken_v <= height - 0.5)
    if piece.only is not None:
        x_min, y_min, x_max, y_max = piece.only
        to_grid = window.raster_to_grid
        x, y = to_grid[0, 0] * u + to_grid[0, 2], to_grid[1, 1] * v + to_grid[1, 2]
        inside &= (x >= x_min) & (x <= x_max) & (y >= y_min) & (y <= y_max)
    return np.asarray(inside)


def _check_picture(picture: ByteArray) -> None:
    if picture.dtype != np.uint8 or picture.ndim not in (2, 3) or min(picture.shape) < 1:
        raise ValueError(
            f"A picture is an array (h, w) or (h, w, channels) of uint8, not "
            f"{picture.shape!r} of {picture.dtype}."
        )
    if picture.ndim == 3 and picture.shape[2] > 4:
        raise ValueError(f"A picture has at most 4 channels, not {picture.shape[2]!r}.")
    if max(picture.shape[:2]) > MOST_SIDE_PX:
        raise ValueError(f"A picture has at most {MOST_SIDE_PX} px a side, not {picture.shape!r}.")
