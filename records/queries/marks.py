"""How well the marks of a placement agree, told to a person."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.formats import localize
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import Frame, Mark, Photograph, PlacedBy, Placement


@dataclass(frozen=True)
class MarkTold:
    """A mark with how far the others would put it from where it was seen."""

    label: str
    x_m: float
    y_m: float
    off_px: str
    off_mm: str

    @property
    def x_cm(self) -> float:
        return self.x_m * 100

    @property
    def y_cm(self) -> float:
        return self.y_m * 100


@dataclass(frozen=True)
class VersionTold:
    placement: Placement
    is_in_force: bool
    is_replaced: bool
    fit: str
    mm_a_pixel: str
    marks: list[MarkTold]


def fit_told(placement: Placement) -> str:
    if placement.method == PlacedBy.FOOTPRINT:
        return _("Placed by the typed footprint, as if the camera looked straight down.")
    if placement.method == PlacedBy.STATION:
        return _("Placed by its station: only as good as the set-up and the tower's stand.")
    freedom, rms_mm = placement.degrees_of_freedom, placement.rms_mm
    if not freedom or rms_mm is None:
        return _(
            "Four points always fit exactly, so they prove nothing: a wrong one would not show. "
            "A fifth point checks the other four."
        )
    agree = _("%(count)d points agree within %(px)s px, %(mm)s mm (root mean square).") % {
        "count": freedom // 2 + 4,
        "px": one_figure(placement.rms_px),
        "mm": one_figure(rms_mm),
    }
    sigma = ngettext(
        "One marked coordinate is uncertain by σ̂ = %(px)s px (%(freedom)d degree of freedom).",
        "One marked coordinate is uncertain by σ̂ = %(px)s px (%(freedom)d degrees of freedom).",
        freedom,
    ) % {"px": one_figure(placement.sigma_px), "freedom": freedom}
    return f"{agree} {sigma}"


def fit_of(frame: Frame) -> str:
    return fit_told(frame.placement) if frame.placement else ""


@dataclass(frozen=True)
class PlacedTold:
    """How a photograph lies on the grid."""

    fit: str
    pixel: str
    """What one covers."""
    marks: list[MarkTold]


def placed_told(photograph: Photograph) -> PlacedTold | None:
    """None where it is not placed, or left out."""
    placements = Placement.objects.filter(frames__photograph=photograph)
    placement = placements.prefetch_related("marks").first()
    if placement is None:
        return None
    marks = sorted(placement.marks.all(), key=lambda one: one.made_at)
    return PlacedTold(
        fit_told(placement),
        _pixel_told(placement),
        marks_told(placement, marks),
    )


def _pixel_told(placement: Placement) -> str:
    finest, coarsest = (one_figure(mm) for mm in placement.mm_a_pixel_range)
    if finest == coarsest:
        return _("A pixel covers %(mm)s mm.") % {"mm": finest}
    words = _("A pixel covers from %(finest)s to %(coarsest)s mm.")
    return words % {"finest": finest, "coarsest": coarsest}


def marks_told(placement: Placement, marks: Iterable[Mark]) -> list[MarkTold]:
    """Four marks leave no residual to tell."""
    value, told = placement.as_value, []
    for mark in marks:
        off_px = off_mm = ""
        if placement.degrees_of_freedom:
            off_px, off_mm = (one_figure(off) for off in mark.residual(value))
        told.append(MarkTold(mark.label, mark.x_m, mark.y_m, off_px, off_mm))
    return told


def one_figure(number: float | None) -> str:
    if number is None:
        return "–"
    return str(localize(round(number, 2 if number < 1 else 1)))
