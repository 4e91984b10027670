"""A picture of a printed sheet or board: which it is, and which pixel is which mm of its paper."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

import cv2
import numpy as np

from survey.code_edges import ByteArray, demand_grey, detector_parameters, module_px, sharpened
from survey.errors import Unfit, gettext_noop
from survey.homography import homography_by_dlt, inverted, project, refine_homography
from survey.points import FloatArray
from survey.print_codes import (
    DICTIONARY,
    PrintIdentity,
    identity_of,
    key_said,
    place_of,
    qr_agrees,
)
from survey.print_layout import CODE_MODULES, Box, PrintLayout

# Larger pictures are searched at half their size first; corners are taken from the whole one.
_LARGE_PX = 3000
# Print, paper and a flat surface agree within this; beyond it a sheet is curled or creased.
MOST_RMS_MM = 1.0
_MOST_OFF_MM = 2.5
# OpenCV's reader takes most codes at one size and nearly all at one of several.
_QR_PX_A_MM = (18.0, 22.0, 14.0)
_QR_ENLARGED = (1, 2)
_SMALL_PX = 2000  # as large as a whole picture may be to be enlarged

_MISSING = (
    gettext_noop("The upper left corner code is not seen: it must be whole, clean and sharp."),
    gettext_noop("The upper right corner code is not seen: it must be whole, clean and sharp."),
    gettext_noop("The lower right corner code is not seen: it must be whole, clean and sharp."),
    gettext_noop("The lower left corner code is not seen: it must be whole, clean and sharp."),
)


@dataclass(frozen=True, eq=False)
class SeenPrint:
    """A print found in a picture.

    `corners_px`: (4, 4, 2) of u, v, px, as `PrintLayout.code_corners_mm` orders them.
    """

    identity: PrintIdentity
    corners_px: FloatArray

    @property
    def module_px(self) -> float:
        """The width of a module of the smallest code, px."""
        return min(module_px(corners, CODE_MODULES) for corners in self.corners_px)

    @property
    def turn_deg(self) -> float:
        """How far the print is turned clockwise in the picture, −180 to 180."""
        middles = self.corners_px.mean(axis=1)
        right = middles[1] - middles[0] + middles[2] - middles[3]
        return math.degrees(math.atan2(right[1], right[0]))


@dataclass(frozen=True, eq=False)
class RegisteredPrint:
    """`to_mm`: (3, 3), picture px → mm of paper. `rms_mm`: of the 16 corners, √(vᵀv/n); `qr`: the
    text of the QR code, empty where it could not be read."""

    seen: SeenPrint
    to_mm: FloatArray
    rms_mm: float
    qr: str


def read_print(grey: ByteArray) -> SeenPrint | Unfit:
    """Which print a picture shows, and where its codes' corners lie.

    Read where all four codes are whole, with their white rim, and at least 4 px a module, however
    the print lies. Unfit, with the reason: none or too few of its codes, two prints, codes that
    do not belong together, a mirror image. `grey`: (h, w) uint8. Raises ValueError for another
    array.
    """
    demand_grey(grey)
    found = _found(grey)
    reason = _why_not(grey, found)
    if reason is not None:
        return reason
    identity = identity_of({place_of(code): code for code, _corners in found})
    if isinstance(identity, Unfit):
        return identity
    corners = np.stack([corners for _code, corners in sorted(found, key=lambda one: one[0])])
    if not _goes_round(corners.mean(axis=1)):
        return _two_prints()
    exact = np.stack([sharpened(grey, one, CODE_MODULES) for one in corners])
    return SeenPrint(identity, exact)


def register_print(
    grey: ByteArray, seen: SeenPrint, layout: PrintLayout
) -> RegisteredPrint | Unfit:
    """Where the paper lies in the picture: the homography with the least Σ‖v‖² of the 16 corners.

    Unfit: the codes do not lie as on this layout (curled, creased, or another print), or the QR
    code names another print. `grey`: the picture that `seen` was read from.
    """
    paper, picture = layout.code_corners_mm().reshape(-1, 2), seen.corners_px.reshape(-1, 2)
    to_px = refine_homography(homography_by_dlt(paper, picture), paper, picture)
    to_mm = inverted(to_px)
    off = np.linalg.norm(project(to_mm, picture)[0] - paper, axis=1)
    rms = float(np.sqrt((off**2).mean()))
    if not np.isfinite(rms) or rms > MOST_RMS_MM or off.max() > _MOST_OFF_MM:
        sentence = gettext_noop(
            "The codes do not lie as they were printed: they are off by %(rms)s mm. Lay the sheet "
            "flat and scan it again, or mark its corners by hand."
        )
        return Unfit("not-flat", sentence, {"rms": round(rms, 1)})
    qr = _qr_text(grey, to_px, layout.qr)
    if qr and not qr_agrees(qr, seen.identity):
        sentence = gettext_noop(
            "The QR code and the four corner codes name different sheets. Scan the sheet alone, "
            "or mark its corners by hand."
        )
        return Unfit("qr-disagrees", sentence)
    return RegisteredPrint(seen, to_mm, rms, qr)


def key_by_qr(grey: ByteArray) -> UUID | None:
    """The key of the print whose QR code is seen anywhere in a picture; None where none is read.

    It says which print, never where it lies: for pictures that `read_print` finds unfit.
    `grey`: (h, w) uint8. Raises ValueError for another array.
    """
    demand_grey(grey)
    for k in _QR_ENLARGED if max(grey.shape) <= _SMALL_PX else (1,):
        seen = grey if k == 1 else cv2.resize(grey, None, fx=k, fy=k, interpolation=cv2.INTER_CUBIC)
        key = key_said(_decoded(seen))
        if key is not None:
            return key
    return None


def squares_px(
    registered: RegisteredPrint, layout: PrintLayout, points_m: FloatArray
) -> FloatArray:
    """Where points of the squares lie in the picture: (n, 2), m from their lowest left corner →
    (n, 2) of u, v, px."""
    return project(inverted(registered.to_mm), layout.to_paper(points_m))[0]


def _found(grey: ByteArray) -> list[tuple[int, FloatArray]]:
    """Codes with their corners, coarsely; at half size where that shows all four."""
    if max(grey.shape) > _LARGE_PX and min(grey.shape) > 1:
        half = cv2.resize(grey, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        found = _searched(np.asarray(half, dtype=np.uint8))
        if len(found) >= 4:
            k = np.array([grey.shape[1] / half.shape[1], grey.shape[0] / half.shape[0]])
            return [(code, (corners + 0.5) * k - 0.5) for code, corners in found]
    return _searched(grey)


def _searched(grey: ByteArray) -> list[tuple[int, FloatArray]]:
    grey = np.ascontiguousarray(grey)
    parameters = detector_parameters(grey, CODE_MODULES)
    corners, codes, _ = cv2.aruco.ArucoDetector(DICTIONARY, parameters).detectMarkers(grey)
    if codes is None:
        return []
    return [
        (int(code), one.reshape(4, 2).astype(np.float64))
        for code, one in zip(np.ravel(codes), corners, strict=True)
    ]


def _why_not(grey: ByteArray, found: Sequence[tuple[int, FloatArray]]) -> Unfit | None:
    places = Counter(place_of(code) for code, _corners in found)
    if any(count > 1 for count in places.values()):
        return _two_prints()
    if len(places) == 4:
        return None
    if not places:
        if _searched(np.ascontiguousarray(grey[:, ::-1])):
            sentence = gettext_noop(
                "The picture is a mirror image: sheet or film was scanned from its back. Turn it "
                "over and scan it again."
            )
            return Unfit("mirrored", sentence)
        sentence = gettext_noop(
            "None of the four corner codes is seen. If it is one of our sheets, scan it whole, "
            "flat and sharp; else mark its corners by hand."
        )
        return Unfit("no-codes", sentence)
    missing = [n for n in range(4) if n not in places]
    if len(missing) == 1:
        return Unfit("code-missing", _MISSING[missing[0]])
    sentence = gettext_noop(
        "Of the four corner codes %(count)s are seen. All must be in the picture, whole, clean "
        "and sharp."
    )
    return Unfit("codes-missing", sentence, {"count": len(places)})


def _two_prints() -> Unfit:
    sentence = gettext_noop("There are two sheets in this picture. Scan each by itself.")
    return Unfit("two-prints", sentence)


def _goes_round(middles: FloatArray) -> bool:
    """Whether the four stand round a convex shape in the order of the print, seen from in front."""
    sides = np.roll(middles, -1, axis=0) - middles
    following = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * following[:, 1] - sides[:, 1] * following[:, 0]
    return bool((turns > 0.0).all())


def _qr_text(grey: ByteArray, to_px: FloatArray, box: Box) -> str:
    """The text of the QR code, drawn straight from the picture; empty where it is not read."""
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    for px_a_mm in _QR_PX_A_MM:
        size, mm = round(box.width_mm * px_a_mm), 1 / px_a_mm
        to_mm = np.array(
            [[mm, 0.0, box.x_mm + 0.5 * mm], [0.0, mm, box.y_mm + 0.5 * mm], [0.0, 0.0, 1.0]]
        )
        straight = cv2.warpPerspective(
            grey, to_px @ to_mm, (size, size), flags=flags, borderMode=cv2.BORDER_REPLICATE
        )
        if text := _decoded(straight):
            return text
    return ""


def _decoded(grey: cv2.typing.MatLike) -> str:
    """Empty where there is none, and where a picture is too narrow to hold one."""
    try:
        text, _points, _modules = cv2.QRCodeDetector().detectAndDecode(grey)
    except cv2.error:
        return ""
    return str(text)
