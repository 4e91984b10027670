"""Opening, mending and voiding diving days: the record of a day's diving operation."""

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from records.models import Dive, DivingDay, Season, SupervisorShift
from records.permissions import May
from records.queries.day_changes import day_entry_of
from records.refusals import Conflict, Faults, Refused, SavedAlready, Stale
from records.verbs.answers import NO_ANSWERS, kept_answers
from records.verbs.day_entry import DayEntry, ShiftEntry
from records.verbs.dive_entry import plain_values
from records.verbs.guard import UNTIL_FIELDWORK_CLOSED, current, made_before, verb, void
from records.verbs.pen import Pen


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def open_day(
    season: Season, entry: DayEntry, key: UUID, answers: Mapping[str, str] = NO_ANSWERS
) -> DivingDay:
    """Once a date and vessel; the same form sent again is the same day."""
    before = made_before(DivingDay, key)
    if before is not None:
        if before.season_id != season.pk or entry.settled() != day_entry_of(before).settled():
            raise SavedAlready(before)
        return before
    confirmed = _checked(season, entry, None, answers)
    return _write(DivingDay(id=key, season=season), entry, confirmed)


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def edit_day(
    day: DivingDay, entry: DayEntry, seen_version: int, answers: Mapping[str, str] = NO_ANSWERS
) -> DivingDay:
    row = current(DivingDay, day.pk, None)
    if row.is_voided:
        raise Conflict(_("This diving day is void and takes no changes."))
    if entry.settled() == day_entry_of(row).settled():
        return row  # nothing to change: perhaps the same form, sent twice
    if row.version != seen_version:
        raise Stale(row, seen_version)
    return _write(row, entry, _checked(row.season, entry, row, answers))


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_day(day: DivingDay, reason: str) -> DivingDay:
    row = current(DivingDay, day.pk, None)
    standing = _standing_dives(row).count()
    if standing:
        raise Refused(
            _("Dives stand on this day (%(count)s). Void them first, or move them to another day.")
            % {"count": standing}
        )
    void(row, reason)
    return row


def _standing_dives(day: DivingDay) -> Any:
    return Dive.objects.standing().filter(day=day)


def _checked(
    season: Season, entry: DayEntry, day: DivingDay | None, answers: Mapping[str, str]
) -> dict[str, Any]:
    found = [*_of_fields(entry), *_of_shifts(entry), *_of_other_rows(season, entry, day)]
    if found:
        raise Faults(found)
    return kept_answers(dict(_doubts(season, entry)), answers, day.answers if day else {})


def _of_fields(entry: DayEntry) -> Iterator[tuple[str, str]]:
    values = plain_values(entry, but={"supervisors"})
    try:
        DivingDay(**values).clean_fields(exclude={"season", "answers"})
    except ValidationError as error:
        for name, words in error.message_dict.items():
            yield name, words[0]
    if entry.hours_lost and not entry.hours_lost_reason.strip():
        yield "hours_lost_reason", _("Say in a few words why these hours were lost.")


def _of_shifts(entry: DayEntry) -> Iterator[tuple[str, str]]:
    for index, shift in enumerate(entry.supervisors):
        place = f"supervisors.{index}."
        if not shift.name.strip():
            yield f"{place}name", _("Name the diving supervisor.")
        if shift.to_time is not None and shift.to_time <= shift.from_time:
            yield (
                f"{place}to_time",
                _("These hours end before they begin. Begin a new row at midnight."),
            )


def _of_other_rows(
    season: Season, entry: DayEntry, day: DivingDay | None
) -> Iterator[tuple[str, str]]:
    same = DivingDay.objects.standing().filter(
        season=season, date=entry.date, vessel__iexact=entry.vessel.strip()
    )
    if same.exclude(pk=day.pk if day else None).exists():
        yield (
            "vessel",
            _("The diving day of %(vessel)s on this date is open already: log its dives there.")
            % {"vessel": entry.vessel.strip()},
        )
    if day and day.date != entry.date and _standing_dives(day).exists():
        yield "date", _("Dives stand on %(date)s; they would lose their day.") % {"date": day.date}


def _doubts(season: Season, entry: DayEntry) -> Iterator[tuple[str, str]]:
    if not season.starts_on <= entry.date <= season.ends_on:
        yield (
            "date",
            _("%(date)s lies outside the season's days (%(first)s to %(last)s).")
            % {"date": entry.date, "first": season.starts_on, "last": season.ends_on},
        )
    elif entry.date > season.today():
        yield "date", _("%(date)s has not come yet.") % {"date": entry.date}
    if not entry.supervisors:
        yield "supervisors", _("No diving supervisor is named for this day.")


def _write(day: DivingDay, entry: DayEntry, answers: Mapping[str, Any]) -> DivingDay:
    pen = Pen()
    own = plain_values(entry, but={"supervisors"}) | {"answers": dict(answers)}
    own["vessel"] = entry.vessel.strip()
    if day._state.adding:
        pen.save(day, own)
        _write_shifts(pen, day, entry.supervisors)
        return day
    changed = any(getattr(day, name) != value for name, value in own.items())
    _write_shifts(pen, day, entry.supervisors)
    if changed or pen.wrote:
        for name, value in own.items():
            setattr(day, name, value)
        pen.keep(day)
    return day


def _write_shifts(pen: Pen, day: DivingDay, shifts: tuple[ShiftEntry, ...]) -> None:
    rows = {row.pk: row for row in SupervisorShift.objects.filter(day=day)}
    new = {shift.id for shift in shifts} - set(rows)
    if new and SupervisorShift.objects.filter(pk__in=new).exists():
        raise Conflict(_("A row of this form belongs to another day. Open the form again."))
    for key, row in rows.items():
        if key not in {shift.id for shift in shifts}:
            pen.delete(row)
    for shift in shifts:
        row = rows.get(shift.id) or SupervisorShift(id=shift.id, day=day)
        pen.save(row, plain_values(shift, but={"id"}))
