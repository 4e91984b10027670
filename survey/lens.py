"""Radial lens distortion: between pixels as taken and pixels free of distortion.

With c the centre of distortion and n the normalising length, both px, a pixel free of distortion
at q = (u − c)/n and r = |q| is taken at c + n·q·(1 + k1·r² + k2·r⁴). Where n is the focal length
in px, k1 and k2 are the first two radial coefficients of D. Brown, "Close-range camera
calibration", *Photogrammetric Engineering* 37 (1971), as OpenCV counts them. Negative
coefficients fold: beyond some radius the picture would turn back into itself. There is no pixel
beyond the fold; a lens that folds within its picture is refused.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from survey.homography import project
from survey.outline import picture_outline
from survey.points import FloatArray, as_points

FloatArray32 = npt.NDArray[np.float32]

_HALVINGS = 60


@dataclass(frozen=True)
class Lens:
    """The distortion of an upright picture of `width_px` × `height_px`.

    `centre_u_px`, `centre_v_px`: the centre of distortion; `norm_px`: the normalising length; `k1`,
    `k2` belong to it. `aspect`: the normalising length along v over that along u, 1 but for a
    derivative that was not reduced alike on both axes. Raises ValueError for numbers not finite,
    a length or size that is not positive, or a fold within the picture.
    """

    width_px: int
    height_px: int
    centre_u_px: float
    centre_v_px: float
    norm_px: float
    k1: float
    k2: float = 0.0
    aspect: float = 1.0

    def __post_init__(self) -> None:
        numbers = (self.centre_u_px, self.centre_v_px, self.norm_px, self.k1, self.k2)
        if not 0.0 < self.aspect < math.inf:
            raise ValueError(f"Pixels have an aspect above 0, not {self.aspect!r}.")
        if not all(math.isfinite(number) for number in numbers):
            raise ValueError(f"A lens is of finite numbers, not {numbers!r}.")
        if self.norm_px <= 0.0:
            raise ValueError(f"A normalising length is positive, not {self.norm_px!r} px.")
        if not self.farthest_px < self.norm_px * _distorted(self.fold, self):
            raise ValueError(f"The lens folds within its picture: k1 {self.k1!r}, k2 {self.k2!r}.")

    @property
    def centre(self) -> FloatArray:
        """The centre of distortion, (2,) of u, v, px."""
        return np.array([self.centre_u_px, self.centre_v_px])

    @property
    def norms(self) -> FloatArray:
        """The normalising length along u and along v, (2,), px."""
        return np.array([self.norm_px, self.norm_px * self.aspect])

    @property
    def farthest_px(self) -> float:
        """How far the farthest corner of the picture lies from the centre, as taken, px along u."""
        corners = picture_outline(self.width_px, self.height_px)
        away = (corners - self.centre) / self.norms
        return self.norm_px * float(np.linalg.norm(away, axis=1).max())

    @property
    def fold(self) -> float:
        """The radius r at which the picture folds: the first with 1 + 3·k1·r² + 5·k2·r⁴ = 0;
        infinite where it does not."""
        a, b = 5 * self.k2, 3 * self.k1
        if b * b < 4 * a:
            return math.inf
        q = -(b + math.copysign(math.sqrt(b * b - 4 * a), b)) / 2  # of r², no digit cancelled
        with np.errstate(divide="ignore", over="ignore", invalid="ignore"):
            squares = np.array([q, 1.0]) / np.array([a, q])
        folds = squares[np.isfinite(squares) & (squares > 0.0)]
        return math.sqrt(folds.min()) if len(folds) else math.inf


def no_distortion(width_px: int, height_px: int) -> Lens:
    """A lens that draws straight lines straight, its centre in the middle of the picture."""
    return Lens(
        width_px,
        height_px,
        (width_px - 1) / 2,
        (height_px - 1) / 2,
        half_diagonal_px(width_px, height_px),
        0.0,
    )


def half_diagonal_px(width_px: int, height_px: int) -> float:
    """From the middle of a picture to its corner, px."""
    return math.hypot(width_px, height_px) / 2


def distort_points(lens: Lens, points: npt.ArrayLike) -> FloatArray:
    """Where points free of distortion were taken, px.

    c + n·q·(1 + k1·r² + k2·r⁴). `points`: (2,) or (n, 2) of u, v; same shape back. Raises
    ValueError for other shapes, values not finite, or a point beyond the fold.
    """
    q = (as_points(points, (2,)) - lens.centre) / lens.norms
    r = np.linalg.norm(q, axis=-1)
    if (r > lens.fold).any():
        raise ValueError(f"A point lies beyond the fold of the lens, at r = {float(r.max())!r}.")
    return np.asarray(lens.centre + lens.norms * q * _stretch(r**2, lens)[..., None])


def undistort_points(lens: Lens, points: npt.ArrayLike) -> FloatArray:
    """Points as taken, freed of distortion, px: the inverse of `distort_points`.

    The radius is found by halving an interval, which cannot stray to another branch: to 1e-15 of
    it. `points`: (2,) or (n, 2) of u, v; same shape back. Raises ValueError for other shapes,
    values not finite, or a point beyond the fold, where no picture is.
    """
    q = (as_points(points, (2,)) - lens.centre) / lens.norms
    taken = np.linalg.norm(q, axis=-1)
    low, high = np.zeros_like(taken), _upper(taken, lens)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        short = middle * _stretch(middle * middle, lens) < taken
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    r = (low + high) / 2.0
    ratio = np.divide(r, taken, out=np.ones_like(taken), where=taken > 0.0)
    return np.asarray(lens.centre + lens.norms * q * ratio[..., None])


def is_before_fold(lens: Lens, points: FloatArray) -> npt.NDArray[np.bool_]:
    """Which points free of distortion a picture can show. `points` (n, 2), px; returns (n,)."""
    with np.errstate(invalid="ignore"):
        square = (((points - lens.centre) / lens.norms) ** 2).sum(axis=-1)
        return np.asarray(square <= lens.fold**2)


def undistortion_maps(
    lens: Lens, to_undistorted: FloatArray, width_px: int, height_px: int
) -> tuple[FloatArray32, FloatArray32]:
    """For each pixel of a raster, where in the picture as taken its colour is found.

    `to_undistorted`: (3, 3), the raster's (u, v) → pixels free of distortion: unity frees the
    picture of distortion; the inverse of a placement's matrix after the raster's draws a window
    of the plane. Returns u and v, (height_px, width_px) each, for a look-up; −1e6 beyond the
    horizon or the fold. Raises ValueError for a size below 1.
    """
    if width_px < 1 or height_px < 1:
        raise ValueError(f"A raster has at least one pixel, not {width_px!r} × {height_px!r}.")
    u, v = np.meshgrid(np.arange(width_px, dtype=np.float64), np.arange(height_px))
    points, w = project(to_undistorted, np.stack([u, v], axis=-1))
    q = (points - lens.centre) / lens.norms
    square = (q**2).sum(axis=-1)
    taken = lens.centre + lens.norms * q * _stretch(square, lens)[..., None]
    seen = (w > 0.0) & (square <= lens.fold**2)
    taken = np.where(seen[..., None], taken, -1e6)
    return taken[..., 0].astype(np.float32), taken[..., 1].astype(np.float32)


def lens_of_derivative(lens: Lens, k: float, k_v: float | None = None) -> Lens:
    """The lens of a derivative, k = full ÷ derivative on both axes, or along u where `k_v` along v
    differs (by the rounding of its size); its size is rounded.

    The centre moves as pixels do, (u + ½)/k − ½, and the lengths are divided. With 1/k it leads
    back. Raises ValueError for a factor that is not positive.
    """
    k_v = k if k_v is None else k_v
    if not (0.0 < k < math.inf and 0.0 < k_v < math.inf):
        raise ValueError(f"A derivative's factor must be positive, not {k!r}, {k_v!r}.")
    return replace(
        lens,
        width_px=math.ceil(lens.width_px / k - 1e-6),
        height_px=math.ceil(lens.height_px / k_v - 1e-6),
        centre_u_px=(lens.centre_u_px + 0.5) / k - 0.5,
        centre_v_px=(lens.centre_v_px + 0.5) / k_v - 0.5,
        norm_px=lens.norm_px / k,
        aspect=lens.aspect * k / k_v,
    )


def lens_normalised_by(lens: Lens, norm_px: float) -> Lens:
    """The same lens, its coefficients for another length: k1·(n′/n)², k2·(n′/n)⁴.

    Raises ValueError for a length that is not positive.
    """
    ratio = norm_px / lens.norm_px
    return replace(lens, norm_px=norm_px, k1=lens.k1 * ratio**2, k2=lens.k2 * ratio**4)


def greatest_shift_px(lens: Lens) -> float:
    """How far distortion moves a pixel at the corner that lies farthest from the centre, px.

    Positive where it was taken farther out than it belongs.
    """
    corners = picture_outline(lens.width_px, lens.height_px)
    corner = corners[np.linalg.norm(corners - lens.centre, axis=1).argmax()]
    straight = undistort_points(lens, corner)
    away = np.linalg.norm(corner - lens.centre) - np.linalg.norm(straight - lens.centre)
    return float(away)


def greatest_stretch(lens: Lens) -> float:
    """The most by which distortion lengthens a small step within the picture, at least 1: along
    the radius 1 + 3·k1·r² + 5·k2·r⁴, across it 1 + k1·r² + k2·r⁴."""
    corners = picture_outline(lens.width_px, lens.height_px)
    far = np.linalg.norm((undistort_points(lens, corners) - lens.centre) / lens.norms, axis=1).max()
    square = np.linspace(0.0, far, 33) ** 2
    along = 1.0 + square * (3.0 * lens.k1 + 5.0 * lens.k2 * square)
    return float(max(1.0, along.max(), _stretch(square, lens).max()))


def area_stretch(lens: Lens, points: FloatArray) -> FloatArray:
    """How much larger distortion makes a small area at points free of it: the determinant of the
    Jacobian of `distort_points`, s·(s + 2r²·ds/dr²) with s = 1 + k1·r² + k2·r⁴.

    `points`: (2,) or (n, 2) of u, v, px. Returns () or (n,).
    """
    square = (((points - lens.centre) / lens.norms) ** 2).sum(axis=-1)
    along = 1.0 + square * (3.0 * lens.k1 + 5.0 * lens.k2 * square)
    return np.asarray(_stretch(square, lens) * along)


def _stretch(square: FloatArray, lens: Lens) -> FloatArray:
    return np.asarray(1.0 + square * (lens.k1 + lens.k2 * square))


def _distorted(r: npt.ArrayLike, lens: Lens) -> FloatArray:
    """The radius as taken of a radius r free of distortion."""
    r = np.asarray(r, dtype=np.float64)
    with np.errstate(invalid="ignore", over="ignore"):
        taken = r * _stretch(r**2, lens)
    return np.asarray(np.where(np.isinf(r), np.inf, taken))


def _upper(taken: FloatArray, lens: Lens) -> FloatArray:
    """A radius that lies as far out as each that was taken, at most the fold."""
    if (taken > _distorted(lens.fold, lens)).any():
        raise ValueError(
            f"A point lies beyond the fold of the lens, {float(taken.max())!r} × {lens.norm_px!r} "
            "px from its centre."
        )
    high = np.maximum(taken, 1e-9)
    while (_distorted(high, lens) < taken).any() and (high < lens.fold).any():
        high = np.minimum(2.0 * high, lens.fold)
    return high
