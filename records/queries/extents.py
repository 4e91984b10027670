"""Who said how much of a square a drawing shows, and when: read from the history, in one query."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any
from uuid import UUID

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from records.models import Account, Drawing, DrawnSquare, Extent, Square
from records.queries.changes import Change, Entry, entries


@dataclass(frozen=True)
class ExtentSaid:
    """`was`, `now`: in words, empty where nobody had said. `by`: the account's key, if any."""

    at: datetime.datetime
    by: UUID | None
    was: str
    now: str


def extents_said(drawn: Sequence[DrawnSquare]) -> dict[UUID, list[ExtentSaid]]:
    """Of each what was said as it came in (it may be nothing), then each change.

    History is asked of those only that were changed since."""
    changed = [one.pk for one in drawn if one.version > 1]
    said = {
        one.pk: [ExtentSaid(one.made_at, one.made_by_id, "", _words(one))]
        for one in drawn
        if one.version == 1
    }
    for row in _history(changed) if changed else ():
        before = said.setdefault(row.id, [])
        was, now = before[-1].now if before else "", _words(row)
        if not before or was != now:
            before.append(ExtentSaid(row.history_date, row.history_user_id, was, now))
    return said


def _history(keys: list[UUID]) -> Any:
    return DrawnSquare.history.filter(id__in=keys).order_by("history_date", "history_id")


def _words(row: Any) -> str:
    return str(Extent(row.extent).label) if row.extent else ""


def history_of(drawing: Drawing) -> list[Entry]:
    """The drawing's own, and what was said of its squares, the latest first."""
    squares = list(
        DrawnSquare.objects.filter(drawing=drawing).prefetch_related(
            Prefetch("square", Square.objects.labelled())
        )
    )
    labels = {one.pk: one.square.label for one in squares}
    all_said = extents_said(squares)
    who = Account.objects.in_bulk({one.by for said in all_said.values() for one in said} - {None})
    told = [
        Entry(
            at=one.at,
            who=str(who.get(one.by) or _("the system")),
            what=labels[key],
            changes=[Change(_("drawn"), one.was or None, one.now)],
        )
        for key, said in all_said.items()
        for one in said
        if one.now
    ]
    return sorted([*entries(drawing), *told], key=attrgetter("at"), reverse=True)
