"""Scans of known truth: a printed page, drawn on, seen anyhow by a camera that is no lens of ours.

The page comes as PDFium renders it; where its frame lies is measured in that flat render. Nothing
here knows how sheets are read, nor where they were meant to be printed.
"""

from dataclasses import dataclass
from io import BytesIO

import cv2
import numpy as np
import pypdfium2
from PIL import Image

DPI = 200
MM = DPI / 25.4  # px of the flat page a millimetre
# As printed: 9 modules in 16 mm, 8 mm from the paper's edges.
CODE_MM, INSET_MM, MODULES = 16.0, 8.0, 9
WITHIN_DEG = 35.0


@dataclass
class Made:
    """A scan (JPEG), the frame's four corners in it (lower left, lower right, upper right, upper
    left of the print; u, v, px), and what was done to it."""

    jpeg: bytes
    corners: np.ndarray
    how: dict


def flat_page(pdf, page=0):
    """The page, grey, as paper comes from the printer."""
    return pypdfium2.PdfDocument(pdf)[page].render(scale=DPI / 72, grayscale=True).to_numpy()


def frame_corners(page):
    """The middle of the black frame's lines at its corners, mm: as `Made.corners` orders them."""
    black = (page < 60).astype(np.uint8)
    upright = cv2.morphologyEx(black, cv2.MORPH_OPEN, np.ones((round(40 * MM), 1), np.uint8))
    columns = np.flatnonzero(upright.any(axis=0))
    lines = np.split(columns, np.flatnonzero(np.diff(columns) > 1) + 1)
    left, right = lines[0].mean() + 0.5, lines[-1].mean() + 0.5
    rows = np.flatnonzero(upright[:, lines[0]].any(axis=1))
    half = len(lines[0]) / 2
    top, bottom = rows[0] + half, rows[-1] + 1 - half
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]]) / MM


def code_corners(page):
    """(4, 4, 2), mm: of the codes upper left, upper right, lower right, lower left."""
    height, width = np.array(page.shape) / MM
    low, far = INSET_MM, INSET_MM + CODE_MM
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * CODE_MM
    starts = [(low, low), (width - far, low), (width - far, height - far), (low, height - far)]
    return np.array([unit + start for start in starts])


def scan(page, random, *, film=False, spoil=""):
    """One picture of a page. Readable unless `spoil` says what makes it not so (`SPOILS`)."""
    drawn = _film(page, random) if film else page.copy()
    corners = frame_corners(page)
    _draw(drawn, random, corners)
    drawn = _spoilt_paper(drawn, random, spoil)
    module_px = float(random.uniform(1.0, 1.8) if spoil == "small" else random.uniform(4.0, 8.0))
    tilt = float(random.uniform(0, WITHIN_DEG))
    to_px, size = _camera(page, random, tilt, module_px, cut=spoil == "cut")
    seen = _seen(drawn, to_px, size, random)
    seen = _lit(seen, random, film=film, keep=_middles(page, to_px), burnt=spoil == "glare")
    sigma = module_px * 1.3 if spoil == "blur" else float(random.uniform(0, 1.5))
    if sigma > 0.1:
        seen = cv2.GaussianBlur(seen, (0, 0), sigma)
    seen = seen + random.standard_normal(seen.shape, dtype=np.float32) * random.uniform(0.5, 3.0)
    seen = np.clip(np.rint(seen), 0, 255).astype(np.uint8)
    if spoil == "mirrored":
        seen = np.ascontiguousarray(seen[:, ::-1])
    quality = int(random.integers(60, 96))
    told = BytesIO()
    Image.fromarray(seen).save(told, "JPEG", quality=quality)
    how = {"tilt": tilt, "module_px": module_px, "sigma": sigma, "quality": quality}
    how |= {"spoil": spoil, "film": film, "size": size}
    return Made(told.getvalue(), _through(to_px, corners), how)


SPOILS = ("covered", "cut", "small", "blur", "glare", "mirrored", "torn", "nothing")


def _draw(page, random, corners):
    """Pencil within the frame, wandering lines of several strengths."""
    low, high = corners[[3, 1]] * MM
    for _line in range(int(random.integers(4, 14))):
        at = random.uniform(low, high)
        points = [at]
        for _step in range(int(random.integers(10, 60))):
            at = np.clip(at + random.normal(0, 2.5 * MM, 2), low, high)
            points.append(at)
        shape = np.rint(points).astype(np.int32)
        cv2.polylines(page, [shape], False, float(random.uniform(40, 130)), 3, cv2.LINE_AA)


def _film(page, random):
    """Translucent film over all, or over all but the codes, held by tape beside them."""
    film = float(random.uniform(0.1, 0.35))
    under = page.astype(np.float32)
    covered = under * (1 - film) + random.uniform(200, 245) * film
    if random.random() < 0.5:
        first, last = round(28 * MM), page.shape[0] - round(28 * MM)
        under[first:last] = covered[first:last]
        covered = under
    covered = np.ascontiguousarray(covered)
    for left in (0, page.shape[1] - round(20 * MM)):
        top = round(float(random.uniform(40, 120)) * MM)
        part = np.s_[top : top + round(15 * MM), left : left + round(20 * MM)]
        covered[part] = covered[part] * 0.4 + 0.6 * float(random.uniform(120, 230))
    return np.clip(np.rint(covered), 0, 255).astype(np.uint8)


def _spoilt_paper(page, random, spoil):
    if spoil == "nothing":
        page[:] = cv2.resize(random.integers(80, 200, (40, 30), np.uint8), page.shape[::-1])
    if spoil not in ("covered", "torn"):
        return page
    (left, top), (right, bottom) = (code_corners(page)[random.integers(4)] * MM)[[0, 2]]
    if spoil == "covered":  # a thumb over more than half of a code
        centre = (int(random.uniform(left, right)), int(random.uniform(top, bottom)))
        cv2.circle(page, centre, round(CODE_MM * 0.75 * MM), float(random.uniform(90, 190)), -1)
    else:  # a corner of the paper is gone, and with it half of the code
        middle = np.array([left + right, top + bottom]) / 2
        away = np.sign(middle - np.array(page.shape[::-1]) / 2)
        along = np.array([away[1], -away[0]]) * 40 * MM
        out = middle + away * 60 * MM
        shape = np.rint([middle + along, middle - along, out - along, out + along])
        cv2.fillPoly(page, [shape.astype(np.int32)], float(random.uniform(50, 120)))
    return page


def _camera(page, random, tilt_deg, module_px, *, cut):
    """Paper mm → px for a picture that holds the paper, and the picture's (width, height).

    The smallest side of a code is `module_px` a module. `cut`: an edge goes through a code.
    """
    height, width = np.array(page.shape) / MM
    view = _pose(random, np.radians(tilt_deg), width, height)
    sides = _sides(_through(view, code_corners(page).reshape(-1, 2)).reshape(4, 4, 2))
    scale = module_px * MODULES / sides.min()
    view = np.diag([scale, scale, 1.0]) @ view
    paper = _through(view, np.array([[0, 0], [width, 0], [width, height], [0, height]]))
    codes = _through(view, code_corners(page).reshape(-1, 2))
    room = random.uniform(-3, 40, 4) * scale_at(view, width, height)
    low = np.minimum(paper.min(0) - room[:2], codes.min(0) - 2.5 * module_px)
    high = np.maximum(paper.max(0) + room[2:], codes.max(0) + 2.5 * module_px)
    if cut:
        reach = _through(view, code_corners(page)[random.integers(4)])
        low[0] = reach[:, 0].mean() if reach[:, 0].mean() < (low[0] + high[0]) / 2 else low[0]
        high[0] = reach[:, 0].mean() if reach[:, 0].mean() > (low[0] + high[0]) / 2 else high[0]
    size = tuple(int(n) for n in np.ceil(high - low))
    return np.array([[1, 0, -low[0]], [0, 1, -low[1]], [0, 0, 1.0]]) @ view, size


def _pose(random, tilt, width, height):
    """A pinhole above the paper's middle, tilted, turned anyhow; focal length 1."""
    toward, roll = random.uniform(0, 2 * np.pi, 2)
    axis = np.array([np.cos(toward), np.sin(toward), 0.0]) * tilt
    turn = cv2.Rodrigues(axis)[0] @ cv2.Rodrigues(np.array([0.0, 0.0, roll]))[0]
    away = float(np.hypot(width, height) * random.uniform(1.1, 2.2))
    middle = np.array([[1, 0, -width / 2], [0, 1, -height / 2], [0, 0, 1.0]])
    return np.column_stack([turn[:, 0], turn[:, 1], [0, 0, away]]) @ middle


def scale_at(view, width, height):
    """px a mm in the paper's middle."""
    beside = np.array([[width / 2, height / 2], [width / 2 + 1, height / 2]])
    return float(np.linalg.norm(np.diff(_through(view, beside), axis=0)))


def _sides(corners):
    return np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2)


def _middles(page, to_px):
    return _through(to_px, code_corners(page).mean(axis=1))


def _seen(page, to_px, size, random):
    """The page on a table, each pixel the mean of four."""
    table = cv2.resize(
        random.uniform(40, 170, (9, 12)).astype(np.float32), (2 * size[0], 2 * size[1])
    )
    # Pixel centres: of the flat page at (n + ½) / MM mm, of the doubled picture at (n − ½) / 2 px.
    flat = np.array([[1 / MM, 0, 0.5 / MM], [0, 1 / MM, 0.5 / MM], [0, 0, 1.0]])
    double = np.array([[2, 0, 0.5], [0, 2, 0.5], [0, 0, 1.0]])
    cv2.warpPerspective(
        page.astype(np.float32),
        double @ to_px @ flat,
        (2 * size[0], 2 * size[1]),
        table,
        flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_TRANSPARENT,
    )
    return cv2.resize(table, size, interpolation=cv2.INTER_AREA)


def _lit(seen, random, *, film, keep, burnt):
    """Uneven light, a shadow's soft edge, and on film glare that leaves the codes alone."""
    height, width = seen.shape
    u, v = np.meshgrid(np.linspace(-1, 1, width, dtype=np.float32), np.linspace(-1, 1, height))
    toward = random.uniform(0, 2 * np.pi)
    slope = np.cos(toward) * u + np.sin(toward) * v
    light = random.uniform(0.75, 1.0) * (1 - random.uniform(0, 0.3) * (slope + 1.4) / 2.8)
    edge = random.uniform(0, 2 * np.pi)
    beyond = np.cos(edge) * u + np.sin(edge) * v - random.uniform(-0.6, 0.9)
    light = light * (1 - random.uniform(0, 0.45) / (1 + np.exp(-beyond * random.uniform(6, 60))))
    seen = (10 + seen * light).astype(np.float32)
    for at in _glare(random, (width, height), film, keep, burnt):
        spot = np.exp(
            -(
                (
                    (u * width / 2 + width / 2 - at[0]) ** 2
                    + (v * height / 2 + height / 2 - at[1]) ** 2
                )
                / at[2] ** 2
            )
        )
        seen = seen + (255 if burnt else 150) * np.minimum(1.0, (2.5 if burnt else 1.0) * spot)
    return np.minimum(seen, 255.0).astype(np.float32)


def _glare(random, size, film, keep, burnt):
    """(u, v, radius) of spots; the codes are out of their reach unless burnt out on purpose."""
    reach = float(np.linalg.norm(keep[0] - keep[2]))
    if burnt:
        at = keep[random.integers(4)]
        return [(at[0], at[1], reach * 0.06)]
    if not film:
        return []
    spots = []
    while len(spots) < 3:
        at = random.uniform(0, 1, 2) * size
        if np.linalg.norm(keep - at, axis=1).min() > 0.22 * reach:
            spots.append((at[0], at[1], reach * float(random.uniform(0.02, 0.08))))
    return spots


def _through(matrix, points):
    mapped = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return mapped[:, :2] / mapped[:, 2:]
