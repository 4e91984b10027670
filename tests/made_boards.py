"""Pictures of printed sheets, with known truth: codes from OpenCV's own generators, seen by a
homography and a lens that are stated, not solved for."""

import cv2
import numpy as np

CODES = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_6X6_1000)
FINE = 2  # samples a pixel, each way


def base_plate(width_mm, depth_mm, side_mm, hidden=()):
    """A base seen from above, a pixel a millimetre about its middle, 1600 × 1200; marker 1 lower
    left, then counter-clockwise, the black's outer corners on the base's."""
    plate = np.full((1200, 1600), 110, np.uint8)
    right, low = width_mm // 2, depth_mm // 2
    for number, (x, y) in enumerate(((-1, -1), (1, -1), (1, 1), (-1, 1))):
        if number + 1 in hidden:
            continue
        left = 800 + (x * right if x < 0 else right - side_mm)
        top = 600 + (low - side_mm if y < 0 else -low)
        rim = side_mm // 8
        plate[top - rim : top + side_mm + rim, left - rim : left + side_mm + rim] = 235
        code = cv2.aruco.generateImageMarker(CODES, number, side_mm)
        plate[top : top + side_mm, left : left + side_mm] = 20 + code * 0.84
    return plate


def taken(plate, plane_to_px, size, k1=0.0, seed=1):
    """The plate as a camera takes it: metres → px free of distortion by a homography, then
    r·(1 + k1·r²) by half the diagonal about the middle; with some noise."""
    width, height = size
    u, v = np.meshgrid(
        (np.arange(width * FINE) + 0.5) / FINE - 0.5, (np.arange(height * FINE) + 0.5) / FINE - 0.5
    )
    straight = undistorted(np.stack([u.ravel(), v.ravel()], 1), size, k1)
    mapped = np.column_stack([straight, np.ones(len(straight))]) @ np.linalg.inv(plane_to_px).T
    x, y = (mapped[:, :2] / mapped[:, 2:]).T * 1000
    at = ((799.5 + x).reshape(u.shape), (599.5 - y).reshape(u.shape))
    fine = cv2.remap(
        plate, *(one.astype(np.float32) for one in at), cv2.INTER_LINEAR, borderValue=110
    )
    seen = cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA).astype(np.float64)
    seen += np.random.default_rng(seed).normal(0, 1.5, seen.shape)
    return np.clip(seen, 0, 255).astype(np.uint8)


def undistorted(points, size, k1):
    """By fixed-point iteration, which serves for the small k1 of tests."""
    middle, norm = (np.array(size) - 1) / 2, np.hypot(*size) / 2
    taken_at = (points - middle) / norm
    straight = taken_at.copy()
    for _ in range(40 if k1 else 0):
        straight = taken_at / (1 + k1 * (straight**2).sum(1, keepdims=True))
    return middle + norm * straight


def distorted(points, size, k1):
    middle, norm = (np.array(size) - 1) / 2, np.hypot(*size) / 2
    q = (points - middle) / norm
    return middle + norm * q * (1 + k1 * (q**2).sum(1, keepdims=True))
