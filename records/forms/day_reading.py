"""From a diving day's form to its entry and back."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from records.forms.days import DaySheet
from records.telling import told_number
from records.verbs.day_entry import DayEntry, ShiftEntry

NAMES = [one.name for one in fields(DayEntry) if one.name not in {"supervisors", "hours_lost"}]
OF_THE_OPERATION = (
    "vessel",
    "place",
    "contractor",
    "plan_reference",
    "risk_assessment_reference",
    "schedule_used",
    "emergency_arrangements",
    "pre_dive_checks",
)


def read_day(sheet: DaySheet) -> DayEntry:
    """Of a valid sheet."""
    said = sheet.form.cleaned_data
    return DayEntry(
        **{name: said[name] for name in NAMES},
        hours_lost=float(said["hours_lost"] or 0),
        supervisors=tuple(_shift(row.cleaned_data) for row in sheet.supervisors.standing),
    )


def _shift(said: Mapping[str, Any]) -> ShiftEntry:
    return ShiftEntry(said["name"], said["from_time"], said["to_time"], said["id"])


def day_initial(entry: DayEntry) -> dict[str, Any]:
    shown = {name: getattr(entry, name) for name in NAMES}
    shown["hours_lost"] = told_number(entry.hours_lost) if entry.hours_lost else None
    return shown | {"supervisors": [vars(shift) for shift in entry.supervisors]}


def same_operation(entry: DayEntry) -> dict[str, Any]:
    """What stays from day to day; weather, briefing, incidents and diary are the day's own."""
    offered = {name: getattr(entry, name) for name in OF_THE_OPERATION}
    shifts = [{"name": s.name, "from_time": s.from_time} for s in entry.supervisors]
    return offered | {"supervisors": shifts}
