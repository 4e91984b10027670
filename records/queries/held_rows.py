"""Which rows of an accepted card are held, and which may be shifted as a whole, in words."""

from dataclasses import dataclass

from django.utils.formats import localize
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.intake.held_rows import held_rows
from records.intake.opinions import RunOpinions
from records.intake.run_verdict import still_looked_at
from records.models import Card


@dataclass(frozen=True)
class RowsTold:
    """`notes`: what holds which rows; `remarks`: those that may be shifted as a whole."""

    notes: list[str]
    remarks: list[str]


def rows_told(card: Card, opinions: RunOpinions) -> RowsTold:
    """While pictures are still looked at or compared nothing is called doubtful."""
    rows = held_rows(card, opinions)
    notes = []
    if rows.anchored:
        words = ngettext(
            "Row %(rows)s is held by boards or tags in its frames.",
            "Rows %(rows)s are held by boards or tags in their frames.",
            len(rows.anchored),
        )
        notes.append(words % {"rows": _listed(rows.anchored)})
    if rows.beside:
        words = ngettext(
            "Row %(rows)s has no board or tag, but its frames show the same ground as those beside "
            "them, where it should lie.",
            "Rows %(rows)s have no board or tag, but their frames show the same ground as those "
            "beside them, where it should lie.",
            len(rows.beside),
        )
        notes.append(words % {"rows": _listed(rows.beside)})
    if not rows.loose or not rows.all_looked_at or still_looked_at(card.run):
        return RowsTold(notes, [])
    words = ngettext(
        "Nothing in its frames says where row %(rows)s is: it may be shifted as a whole. Compare "
        "its first frame with the plan.",
        "Nothing in their frames says where rows %(rows)s are: each may be shifted as a whole. "
        "Compare their first frames with the plan.",
        len(rows.loose),
    )
    return RowsTold(notes, [words % {"rows": _listed(rows.loose)}])


def _listed(rows: tuple[int, ...]) -> str:
    return get_text_list([localize(row) for row in rows], _("and"))
