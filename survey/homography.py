"""Homographies: estimated from point pairs, refined, applied.

A homography H maps (a, b) to (p, q): (p·w, q·w, w)ᵀ = H·(a, b, 1)ᵀ. The points where w = 0 are
its horizon. Sources: R. Hartley and A. Zisserman, *Multiple View Geometry in Computer Vision*,
2nd ed., chapter 4 (from memory).
"""

import numpy as np

from survey.points import FloatArray

_MOST_STEPS = 100
_STEP_DONE = 1e-14


def project(matrix: FloatArray, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points through a homography, with their third coordinate w before division.

    `matrix` (3, 3); `points` (2,) or (n, 2). Returns points of the same shape and w of shape ()
    or (n,). Where w = 0 the point is not finite: the caller looks at w.
    """
    product = points @ matrix[:, :2].T + matrix[:, 2]
    w = product[..., 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        return product[..., :2] / w[..., None], w


def inverted(matrix: FloatArray) -> FloatArray:
    """The homography back, (3, 3); its w is positive where that of `matrix` is."""
    return np.asarray(np.linalg.inv(matrix), dtype=np.float64)


def homography_by_dlt(source: FloatArray, target: FloatArray) -> FloatArray:
    """The homography source → target by the normalised direct linear transform.

    Both sets are first moved to centroid 0 and root mean square distance √2; then h minimises
    ‖A·h‖ with ‖h‖ = 1, two rows of A a pair: (−a, −b, −1, 0, 0, 0, pa, pb, p) and (0, 0, 0,
    −a, −b, −1, qa, qb, q). Exact for four pairs, an algebraic compromise for more. `source`,
    `target`: (n, 2), n ≥ 4, no n − 1 of either on one line. Returns (3, 3) of norm 1, w positive
    at the first pair.
    """
    move_source, move_target = _normalising(source), _normalising(target)
    (a, b), (p, q) = project(move_source, source)[0].T, project(move_target, target)[0].T
    one, zero = np.ones_like(a), np.zeros_like(a)
    first = np.stack([-a, -b, -one, zero, zero, zero, p * a, p * b, p], axis=1)
    second = np.stack([zero, zero, zero, -a, -b, -one, q * a, q * b, q], axis=1)
    rows = np.concatenate([first, second])
    normalised = np.linalg.svd(rows, full_matrices=True)[2][8].reshape(3, 3)
    return _signed(inverted(move_target) @ normalised @ move_source, source)


def refine_homography(start: FloatArray, source: FloatArray, target: FloatArray) -> FloatArray:
    """The homography near `start` with the least Σ‖H(source) − target‖² (target's unit).

    Levenberg–Marquardt in normalised coordinates, eight parameters (h₃₃ = 1, safe where w has
    one sign at all pairs: the centroid's w is their mean). Shapes as in `homography_by_dlt`.
    """
    move_source, move_target = _normalising(source), _normalising(target)
    near, far = project(move_source, source)[0], project(move_target, target)[0]
    h = move_target @ start @ inverted(move_source)
    h /= h[2, 2]
    damping, misfit = 1e-3, _misfit(h, near, far)
    for _ in range(_MOST_STEPS):
        jacobian = _jacobian(h, near)
        normal = jacobian.T @ jacobian
        weighted = normal + damping * np.diag(normal.diagonal())
        step = np.linalg.solve(weighted, -jacobian.T @ misfit)
        moved = h + np.append(step, 0.0).reshape(3, 3)
        tried = _misfit(moved, near, far)
        if tried @ tried <= misfit @ misfit:
            h, misfit, damping = moved, tried, damping / 10.0
        else:
            damping *= 10.0
        if np.abs(step).max() < _STEP_DONE or damping > 1e12:
            break
    return _signed(inverted(move_target) @ h @ move_source, source)


def _normalising(points: FloatArray) -> FloatArray:
    """The similarity that brings points to centroid 0 and root mean square distance √2."""
    centre = points.mean(axis=0)
    scale = np.sqrt(2.0 * len(points)) / np.linalg.norm(points - centre)
    return np.array(
        [[scale, 0.0, -scale * centre[0]], [0.0, scale, -scale * centre[1]], [0.0, 0.0, 1.0]]
    )


def _signed(matrix: FloatArray, source: FloatArray) -> FloatArray:
    sign = 1.0 if project(matrix, source)[1][0] > 0.0 else -1.0
    return np.asarray(sign / np.linalg.norm(matrix) * matrix)


def _misfit(h: FloatArray, source: FloatArray, target: FloatArray) -> FloatArray:
    return np.asarray((project(h, source)[0] - target).T.ravel())


def _jacobian(h: FloatArray, source: FloatArray) -> FloatArray:
    """∂(all p, then all q)/∂(h₁₁ … h₃₂), (2n, 8)."""
    (a, b), (mapped, w) = source.T, project(h, source)
    basis = np.stack([a, b, np.ones_like(a)], axis=1) / w[:, None]
    nothing = np.zeros_like(basis)
    for_p = np.hstack([basis, nothing, -mapped[:, :1] * basis[:, :2]])
    for_q = np.hstack([nothing, basis, -mapped[:, 1:] * basis[:, :2]])
    return np.concatenate([for_p, for_q])
