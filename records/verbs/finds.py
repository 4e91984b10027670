"""Finds: registered, mended, voided. Human remains and ordnance are restricted, and stay in place.

A new find closes with the fieldwork; what is said of a find stays open until the archive is
deposited.
"""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import Find, NumberKind, Restriction, Season
from records.permissions import May
from records.refusals import Conflict, Refused, SavedAlready
from records.verbs.answers import NO_ANSWERS, kept_answers
from records.verbs.blocks import use_number
from records.verbs.find_checks import doubts, refuse_impossible, standing_find
from records.verbs.find_entry import FindEntry, said_of
from records.verbs.fixes import follow_the_square, save_because
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    UNTIL_FIELDWORK_CLOSED,
    made_before,
    save_in_words,
    verb,
    void,
)
from records.verbs.numbers import take_numbers


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def register_find(
    season: Season,
    entry: FindEntry,
    id: UUID,
    *,
    tag: int | None = None,
    answers: Mapping[str, str] = NO_ANSWERS,
) -> Find:
    """A find under its tag, a number of a block given out ahead, or under the next number.

    With a restriction it is a report for the leads: unlikely values are not asked about, and a
    square needs no open stage, so that nothing holds it up.
    """
    said = said_of(season, entry)
    if (known := made_before(Find, id)) is not None:
        return _sent_again(known, season, said)
    refuse_impossible(season, entry)
    if tag is not None and entry.restriction != Restriction.NONE:
        raise Refused(_("No tag is put to this: it is left where it lies."), field="tag")
    confirmed = kept_answers(doubts(season, entry), answers, {})
    n = _next(season) if tag is None else use_number(season, NumberKind.FIND, tag)
    return save_in_words(Find(id=id, season=season, n=n, answers=confirmed, **said))


@verb(May.RECORD, UNTIL_DEPOSITED)
def edit_find(
    find: Find,
    entry: FindEntry,
    seen_version: int | None,
    answers: Mapping[str, str] = NO_ANSWERS,
) -> Find:
    """What is said of a find; its number stays, and so does its restriction."""
    row = standing_find(find, seen_version)
    refuse_impossible(row.season, entry, row)
    asked = doubts(row.season, entry) if not row.is_restricted else {}
    row.answers = kept_answers(asked, answers, row.answers)
    before = row.square
    for name, value in said_of(row.season, entry).items():
        if name != "restriction":
            setattr(row, name, value)
    save_in_words(row)
    follow_the_square(row, before)
    return row


@verb(May.RECORD, UNTIL_DEPOSITED)
def restrict_find(find: Find, restriction: str, words: str = "") -> Find:
    """It may be human remains or ordnance after all; that it is not, a lead says, and why."""
    row = standing_find(find)
    if restriction == row.restriction:
        return row
    if row.is_restricted and not words.strip():
        raise Refused(_("Say who has judged it, and how."), field="reason")
    row.restriction = restriction
    return save_because(row, words.strip())


@verb(May.LEAD, UNTIL_DEPOSITED)
def void_find(find: Find, reason: str) -> Find:
    """The find and its number stay, marked void."""
    row = standing_find(find)
    void(row, reason)
    return row


def _next(season: Season) -> int:
    return take_numbers(season, NumberKind.FIND, 1)[0]


def _sent_again(known: Find, season: Season, said: dict[str, Any]) -> Find:
    if known.season_id == season.pk and all(
        getattr(known, name) == value for name, value in said.items()
    ):
        return known
    if known.is_restricted:
        raise Conflict(
            _("This report was saved already. Tell the recording lead what else there is to say.")
        )
    raise SavedAlready(known)
