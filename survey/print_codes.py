"""What the four codes of a printed sheet or board say, and what its QR code says beside them.

Codes are those of OpenCV's dictionary `DICT_7X7_1000`, which no other print of ours bears: run
boards, base markers and square tags have `DICT_6X6_1000`, the calibration board `DICT_5X5_100`.
Each code says which corner of the paper it stands at (250 numbers a corner) and one digit of the
sheet's number to the base 250; the fourth digit checks the other three: any one digit that is
read wrong is noticed, and so are 249 of 250 mixtures of two sheets.
"""

import enum
import re
from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

import cv2
import numpy as np
import numpy.typing as npt

from survey.errors import Unfit, gettext_noop
from survey.print_layout import CODE_MODULES, LAYOUT_VERSION

BoolArray = npt.NDArray[np.bool_]

DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_7X7_1000)

_BASE = 250
_WEIGHTS = (7, 11, 13)  # without a factor in common with 250: no single slip cancels
_VERSIONS = 4
SHORTS = _BASE**3 // (2 * _VERSIONS)
"""So many numbers of prints there are; a site that has printed two alike draws anew."""

_QR = re.compile(r"SEABED:([SB]):([0-9A-F]{32})")


class PrintKind(enum.StrEnum):
    """What was printed: a sheet for certain squares, or a board for film, for any."""

    SHEET = "sheet"
    BOARD = "board"


_LETTER = {PrintKind.SHEET: "S", PrintKind.BOARD: "B"}


@dataclass(frozen=True)
class PrintIdentity:
    """Which print it is: `short` from 0 to `SHORTS` − 1. Raises ValueError for another."""

    kind: PrintKind
    short: int
    version: int = LAYOUT_VERSION

    def __post_init__(self) -> None:
        if not 0 <= self.short < SHORTS or not 0 <= self.version < _VERSIONS:
            raise ValueError(f"There is no print {self.short!r}, version {self.version!r}.")


def short_of(key: UUID) -> int:
    """The number that stands in the codes for a print's key."""
    return key.int % SHORTS


def codes_of(identity: PrintIdentity) -> tuple[int, int, int, int]:
    """The codes (0 to 999) at the upper left, upper right, lower right and lower left."""
    number = (identity.short * 2 + list(PrintKind).index(identity.kind)) * _VERSIONS
    number += identity.version
    digits = [number // _BASE**2, number // _BASE % _BASE, number % _BASE]
    digits.append(_check(digits))
    first, second, third, fourth = (_BASE * n + digit for n, digit in enumerate(digits))
    return first, second, third, fourth


def place_of(code: int) -> int:
    """At which corner of the paper a code stands: 0 upper left, then clockwise."""
    return code // _BASE


def identity_of(codes: Mapping[int, int]) -> PrintIdentity | Unfit:
    """Which print bears these codes, by place (0 to 3). Unfit: the check digit does not agree.

    Raises ValueError for other than one code a place.
    """
    if sorted(codes) != [0, 1, 2, 3] or any(place_of(code) != n for n, code in codes.items()):
        raise ValueError(f"A print is read from one code a corner, not {dict(codes)!r}.")
    digits = [codes[n] % _BASE for n in range(4)]
    number = (digits[0] * _BASE + digits[1]) * _BASE + digits[2]
    version, rest = number % _VERSIONS, number // _VERSIONS
    is_known = 1 <= version <= LAYOUT_VERSION  # prints that hang in the shed stay in use
    if _check(digits[:3]) != digits[3] or rest // 2 >= SHORTS or not is_known:
        sentence = gettext_noop(
            "The four codes do not belong together: two sheets overlap in the picture, or a code "
            "is damaged. Scan the sheet alone, or mark its corners by hand."
        )
        return Unfit("codes-disagree", sentence)
    return PrintIdentity(list(PrintKind)[rest % 2], rest // 2, version)


def code_modules(code: int) -> BoolArray:
    """The modules of a code with its border, (9, 9), true where black; row 0 is the upper one.

    Raises ValueError for a number that is no code.
    """
    if not 0 <= code < 4 * _BASE:
        raise ValueError(f"There is no code {code!r}.")
    return np.asarray(cv2.aruco.generateImageMarker(DICTIONARY, code, CODE_MODULES) < 128)


def qr_text(kind: PrintKind, key: UUID) -> str:
    """What the QR code beside the codes says: capitals and digits only, so that it stays small."""
    return f"SEABED:{_LETTER[kind]}:{key.hex.upper()}"


def qr_agrees(text: str, identity: PrintIdentity) -> bool:
    """Whether a QR code's text names the same print as the codes."""
    said = _QR.fullmatch(text)
    return said is not None and (
        said[1] == _LETTER[identity.kind] and short_of(UUID(said[2])) == identity.short
    )


def key_said(text: str) -> UUID | None:
    """The key that a QR code's text names; None where it names no print."""
    said = _QR.fullmatch(text)
    return UUID(said[2]) if said else None


def _check(digits: list[int]) -> int:
    return (1 + sum(w * d for w, d in zip(_WEIGHTS, digits, strict=True))) % _BASE
