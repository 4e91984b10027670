"""The base of a tower found by its printed markers: the door to `survey.base_corners`.

Proposed only: a person looks at the marks, and keeps them or not.
"""

from dataclasses import dataclass

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.intake.corners import BASE, corners_of
from records.models import Picture, TowerSetUp
from records.refusals import in_words
from survey.base_corners import (
    BaseSeen,
    CornerMark,
    corner_markers,
    see_base,
    stretch_of_markers,
)
from survey.errors import Unfit
from survey.markers import BaseMarker, Marker
from survey.marks import MarkedPlacement, place_by_marks
from survey.points import as_points

__all__ = ["BaseProposed", "CornerMark", "base_proposed", "bears_markers", "name_of"]

# Plates are fixed and taped to a few millimetres (common practice); a marker's size, seen in some
# tens of pixels, tells the base's to well below two hundredths.
DOUBTFUL_MM = 5.0
DOUBTFUL_STRETCH = 0.02
PLACES = (
    gettext_lazy("upper left"),
    gettext_lazy("upper right"),
    gettext_lazy("lower right"),
    gettext_lazy("lower left"),
)


@dataclass(frozen=True)
class BaseProposed:
    """What the markers in a picture say: `corners` by number from 1 (None: not seen), `further`
    corners of the markers; `words` on how well they agree. No marks where it is unfit."""

    words: str
    is_doubtful: bool = False
    corners: tuple[CornerMark | None, ...] = ()
    further: tuple[CornerMark, ...] = ()


def bears_markers(set_up: TowerSetUp) -> bool:
    """Whether the sizes are known that a proposal needs."""
    return bool(_markers_of(set_up))


def _markers_of(set_up: TowerSetUp) -> tuple[BaseMarker, ...]:
    side_mm, width_m, depth_m = set_up.base_marker_mm, set_up.base_x_m, set_up.base_y_m
    if not side_mm or not width_m or not depth_m:
        return ()
    return corner_markers(width_m, depth_m, min(side_mm / 1000, width_m / 2, depth_m / 2))


def base_proposed(set_up: TowerSetUp, picture: Picture) -> BaseProposed | None:
    """None while the picture was not looked at."""
    found = corners_of([picture], BASE).get(picture.pk)
    size, base = picture.upright_size_px, _markers_of(set_up)
    if found is None or size is None or not base:
        return None
    markers = [Marker(one[0], as_points(one[1:], (8,)).reshape(4, 2)) for one in found]
    seen = see_base(markers, base)
    if isinstance(seen, Unfit):
        return BaseProposed(in_words(seen), is_doubtful=True)
    fitted = place_by_marks(
        [(one.u_px, one.v_px) for one in seen.marks],
        [(one.x_m, one.y_m) for one in seen.marks],
        *size,
        None if set_up.lens is None else set_up.lens.as_value,
    )
    if isinstance(fitted, Unfit):
        return BaseProposed(in_words(fitted), is_doubtful=True)
    return _told(seen, fitted, _stretched(set_up, seen, fitted))


def _stretched(set_up: TowerSetUp, seen: BaseSeen, fitted: MarkedPlacement) -> str:
    """What the markers' own size says of the base's, where it disagrees."""
    along_x, along_y = stretch_of_markers(seen, fitted.placement)
    if max(abs(along_x - 1), abs(along_y - 1)) < DOUBTFUL_STRETCH:
        return ""
    words = _(
        "By the size of its markers the base would be %(width)s × %(depth)s cm, not %(x)s × %(y)s "
        "cm as noted: measure base and markers again."
    )
    if set_up.lens is None:
        words = _(
            "By the size of its markers the base would be %(width)s × %(depth)s cm, not %(x)s × "
            "%(y)s cm as noted: base or markers measure otherwise, or the lens, which is not known "
            "yet, bends the picture."
        )
    return words % {
        "width": _figure(100 * (set_up.base_x_m or 0.0) / along_x, 0),
        "depth": _figure(100 * (set_up.base_y_m or 0.0) / along_y, 0),
        "x": _figure(100 * (set_up.base_x_m or 0.0), 1),
        "y": _figure(100 * (set_up.base_y_m or 0.0), 1),
    }


def name_of(mark: CornerMark) -> str:
    """As a point of the desk is called."""
    return _("marker %(n)d, %(corner)s") % {"n": mark.number, "corner": PLACES[mark.corner]}


def _told(seen: BaseSeen, fitted: MarkedPlacement, stretched: str) -> BaseProposed:
    outer = {one.number: one for one in seen.marks if one.is_outer}
    words, doubtful = _agreement(len(seen.marks), fitted)
    more = _missing(seen.missing) if seen.missing else ""
    return BaseProposed(
        " ".join(filter(None, [words, stretched, more])),
        doubtful or bool(stretched),
        tuple(outer.get(number) for number in (1, 2, 3, 4)),
        tuple(one for one in seen.marks if not one.is_outer),
    )


def _agreement(count: int, fitted: MarkedPlacement) -> tuple[str, bool]:
    rms_mm = 1000 * (fitted.rms_m or 0.0)  # there is one: eight marks or more
    values = {"count": count, "px": _figure(fitted.rms_px or 0.0, 2), "mm": _figure(rms_mm, 1)}
    if rms_mm > DOUBTFUL_MM:
        words = _(
            "%(count)d corners of the base's markers were found, but they disagree by %(px)s px, "
            "%(mm)s mm (root mean square): the size of the base or of the markers is wrong, a "
            "plate has shifted or hangs on the wrong corner, or the lens bends the picture."
        )
        return words % values, True
    words = _(
        "%(count)d corners of the base's markers were found and agree within %(px)s px, %(mm)s mm "
        "(root mean square). They are proposed here."
    )
    return words % values, False


def _figure(number: float, decimals: int) -> str:
    return str(formats.number_format(number, decimals))


def _missing(numbers: tuple[int, ...]) -> str:
    named = ", ".join(str(number) for number in numbers)
    return _("Not seen: marker %(numbers)s. Mark the base's corner there by hand.") % {
        "numbers": named
    }
