"""What nobody could read from the codes: how much of a square is drawn, and how the frame lay.

Each is said by whoever knows it, and what is said already is never overwritten unseen.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import Drawing, DrawnSquare, Extent
from records.queries.checks import of_latest_check
from records.refusals import Conflict, Refused
from records.verbs.guard import save_in_words


@dataclass(frozen=True)
class ExtentEntry:
    """Of one drawn square; `seen`: what the form showed, empty where nobody had said."""

    drawn: UUID
    extent: str
    seen: str = ""


def say_extent(row: DrawnSquare, extent: str) -> None:
    """Of a square of which nobody has; part of a guarded verb, the row locked."""
    if extent in ("", row.extent):
        return
    if row.extent:
        raise _said_meanwhile(row)
    row.extent = extent
    save_in_words(row)


def say_frame(drawing: Drawing, frame_lies: str) -> None:
    """Of a sheet of which nobody has; part of a guarded verb, the row locked."""
    if frame_lies in ("", drawing.frame_lies):
        return
    if drawing.frame_lies:
        raise Conflict(
            _("Somebody has said meanwhile that the frame lay %(how)s. Look at the drawing again.")
            % {"how": drawing.get_frame_lies_display()}
        )
    drawing.frame_lies = frame_lies
    save_in_words(drawing)


def mend_extents(drawing: Drawing, entries: Sequence[ExtentEntry]) -> None:
    """Of squares that wait for their check; part of a guarded verb, the drawing locked.

    Once checked, a square is marked anew, so that another extent does not count unchecked.
    """
    changed = {one.drawn: one for one in entries if one.extent != one.seen}
    rows: Any = DrawnSquare.objects.standing().filter(drawing=drawing, pk__in=changed)
    rows = rows.annotate(verdict=of_latest_check("verdict"))
    for row in rows.select_for_update(of=("self",)).order_by("pk"):
        entry = changed[row.pk]
        if row.extent == entry.extent:
            continue
        if row.verdict is not None:
            raise Refused(
                _("%(square)s was checked meanwhile. Mark it anew to say how much of it is drawn.")
                % {"square": row.square}
            )
        if row.extent != entry.seen:
            raise _said_meanwhile(row)
        row.extent = entry.extent
        save_in_words(row)


def _said_meanwhile(row: DrawnSquare) -> Conflict:
    return Conflict(
        _("Somebody has said meanwhile of %(square)s: %(extent)s. Open this page again to mend it.")
        % {"square": row.square, "extent": Extent(row.extent).label}
    )
