"""Flat sheets with their codes, drawn with OpenCV's own generator; segno writes the QR code."""

import cv2
import numpy as np
import segno

PX = 4  # a mm
SEVEN = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_7X7_1000)


def paper(codes, layout, qr=""):
    """A flat sheet, px = mm · PX − ½, with these four codes."""
    width, height = (round(side * PX) for side in layout.size_mm)
    sheet = np.full((height, width), 250, np.uint8)
    for code, box in zip(codes, layout.codes, strict=True):
        _lay(sheet, box, cv2.aruco.generateImageMarker(SEVEN, code, 9))
    if qr:
        modules = segno.make(qr, error="m", micro=False).matrix_iter(border=4)
        _lay(sheet, layout.qr, np.array([[20 if one else 250 for one in row] for row in modules]))
    return sheet


def _lay(sheet, box, modules):
    left, top, size = (round(n * PX) for n in (box.x_mm, box.y_mm, box.width_mm))
    modules = modules.astype(np.uint8)
    part = cv2.resize(modules, (size, size), interpolation=cv2.INTER_NEAREST)
    sheet[top : top + size, left : left + size] = part


def ruled(sheet, layout):
    """With frames (0.5 mm, black) and thin lines (0.18 mm, grey 150) as they are printed: each
    pixel as dark as it is covered."""
    area, (across, level) = layout.area, layout.lines_mm()
    side = layout.side_m * layout.mm_a_metre
    ends = (area.x_mm, area.y_mm, area.x_mm + area.width_mm, area.y_mm + area.height_mm)
    left, top, right, bottom = (round(n * PX) for n in ends)
    for lines, wide, black in (((across, level), 0.18, 0.41), (None, 0.5, 1.0)):
        if lines is None:
            counts = ((area.x_mm, layout.columns), (area.y_mm, layout.rows))
            lines = [[at + side * n for n in range(many + 1)] for at, many in counts]
        for view, places, part in (
            (sheet, lines[0], np.s_[top:bottom]),
            (sheet.T, lines[1], np.s_[left:right]),
        ):
            for at in places:
                edges = np.arange(view.shape[1] + 1) / PX - at
                covered = np.diff(np.clip(edges, -wide / 2, wide / 2)) * PX
                view[part] = (view[part] * (1 - covered * black)).astype(np.uint8)
    return sheet


class Cylinder:
    """Paper bent about an axis down its middle, on a table, seen by a pinhole aslant.

    Its arc keeps the paper's width and stands `sagitta_mm` over its chord. A ray meets it where
    |C + k·D|² = R² across the axis: a quadratic in k.
    """

    def __init__(self, size_mm, sagitta_mm, tilt_deg, px_a_mm):
        self.width, self.height = size_mm
        half = self.width / 2
        # s = R·(1 − cos(half / R)), by bisection of the angle.
        low, high = 1e-6, np.pi / 2
        for _ in range(80):
            angle = (low + high) / 2
            too_flat = half / angle * (1 - np.cos(angle)) < sagitta_mm
            low, high = (angle, high) if too_flat else (low, angle)
        self.radius, self.chord = half / angle, half / angle * np.cos(angle)
        self.away = 1.5 * self.height
        self.focal = px_a_mm * self.away
        self.turn = cv2.Rodrigues(np.radians(tilt_deg) * np.array([0.4, 0.9, 0.2]))[0]
        self.size = tuple(round(1.1 * px_a_mm * n) for n in size_mm)

    def to_px(self, points_mm):
        x, y = (points_mm - np.array([self.width, self.height]) / 2).T
        angle = x / self.radius
        over = self.radius * np.cos(angle) - self.chord
        seen = np.column_stack([self.radius * np.sin(angle), y, -over]) @ self.turn.T
        seen[:, 2] += self.away
        return self.focal * seen[:, :2] / seen[:, 2:] + np.array(self.size) / 2

    def picture(self, sheet):
        """A flat sheet (px = mm · PX − ½) bent so."""
        u, v = np.meshgrid(*(np.arange(n) for n in self.size))
        away = np.full(u.shape, self.focal)
        ray = np.stack([u - self.size[0] / 2, v - self.size[1] / 2, away], -1) @ self.turn
        camera = -self.turn.T @ np.array([0, 0, self.away]) - np.array([0, 0, self.chord])
        a = ray[..., 0] ** 2 + ray[..., 2] ** 2
        b = camera[0] * ray[..., 0] + camera[2] * ray[..., 2]
        c = camera[0] ** 2 + camera[2] ** 2 - self.radius**2
        k = (-b - np.sqrt(np.maximum(b * b - a * c, 0))) / a
        on = camera + k[..., None] * ray
        x = self.radius * np.arctan2(on[..., 0], -on[..., 2]) + self.width / 2
        at = [(n * PX - 0.5).astype(np.float32) for n in (x, on[..., 1] + self.height / 2)]
        return cv2.remap(sheet, *at, cv2.INTER_AREA, borderValue=90)
