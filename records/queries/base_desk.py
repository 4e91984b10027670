"""What the desk for a set-up's base begins with: marks made before, or those that its printed
markers propose."""

from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from records.intake.base_seen import (
    BaseProposed,
    CornerMark,
    base_proposed,
    bears_markers,
    name_of,
)
from records.intake.corners import BASE, why_not_looked_at
from records.models import Picture, TowerSetUp
from records.queries.set_ups import base_seen

HAND, MARKERS = "hand", "markers"


@dataclass(frozen=True)
class DeskStart:
    """`words` on the markers, or none where the base bears none; `offers`: the other way to
    begin, as the address says it."""

    corners: dict[str, Any] = field(default_factory=dict)
    further: list[dict[str, Any]] = field(default_factory=list)
    words: str = ""
    is_waiting: bool = False
    is_doubtful: bool = False
    by: str = HAND
    offers: str = ""


def desk_start(set_up: TowerSetUp, picture: Picture, by: str) -> DeskStart:
    """Markers' marks are put on the desk where nobody marked this picture yet, or on demand."""
    corners, further = base_seen(set_up, picture)
    if not bears_markers(set_up):
        return DeskStart(corners, further)
    found = base_proposed(set_up, picture)
    if found is None and (words := why_not_looked_at([picture], BASE)[picture.pk]):
        return DeskStart(corners, further, words, is_doubtful=True)
    if found is None:
        words = _("The base's printed markers are being looked for in this picture.")
        return DeskStart(corners, further, words, is_waiting=True)
    if not found.further:
        return DeskStart(corners, further, found.words, is_doubtful=True)
    is_marked = "c0_u" in corners
    if by == HAND or (is_marked and by != MARKERS):
        return DeskStart(
            corners, further, found.words, is_doubtful=found.is_doubtful, offers=MARKERS
        )
    kept = {name: corners[name] for name in ("width_cm", "depth_cm")}
    return DeskStart(
        kept | _corners(found),
        [_further(mark) for mark in found.further],
        found.words,
        is_doubtful=found.is_doubtful,
        by=MARKERS,
        offers=HAND,
    )


def _corners(found: BaseProposed) -> dict[str, Any]:
    seen: dict[str, Any] = {}
    for number, mark in enumerate(found.corners):
        if mark is not None:
            seen |= {f"c{number}_u": round(mark.u_px, 2), f"c{number}_v": round(mark.v_px, 2)}
    return seen


def _further(mark: CornerMark) -> dict[str, Any]:
    return {
        "name": name_of(mark),
        "x_cm": round(mark.x_m * 100, 2),
        "y_cm": round(mark.y_m * 100, 2),
        "u": round(mark.u_px, 2),
        "v": round(mark.v_px, 2),
    }
