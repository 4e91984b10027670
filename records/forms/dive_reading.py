"""From a dive's form to its entry. What cannot be read is said beside its field."""

import datetime
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from records.forms.dive_sheet import DiveSheet
from records.forms.dive_times import WhichHour, left_at, own_at, reached_at
from records.forms.task_rows import Named, tasks_of
from records.local_time import clock
from records.models import Dive, Outcome, Purpose, Square, Stage
from records.queries.square_words import present_stages, squares_meant
from records.refusals import Refused
from records.verbs.dive_checks import what_cannot_be
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry, TaskEntry

T = TypeVar("T")
Instant = datetime.datetime
NOT_OF_A_PART = ("members",)  # told of the whole only
MEASURED = ("greatest_depth_m", "visibility_m", "water_temperature_c")


def read(sheet: DiveSheet, dive: Dive | None) -> DiveEntry | None:
    """The entry, or None where fields bear words: then all of them do, those of the verb too, so
    that nobody mends one thing to be told of the next."""
    complete = sheet.is_valid()
    entry = _entry(sheet)
    if entry is None or not (complete and sheet.is_clean()):
        for place, words in what_cannot_be(sheet.season, entry, dive) if entry else ():
            if place not in NOT_OF_A_PART and not sheet.bears_words(place):
                sheet.add_fault(place, words)
        return None
    return entry


def _entry(sheet: DiveSheet) -> DiveEntry | None:
    """From the rows and fields that can be read; None without the time it began."""
    said = sheet.form.cleaned_data
    if not {"day", "left_surface_at"} <= said.keys():
        return None
    said = dict(said)  # a field that bears words leaves the form's own
    left, reached = _times(sheet)
    sheet.row_of_member = [row for row in sheet.members.standing if row.is_valid()]
    tasks = tuple(_tasks(sheet, under_way=said.get("reached_surface_at") is None))
    if left is None:
        return None
    return DiveEntry(
        day=said["day"],
        left_surface_at=left,
        reached_surface_at=reached,
        purpose=said.get("purpose") or Purpose.OTHER,
        remarks=said.get("remarks", ""),
        bottom_minutes=_whole(said.get("bottom_minutes")),
        members=tuple(_member(sheet, row, left, reached) for row in sheet.row_of_member),
        tasks=tasks,
        **{name: _float(said.get(name)) for name in MEASURED},
    )


def _beside(form: Any, field: str, act: Callable[[], T]) -> T | None:
    try:
        return act()
    except Refused as refusal:
        code = "which_hour" if isinstance(refusal, WhichHour) else ""
        form.add_error(field, ValidationError(refusal.words, code=code))
        return None


def _times(sheet: DiveSheet) -> tuple[Instant | None, Instant | None]:
    """A time that shows as before is the instant it was before, seconds and hour included."""
    said, zone, before = dict(sheet.form.cleaned_data), sheet.season.tz, sheet.before
    day, down, up = said["day"].date, said["left_surface_at"], said.get("reached_surface_at")

    def left_then() -> Instant:
        if before and _shows(before.left_surface_at, day, down, sheet):
            return before.left_surface_at
        return left_at(day, down, zone, said.get("left_hour", ""))

    left = _beside(sheet.form, "left_surface_at", left_then)
    if left is None or up is None:
        return left, None

    def reached_then() -> Instant:
        kept = before.reached_surface_at if before and before.left_surface_at == left else None
        if kept and clock(kept, zone) == f"{up:%H:%M}":
            return kept
        return reached_at(left, up, zone, said.get("reached_hour", ""))

    return left, _beside(sheet.form, "reached_surface_at", reached_then)


def _shows(at: Instant, day: datetime.date, typed: datetime.time, sheet: DiveSheet) -> bool:
    shown = at.astimezone(sheet.season.tz)
    return shown.date() == day and f"{shown:%H:%M}" == f"{typed:%H:%M}"


def _member(sheet: DiveSheet, form: Any, left: Instant, reached: Instant | None) -> MemberEntry:
    said, zone = dict(form.cleaned_data), sheet.season.tz
    own = {
        name: _beside(form, name, lambda typed=said[name]: own_at(left, reached, typed, zone))  # type: ignore[misc]
        for name in ("left_surface_at", "reached_surface_at")
        if said[name] is not None
    }
    return MemberEntry(
        id=said["id"],
        diver=said["diver"],
        role=said["role"],
        gas=said["gas"],
        oxygen_percent=_float(said["oxygen_percent"]),
        apparatus=said["apparatus"],
        greatest_depth_m=_float(said["greatest_depth_m"]),
        narrative=said["narrative"],
        cylinders=tuple(_cylinder(row) for row in form.cylinders.standing),
        **own,
    )


def _cylinder(form: Any) -> CylinderEntry:
    said = form.cleaned_data
    return CylinderEntry(
        id=said["id"],
        size_l=float(said["size_l"]),
        bar_in=int(said["bar_in"]),
        bar_out=_whole(said["bar_out"]),
    )


def _tasks(sheet: DiveSheet, *, under_way: bool) -> Iterator[TaskEntry]:
    forms = [row for row in sheet.tasks.standing if row.is_valid()]
    named = [_named(sheet, form, under_way) for form in forms]
    kept = sheet.before.tasks if sheet.before else ()
    sheet.row_of_task = []
    for index, task in tasks_of(named, kept):
        sheet.row_of_task.append(forms[index])
        yield task


def _named(sheet: DiveSheet, form: Any, under_way: bool) -> Named:
    said = dict(form.cleaned_data)
    outcome = said["outcome"] or (Outcome.NOT_STARTED if under_way else "")
    if not outcome:
        form.add_error("outcome", _("Say how it went."))
    return Named(
        id=said["id"],
        places=_places(sheet, form),
        where_in_words=said["where_in_words"],
        method=said["method"],
        outcome=outcome,
        minutes=said["minutes"],
    )


def _places(sheet: DiveSheet, form: Any) -> list[tuple[Square | None, Stage | None]]:
    said = form.cleaned_data
    if not said["squares"]:
        return [(None, None)]
    squares = _beside(form, "squares", lambda: squares_meant(sheet.season.site, said["squares"]))
    if squares is None:
        return [(None, None)]
    present = {} if said["stage"] else present_stages(sheet.season, squares)
    return [(square, said["stage"] or present.get(square.pk)) for square in squares]


def _float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _whole(value: Decimal | None) -> int | None:
    return None if value is None else int(value)
