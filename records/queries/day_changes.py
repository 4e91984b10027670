"""A diving day as it stands and as it stood, and what changed between."""

from dataclasses import dataclass, fields
from typing import Any

from django.utils.translation import gettext as _

from records.models import DivingDay, SupervisorShift
from records.queries.changes import Change, Entry
from records.telling import told_number
from records.verbs.day_entry import DayEntry, ShiftEntry


@dataclass(frozen=True)
class DayState:
    row: Any
    entry: DayEntry


def day_entry_of(day: DivingDay) -> DayEntry:
    """The day as it stands, read afresh."""
    return _entry(day, day.supervisors.order_by("from_time", "pk"))


def day_history(day: DivingDay) -> list[Entry]:
    """The latest first; the first one made lists nothing."""
    told = _states(day)
    older: list[DayState | None] = [None, *told[:-1]]
    return [
        Entry(
            at=state.row.history_date,
            who=str(state.row.history_user or _("the system")),
            what=_("made") if before is None else _("changed"),
            changes=[] if before is None else _between(before, state),
        )
        for before, state in reversed(list(zip(older, told, strict=True)))
    ]


def day_changed_since(day: DivingDay, version: int) -> list[Change]:
    """What others changed after the version that a person saw."""
    told = _states(day)
    seen = next((state for state in reversed(told) if state.row.version <= version), told[0])
    return _between(seen, told[-1])


def _states(day: DivingDay) -> list[DayState]:
    told = ("history_date", "history_id")
    days = DivingDay.history.filter(id=day.pk).select_related("history_user").order_by(*told)
    shifts = list(SupervisorShift.history.filter(day=day.pk).order_by(*told))
    return [DayState(row, _entry(row, _standing(shifts, row.history_date))) for row in days]


def _standing(rows: list[Any], at: Any) -> list[Any]:
    latest = {row.id: row for row in rows if row.history_date <= at}
    left = [row for row in latest.values() if row.history_type != "-"]
    return sorted(left, key=lambda row: (row.from_time, str(row.id)))


def _entry(row: Any, shifts: Any) -> DayEntry:
    own = {
        one.name: getattr(row, one.name) for one in fields(DayEntry) if one.name != "supervisors"
    }
    return DayEntry(
        **own,
        supervisors=tuple(
            ShiftEntry(shift.name, shift.from_time, shift.to_time, shift.id) for shift in shifts
        ),
    )


def _between(before: DayState, after: DayState) -> list[Change]:
    changes = [
        Change(_label(one.name), _text(was), _text(now))
        for one in fields(DayEntry)
        if one.name != "supervisors"
        and (was := getattr(before.entry, one.name)) != (now := getattr(after.entry, one.name))
    ]
    was, now = _shifts(before.entry), _shifts(after.entry)
    if was != now:
        changes.append(Change(_("diving supervisors"), was, now))
    if before.row.void_reason != after.row.void_reason:
        changes.append(Change(_("void"), before.row.void_reason, after.row.void_reason))
    return changes


def _label(name: str) -> str:
    return str(DivingDay._meta.get_field(name).verbose_name)  # type: ignore[union-attr]


def _text(value: Any) -> str:
    return told_number(value) if isinstance(value, int | float) else str(value)


def _shifts(entry: DayEntry) -> str:
    return ", ".join(_shift(shift) for shift in entry.supervisors)


def _shift(shift: ShiftEntry) -> str:
    until = f"{shift.to_time:%H:%M}" if shift.to_time else ""
    return f"{shift.name} {shift.from_time:%H:%M}–{until}"
