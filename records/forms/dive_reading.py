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
from records.models import Outcome, Square, Stage
from records.queries.square_words import present_stages, squares_meant
from records.refusals import Refused
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry, TaskEntry

T = TypeVar("T")
Instant = datetime.datetime
MEASURED = ("greatest_depth_m", "visibility_m", "water_temperature_c")


def read(sheet: DiveSheet) -> DiveEntry | None:
    """The entry of a valid sheet, or None where the fields now bear words."""
    said = dict(sheet.form.cleaned_data)  # a field that bears words leaves the form's own
    left, reached = _times(sheet)
    tasks = list(_tasks(sheet, under_way=said["reached_surface_at"] is None))
    members = [] if left is None else [_member(sheet, f, left, reached) for f in _team(sheet)]
    if left is None or any(form.errors for form in (sheet.form, *_team(sheet), *_work(sheet))):
        return None
    return DiveEntry(
        day=said["day"],
        left_surface_at=left,
        reached_surface_at=reached,
        purpose=said["purpose"],
        remarks=said["remarks"],
        bottom_minutes=_whole(said["bottom_minutes"]),
        members=tuple(members),
        tasks=tuple(tasks),
        **{name: _float(said[name]) for name in MEASURED},
    )


def _team(sheet: DiveSheet) -> list[Any]:
    return list(sheet.members.standing)


def _work(sheet: DiveSheet) -> list[Any]:
    return list(sheet.tasks.standing)


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
    day, down, up = said["day"].date, said["left_surface_at"], said["reached_surface_at"]

    def left_then() -> Instant:
        if before and _shows(before.left_surface_at, day, down, sheet):
            return before.left_surface_at
        return left_at(day, down, zone, said["left_hour"])

    left = _beside(sheet.form, "left_surface_at", left_then)
    if left is None or up is None:
        return left, None

    def reached_then() -> Instant:
        kept = before.reached_surface_at if before and before.left_surface_at == left else None
        if kept and clock(kept, zone) == f"{up:%H:%M}":
            return kept
        return reached_at(left, up, zone, said["reached_hour"])

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
    forms = _work(sheet)
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
