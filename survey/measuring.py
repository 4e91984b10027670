"""One frame put into a few numbers, once, so that frames can be compared without their pixels.

The picture is divided into cells, 16 along its longer side and 12 along the other. What is kept
of each cell is little (some 3 kB a frame), says nothing about where the frame stands, and need
not be made anew when it is stood elsewhere. `survey.quality` compares.
"""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

ByteArray = npt.NDArray[np.uint8]
CellArray = npt.NDArray[np.float32]
AnyArray = npt.NDArray[Any]

# Side of the picture that is measured, at most: 12 megapixels by 2.5, about a millimetre a pixel
# from a tower. Blur finer than this shows in no picture of a square.
LONGEST_PX = 1600
CELLS_LONG, CELLS_SHORT = 16, 12

# A value as good as black or white: nothing can be brought back from it.
BLACK, WHITE = 8, 250

_FINE_SIGMA_PX = 1.0
_COARSE_SHRINK = 4
_COARSE_SIGMA_PX = 1.5  # of the shrunk picture: 6 px
_SPECK_PX = 11
_MAPS = 8


@dataclass(frozen=True, eq=False)
class FrameMeasure:
    """What is kept of a frame: maps (rows, columns) over its cells, float32.

    `along_uu`, `along_uv`, `along_vv`: mean of g·gᵀ/|g| in the cell, g the gradient at a fine
    scale, grey levels a pixel: their trace is the mean steepness, their quadratic form with a
    direction how much of it lies along that direction. `coarse`: mean steepness at a scale six
    times as coarse. `level`: mean grey, 0 to 255. `black`, `white`: shares of clipped pixels.
    `specks`: share of pixels in small bright blobs. All on `width_px` × `height_px`.
    """

    along_uu: CellArray
    along_uv: CellArray
    along_vv: CellArray
    coarse: CellArray
    level: CellArray
    black: CellArray
    white: CellArray
    specks: CellArray
    width_px: int
    height_px: int

    @property
    def sharpness(self) -> float:
        """Median over the cells of fine steepness ÷ grey level: to list frames by, not to judge."""
        fine = self.along_uu + self.along_vv
        return float(np.median(fine / np.maximum(self.level, 1.0)))

    @property
    def exposure(self) -> float:
        """Mean grey, 0 to 1."""
        return float(self.level.mean()) / 255.0


def measure(picture: ByteArray) -> FrameMeasure:
    """Sharpness, exposure and specks of a frame in each of its cells.

    Gradient g of Gaussian-smoothed grey (σ 1 px and 6 px), summed as the tensor g·gᵀ/|g|: the
    first power, since squares would let one edge speak for a cell. After J. Bigün and G. H.
    Granlund, "Optimal orientation detection of linear symmetry", ICCV 1987 (the tensor), and
    E. Krotkov, "Focusing", IJCV 1, 1987 (steepness as focus) (both from memory). Specks: the white
    top-hat (the picture less its morphological opening) with a disc of 11 px, where it exceeds a
    sixth of the cell's level plus 6. `picture`: (h, w) or (h, w, 3) of uint8, upright, any size
    from 48 px; beyond 1,600 px it is shrunk first, so hand in a reduced decode. All frames to be
    compared must have one size. About 0.07 s at 1,600 × 1,200 on one core. Raises ValueError for
    another array.
    """
    _check(picture)
    small: AnyArray = _shrunk(picture)
    grey: AnyArray = small
    brightest: AnyArray = small
    if small.ndim == 3:
        grey = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)
        red, green, blue = cv2.split(small)
        brightest = cv2.max(cv2.max(red, green), blue)
    uu, uv, vv = _tensor(grey)
    level = _cell_means(grey)
    maps = (
        uu,
        uv,
        vv,
        _coarse(grey),
        level,
        _cell_means((brightest <= BLACK).astype(np.uint8)),
        _cell_means((brightest >= WHITE).astype(np.uint8)),
        _specks(grey, level),
    )
    return FrameMeasure(*maps, width_px=picture.shape[1], height_px=picture.shape[0])


def packed(measured: FrameMeasure) -> bytes:
    """A measure as bytes: width, height (uint32), then the eight maps as float16, little-endian."""
    size = np.array([measured.width_px, measured.height_px], "<u4")
    maps = np.stack([getattr(measured, name) for name in _names()])
    return size.tobytes() + maps.astype("<f2").tobytes()


def unpacked(data: bytes) -> FrameMeasure:
    """The measure back from `packed`. Raises ValueError for bytes that are none."""
    if len(data) != 8 + 2 * _MAPS * CELLS_LONG * CELLS_SHORT:
        raise ValueError(f"A measure does not have {len(data)!r} bytes.")
    width, height = (int(side) for side in np.frombuffer(data[:8], "<u4"))
    shape = (_MAPS, *_cells(width, height))
    uu, uv, vv, coarse, level, black, white, specks = (
        np.frombuffer(data[8:], "<f2").astype(np.float32).reshape(shape)
    )
    return FrameMeasure(uu, uv, vv, coarse, level, black, white, specks, width, height)


def _names() -> tuple[str, ...]:
    return tuple(FrameMeasure.__dataclass_fields__)[:_MAPS]


def _cells(width_px: int, height_px: int) -> tuple[int, int]:
    """Rows and columns."""
    wide = width_px >= height_px
    return (CELLS_SHORT, CELLS_LONG) if wide else (CELLS_LONG, CELLS_SHORT)


def _shrunk(picture: ByteArray) -> ByteArray:
    height, width = picture.shape[:2]
    scale = LONGEST_PX / max(height, width)
    if scale >= 1.0:
        return np.ascontiguousarray(picture)
    size = (round(width * scale), round(height * scale))
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _cell_means(values: AnyArray) -> CellArray:
    """Means of the cells, by way of means of 4 × 4 px, which are quick; up to 3 px are cut off."""
    height, width = values.shape
    whole = values[: height - height % 4, : width - width % 4].astype(np.float32)
    small = cv2.resize(whole, (width // 4, height // 4), interpolation=cv2.INTER_AREA)
    rows, columns = _cells(width, height)
    means = cv2.resize(small, (columns, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(means, dtype=np.float32)


def _tensor(grey: AnyArray) -> tuple[CellArray, CellArray, CellArray]:
    smooth = cv2.GaussianBlur(grey.astype(np.float32), (0, 0), _FINE_SIGMA_PX)
    u, v = _gradient(smooth)
    size = cv2.magnitude(u, v)
    share = cv2.divide(u, np.asarray(size) + np.float32(1e-6))
    uu, uv = _cell_means(cv2.multiply(u, share)), _cell_means(cv2.multiply(v, share))
    return uu, uv, _cell_means(size) - uu  # the trace of g·gᵀ/|g| is |g|


def _coarse(grey: AnyArray) -> CellArray:
    height, width = grey.shape
    size = (width // _COARSE_SHRINK, height // _COARSE_SHRINK)
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    lamps = cv2.GaussianBlur(small, (0, 0), 4 * _COARSE_SIGMA_PX)  # their fall-off is no ground
    u, v = _gradient(cv2.GaussianBlur(small, (0, 0), _COARSE_SIGMA_PX) - lamps)
    return _cell_means(cv2.magnitude(u, v)) / np.float32(_COARSE_SHRINK)


def _gradient(smooth: AnyArray) -> tuple[CellArray, CellArray]:
    """Central differences, levels a pixel."""
    u = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=1, scale=0.5)
    v = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=1, scale=0.5)
    return np.asarray(u, dtype=np.float32), np.asarray(v, dtype=np.float32)


def _specks(grey: AnyArray, level: CellArray) -> CellArray:
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_SPECK_PX, _SPECK_PX))
    hat = cv2.morphologyEx(grey, cv2.MORPH_TOPHAT, disc)
    local = cv2.resize(level, grey.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return _cell_means((hat > local / 6.0 + 6.0).astype(np.uint8))


def _check(picture: ByteArray) -> None:
    if (
        picture.dtype != np.uint8
        or picture.ndim not in (2, 3)
        or (picture.ndim == 3 and picture.shape[2] != 3)
        or min(picture.shape[:2]) < 48
    ):
        raise ValueError(
            f"A frame is an array (h, w) or (h, w, 3) of uint8, 48 px a side or more, not "
            f"{picture.shape!r} of {picture.dtype}."
        )
