"""Logging dives, mending them, and voiding them with a reason."""

import datetime
from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.local_time import clock, to_the_minute
from records.models import Dive, NumberKind, Season
from records.permissions import May
from records.queries.dive_states import entry_of
from records.refusals import Conflict, SavedAlready, Stale
from records.verbs.answers import NO_ANSWERS, kept_answers
from records.verbs.dive_checks import refuse_impossible
from records.verbs.dive_doubts import doubts
from records.verbs.dive_entry import DiveEntry
from records.verbs.dive_overlaps import lock_divers, neighbours, refuse_two_dives_at_once
from records.verbs.dive_rows import write_dive
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, current, made_before, verb, void
from records.verbs.numbers import take_numbers


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def log_dive(
    season: Season, entry: DiveEntry, key: UUID, answers: Mapping[str, str] = NO_ANSWERS
) -> Dive:
    """A new dive with the season's next number; the same form sent again is the same dive."""
    before = made_before(Dive, key)
    if before is not None:
        return _sent_again(season, before, entry)
    (number,) = take_numbers(season, NumberKind.DIVE, 1)
    confirmed = _checked(season, entry, None, answers)
    return write_dive(Dive(id=key, season=season, n=number), entry, confirmed)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def edit_dive(
    dive: Dive, entry: DiveEntry, seen_version: int, answers: Mapping[str, str] = NO_ANSWERS
) -> Dive:
    """Put the record right; history keeps what it said before."""
    row = current(Dive, dive.pk, None)
    _refuse_void(row)
    if entry.settled() == entry_of(row).settled():
        return row  # nothing to change: perhaps the same form, sent twice
    if row.version != seen_version:
        raise Stale(row, seen_version)
    return write_dive(row, entry, _checked(row.season, entry, row, answers))


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def surface(dive: Dive, at: datetime.datetime, answers: Mapping[str, str] = NO_ANSWERS) -> Dive:
    """The dive has reached the surface; depth, pressures and outcomes may follow as edits."""
    row = current(Dive, dive.pk, None)
    _refuse_void(row)
    at = to_the_minute(at)
    if row.reached_surface_at == at:
        return row
    if row.reached_surface_at is not None:
        raise Conflict(
            _("This dive has already surfaced, at %(time)s. Edit the dive to change it.")
            % {"time": clock(row.reached_surface_at, row.season.tz)}
        )
    entry = replace(entry_of(row), reached_surface_at=at)
    return write_dive(row, entry, _checked(row.season, entry, row, answers))


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_dive(dive: Dive, reason: str) -> Dive:
    """The dive and its number stay, marked void."""
    row = current(Dive, dive.pk, None)
    void(row, reason)
    return row


def _checked(
    season: Season, entry: DiveEntry, dive: Dive | None, answers: Mapping[str, str]
) -> dict[str, Any]:
    """Refuses what cannot be, asks what is unlikely; returns the answers to keep."""
    refuse_impossible(season, entry, dive)
    lock_divers(entry)
    near = neighbours(entry, dive)
    refuse_two_dives_at_once(entry, near)
    asked = doubts(season, entry, dive, near)
    return kept_answers(asked, answers, dive.answers if dive else {})


def _sent_again(season: Season, before: Dive, entry: DiveEntry) -> Dive:
    if before.season_id != season.pk:
        raise Conflict(_("This form was already used for another record. Open a new one."))
    if entry.settled() != entry_of(before).settled():
        raise SavedAlready(before)
    return before


def _refuse_void(dive: Dive) -> None:
    if dive.is_voided:
        raise Conflict(_("This dive is void and takes no changes."))
