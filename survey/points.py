"""Arrays of points: the types, and the one check that every function makes of what it is given."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
PointsLike = FloatArray | Sequence[float] | Sequence[Sequence[float]]


def as_points(points: npt.ArrayLike, allowed_columns: tuple[int, ...]) -> FloatArray:
    """The points as a float64 array, one point (k,) or many (n, k), k in `allowed_columns`.

    Raises ValueError for another shape and for values that are not finite.
    """
    array = np.asarray(points, dtype=np.float64)
    if array.ndim not in (1, 2) or array.shape[-1] not in allowed_columns:
        wanted = " or ".join(f"({k},) or (n, {k})" for k in allowed_columns)
        raise ValueError(f"Points must have the shape {wanted}, not {array.shape!r}.")
    if not np.isfinite(array).all():
        bad = array[~np.isfinite(array)][0]
        raise ValueError(f"Points must be finite numbers, not {float(bad)!r}.")
    return array
