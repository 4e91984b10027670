"""Runs of tower frames over an invented seabed, with faults and slips of known size.

For tests of what pictures tell: it shares no line with the code it tests. The camera bends light
by two radial terms and a decentring one, which no homography holds; a set-up's placement is the
homography through four base corners clicked in such a picture. All lengths in m, pictures in px
with the first pixel's centre at (0, 0), grids with y up.
"""

from dataclasses import dataclass, field, replace
from functools import cache

import cv2
import numpy as np

CANVAS_MM = 2.0  # a pixel of the seabed
FAULTS = ("motion", "defocus", "dark", "bright", "backscatter")


@dataclass(frozen=True)
class Camera:
    """At 1.5 m over the base, about 1.5 × 1 m in view; the picture's top toward +y."""

    width: int = 720
    height: int = 480
    focal_px: float = 720.0
    height_m: float = 1.5
    tilt_deg: tuple[float, float] = (0.8, -1.1)
    radial: tuple[float, float] = (-0.05, 0.03)
    decentring: float = 0.002

    @property
    def inner(self):
        middle = (self.width - 1) / 2, (self.height - 1) / 2
        return np.array([[self.focal_px, 0, middle[0]], [0, self.focal_px, middle[1]], [0, 0, 1]])

    def bent(self, points):
        """Picture points (n, 2) of an ideal lens → as this lens draws them."""
        x, y = ((points - self.inner[:2, 2]) / self.focal_px).T
        r2 = x * x + y * y
        far = 1 + self.radial[0] * r2 + self.radial[1] * r2 * r2
        p = self.decentring
        drawn = np.stack([x * far + 2 * p * x * y, y * far + p * (r2 + 2 * y * y)], axis=1)
        return drawn * self.focal_px + self.inner[:2, 2]


@cache
def straightened(camera):
    """For each pixel, where an ideal lens would have drawn it: (h, w, 2)."""
    u, v = np.meshgrid(np.arange(camera.width), np.arange(camera.height))
    drawn = np.stack([u.ravel(), v.ravel()], axis=1).astype(float)
    ideal = drawn.copy()
    for _ in range(6):
        ideal += drawn - camera.bent(ideal)
    return ideal.reshape(camera.height, camera.width, 2)


def _about(axis, angle_deg):
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    i, j = [(1, 2), (2, 0), (0, 1)][axis]
    turn = np.eye(3)
    turn[i, i], turn[i, j], turn[j, i], turn[j, j] = c, -s, s, c
    return turn


@dataclass(frozen=True)
class Stand:
    """Where a tower's base really stands, how it is turned and how it leans."""

    x_m: float
    y_m: float
    turn_deg: float = 0.0
    lean_deg: tuple[float, float] = (0.0, 0.0)

    def to_picture(self, camera):
        """The grid's plane → ideal picture, 3 × 3; the camera hangs in its leaning tower."""
        tower = _about(2, self.turn_deg) @ _about(0, self.lean_deg[0]) @ _about(1, self.lean_deg[1])
        look = _about(1, camera.tilt_deg[0]) @ _about(0, camera.tilt_deg[1])
        to_camera = look @ np.diag([1.0, -1.0, -1.0]) @ tower.T
        eye = np.array([self.x_m, self.y_m, 0.0]) + tower @ (0, 0, camera.height_m)
        return camera.inner @ np.column_stack([to_camera[:, :2], -to_camera @ eye])


@cache
def set_up_placement(camera):
    """Picture → base, nine numbers: the homography through four base corners as they are seen."""
    corners = np.array([(-0.6, -0.38), (0.6, -0.38), (0.6, 0.38), (-0.6, 0.38)])
    through = np.column_stack([corners, np.ones(4)]) @ Stand(0.0, 0.0).to_picture(camera).T
    seen = camera.bent(through[:, :2] / through[:, 2:])
    h = cv2.getPerspectiveTransform(seen.astype(np.float32), corners.astype(np.float32))
    return tuple((h / h[2, 2]).ravel().tolist())


def nominal_placement(camera, x_m, y_m, turn_deg=0.0):
    """What the record believes of a frame on the station (x, y)."""
    there = _about(2, turn_deg)
    there[:2, 2] = x_m, y_m
    h = there @ np.array(set_up_placement(camera)).reshape(3, 3)
    return tuple((h / h[2, 2]).ravel().tolist())


@dataclass(frozen=True)
class Fault:
    kind: str
    size: float  # px of smear, px of the disc's radius, exposure, or specks
    angle_deg: float = 0.0  # of a smear, on the grid


@dataclass(frozen=True)
class Station:
    row: int
    number: int
    x_m: float
    y_m: float
    turn_deg: float = 0.0

    @property
    def key(self):
        return f"{self.row}/{self.number}"


@dataclass(frozen=True)
class Run:
    """A run with what went wrong on it: faults by key, and slips (m) added to where it stood."""

    seed: int
    ground: str = "mixed"
    rows: int = 2
    per_row: int = 10
    step_m: float = 0.85
    row_step_m: float = 0.62
    camera: Camera = Camera()
    foot_jitter_m: float = 0.003
    lean_jitter_deg: float = 0.08
    turn_jitter_deg: float = 0.35
    turned_rows: bool = False
    faults: dict = field(default_factory=dict)
    slips: dict = field(default_factory=dict)

    @property
    def stations(self):
        return [
            Station(
                row + 1,
                number + 1,
                0.9 + (number if row % 2 == 0 else self.per_row - 1 - number) * self.step_m,
                0.7 + row * self.row_step_m,
                180.0 if self.turned_rows and row % 2 else 0.0,
            )
            for row in range(self.rows)
            for number in range(self.per_row)
        ]

    @property
    def extent_m(self):
        return 1.8 + (self.per_row - 1) * self.step_m, 1.4 + (self.rows - 1) * self.row_step_m

    def stand(self, station):
        rng = np.random.default_rng([self.seed, 11, station.row, station.number])
        foot = rng.normal(0, self.foot_jitter_m, 2) + self.slips.get(station.key, (0.0, 0.0))
        lean = rng.normal(0, self.lean_jitter_deg, 2)
        turn = station.turn_deg + rng.normal(0, self.turn_jitter_deg)
        return Stand(station.x_m + foot[0], station.y_m + foot[1], turn, tuple(lean))

    def placement(self, station):
        return nominal_placement(self.camera, station.x_m, station.y_m, station.turn_deg)

    def frame(self, station):
        """The grey picture as the camera stores it, uint8."""
        rng = np.random.default_rng([self.seed, 13, station.row, station.number])
        stand = self.stand(station)
        light = _seen(seabed(self.seed, self.ground, *self.extent_m), stand, self.camera)
        return _developed(light, self.camera, rng, self.faults.get(station.key), stand.turn_deg)


def run_with_faults(seed, ground="mixed", **given):
    """Seven faulty frames on a run of twenty, two of them side by side now and then."""
    rng = np.random.default_rng([seed, 17])
    run = Run(seed, ground, **given)
    keys = [station.key for station in run.stations]
    kinds = ["motion", "motion", "defocus", "defocus", "dark", "bright", "backscatter"]
    places = rng.permutation(len(keys))[: len(kinds)]
    faults = {keys[at]: made_fault(kind, rng) for at, kind in zip(places, kinds, strict=True)}
    return replace(run, faults=faults)


def made_fault(kind, rng):
    sizes = {
        "motion": (7, 22),
        "defocus": (2.4, 6),
        "dark": (0.07, 0.2),
        "bright": (1.9, 4),
        "backscatter": (500, 1500),
    }
    return Fault(kind, rng.uniform(*sizes[kind]), rng.uniform(0, 180))


def run_with_slips(seed, ground="mixed", **given):
    """Two rows of eight: in the first all from a station on lie off, in the second one foot.

    Returns the run and its slips as (kind, row, station, (x, y) in m); sizes of 0, 10, 30 and 60
    mm take turns.
    """
    rng = np.random.default_rng([seed, 23])
    run = Run(seed, ground, per_row=8, **given)
    found = []
    for kind, row, sizes in (
        ("from-here", 1, (0.0, 0.010, 0.030, 0.060)),
        ("only-here", 2, (0.030, 0.060, 0.0, 0.010)),
    ):
        angle, size = rng.uniform(0, 2 * np.pi), sizes[seed % 4]
        by = (size * np.cos(angle), size * np.sin(angle))
        found.append((kind, row, int(rng.integers(3, 8)), by))
    (_, _, start, lasting), (_, _, alone, once) = found
    slips = {f"1/{n}": lasting for n in range(start, 9)} | {f"2/{alone}": once}
    return replace(run, slips=slips), found


@cache
def seabed(seed, ground, width_m, height_m):
    """Reflectance seen from above, float32, y up: the first row lies at the top."""
    rng = np.random.default_rng([seed, 19])
    size = (int(height_m * 1000 / CANVAS_MM), int(width_m * 1000 / CANVAS_MM))
    sand = _sand(rng, size)
    if ground == "sand":
        return sand
    rough = _stones(rng, _timbers(rng, sand.copy()), per_m2=150)
    if ground == "structured":
        return rough
    across = np.linspace(0, 1, size[1], dtype=np.float32)[None, :]
    edge = 0.5 + 0.15 * np.sin(np.linspace(0, 7, size[0], dtype=np.float32))[:, None]
    return np.where(across < edge, sand, rough)


def _noise(rng, size, sigma_px):
    shrink = max(1, int(sigma_px / 2))
    small = rng.standard_normal((size[0] // shrink + 2, size[1] // shrink + 2), np.float32)
    small = cv2.GaussianBlur(small, (0, 0), max(sigma_px / shrink, 0.4))
    wide = cv2.resize(small, size[::-1], interpolation=cv2.INTER_CUBIC)
    return (wide - wide.mean()) / wide.std()


def _sand(rng, size):
    u = np.arange(size[1], dtype=np.float32)[None, :] * (CANVAS_MM / 1000)
    v = np.arange(size[0], dtype=np.float32)[:, None] * (CANVAS_MM / 1000)
    wander = 1.5 * _noise(rng, size, 120)
    ripples = np.sin(2 * np.pi * (0.9 * u + 0.45 * v) / 0.09 + wander)
    sand = 0.36 + 0.012 * ripples + 0.02 * _noise(rng, size, 60) + 0.013 * _noise(rng, size, 5)
    sand += 0.03 * _noise(rng, size, 0.7) + 0.014 * _noise(rng, size, 2)
    shells = int(18 * size[0] * size[1] * (CANVAS_MM / 1000) ** 2)
    for _ in range(shells):
        at = int(rng.integers(size[1])), int(rng.integers(size[0]))
        axes = tuple(int(a) for a in rng.integers(1, 4, 2))
        cv2.ellipse(sand, at, axes, rng.uniform(0, 180), 0, 360, rng.uniform(0.45, 0.7), -1)
    return sand


def _timbers(rng, canvas):
    wide = canvas.shape[1]
    for _ in range(max(2, wide // 900)):
        x, y = rng.uniform(0, wide), rng.uniform(0, canvas.shape[0])
        angle = rng.normal(0, 0.5) + rng.integers(2) * np.pi / 2
        along = np.array([np.cos(angle), np.sin(angle)]) * rng.uniform(300, 900)
        across = np.array([-np.sin(angle), np.cos(angle)]) * rng.uniform(40, 90)
        for share in np.linspace(-1, 1, 15):
            ends = np.array([x, y]) + share * across + np.outer([-1, 1], along)
            start, end = [tuple(int(c) for c in one) for one in ends]
            cv2.line(canvas, start, end, rng.uniform(0.12, 0.3), int(rng.integers(4, 12)))
    return canvas


def _stones(rng, canvas, per_m2):
    count = int(per_m2 * canvas.size * (CANVAS_MM / 1000) ** 2)
    for _ in range(count):
        at = int(rng.integers(canvas.shape[1])), int(rng.integers(canvas.shape[0]))
        radius = rng.gamma(2.0, 5.0) + 3
        axes = (int(radius), max(1, int(radius * rng.uniform(0.5, 1))))
        turn, grey = rng.uniform(0, 180), rng.uniform(0.15, 0.62)
        shade = (at[0] + 2, at[1] + 2)
        cv2.ellipse(canvas, shade, axes, turn, 0, 360, 0.13, -1, cv2.LINE_AA)
        cv2.ellipse(canvas, at, axes, turn, 0, 360, grey, -1, cv2.LINE_AA)
    return canvas + 0.02 * _noise(rng, canvas.shape, 0.8)


def _seen(canvas, stand, camera):
    ideal = straightened(camera)
    h = np.linalg.inv(stand.to_picture(camera))
    x, y, w = (row[0] * ideal[..., 0] + row[1] * ideal[..., 1] + row[2] for row in h)
    u = (x / w) * 1000 / CANVAS_MM - 0.5
    v = canvas.shape[0] - (y / w) * 1000 / CANVAS_MM - 0.5
    maps = u.astype(np.float32), v.astype(np.float32)
    return cv2.remap(canvas, *maps, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)


@cache
def _lamps(camera):
    """Two strobes beside the camera, brighter in the middle, and the haze they light up."""
    u = np.linspace(-1, 1, camera.width, dtype=np.float32)[None, :]
    v = np.linspace(-1, 1, camera.height, dtype=np.float32)[:, None]
    left = np.exp(-((u + 0.45) ** 2) / 0.9 - (v + 0.1) ** 2 / 1.2)
    right = np.exp(-((u - 0.5) ** 2) / 0.8 - v**2)
    return 0.45 + 0.6 * left + 0.5 * right, 0.05 + 0.03 * right


def _developed(light, camera, rng, fault, turn_deg):
    kind, size = (fault.kind, fault.size) if fault else ("", 0.0)
    gain, haze = _lamps(camera)
    image = cv2.GaussianBlur(light, (0, 0), 0.55) * gain + haze
    image += 0.01 * _noise(rng, image.shape, 90)
    specks = size if kind == "backscatter" else rng.uniform(0, 60)
    _add_specks(image, rng, int(specks))
    if kind == "motion":
        image = cv2.filter2D(image, -1, _smear(size, fault.angle_deg - turn_deg))
    if kind == "defocus":
        image = cv2.filter2D(image, -1, _disc(size))
    image *= rng.uniform(0.85, 1.15) * (size if kind in ("dark", "bright") else 1.0)
    grey = 240 * np.sqrt(np.maximum(image, 0))  # a camera's curve lifts the shadows
    grey += 1.6 * rng.standard_normal(grey.shape, np.float32)
    return np.clip(np.rint(grey), 0, 255).astype(np.uint8)


def _add_specks(image, rng, count):
    """Floating dirt near the lens: bright, round, soft when very near."""
    height, width = image.shape
    for _ in range(count):
        radius = 0.8 + rng.gamma(1.5, 0.9)
        reach = int(3 * radius) + 1
        u, v = rng.uniform(reach, width - reach - 1), rng.uniform(reach, height - reach - 1)
        left, top = int(u) - reach, int(v) - reach
        du = np.arange(left, left + 2 * reach + 1) - u
        dv = np.arange(top, top + 2 * reach + 1) - v
        spot = np.exp(-(dv[:, None] ** 2 + du[None, :] ** 2) / (2 * radius**2))
        here = image[top : top + 2 * reach + 1, left : left + 2 * reach + 1]
        here += (rng.uniform(0.1, 0.5) * spot).astype(np.float32)


def _smear(length_px, angle_deg):
    """A straight path of the given length, v down while the angle counts from +x to +y."""
    half = int(np.ceil(length_px / 2)) + 1
    kernel = np.zeros((2 * half + 1, 2 * half + 1), np.float32)
    angle = np.radians(angle_deg)
    for share in np.linspace(-0.5, 0.5, 8 * int(np.ceil(length_px)) + 1):
        u = half + share * length_px * np.cos(angle)
        v = half - share * length_px * np.sin(angle)
        column, row = int(u), int(v)
        a, b = u - column, v - row
        spread = np.array([[(1 - a) * (1 - b), a * (1 - b)], [(1 - a) * b, a * b]], np.float32)
        kernel[row : row + 2, column : column + 2] += spread
    return kernel / kernel.sum()


def _disc(radius_px):
    half = int(np.ceil(radius_px)) + 1
    fine = np.arange(-half * 8 - 4, half * 8 + 4) / 8 + 1 / 16
    inside = (fine[:, None] ** 2 + fine[None, :] ** 2 <= radius_px**2).astype(np.float32)
    kernel = cv2.resize(inside, (2 * half + 1,) * 2, interpolation=cv2.INTER_AREA)
    return kernel / kernel.sum()
