"""What changed between two states of a dive, in the words of its form."""

import datetime
from collections.abc import Iterator
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.local_time import clock
from records.models import Cylinder, Dive, DiveMember, DiveTask
from records.queries.changes import Change, Entry
from records.queries.dive_states import State, states
from records.telling import told_number
from records.verbs.dive_entry import DiveEntry, MemberEntry, TaskEntry, plain_values

UNITS = {
    "greatest_depth_m": gettext_lazy("m"),
    "visibility_m": gettext_lazy("m"),
    "water_temperature_c": gettext_lazy("°C"),
    "bottom_minutes": gettext_lazy("min"),
    "minutes": gettext_lazy("min"),
    "oxygen_percent": gettext_lazy("%"),
    "size_l": gettext_lazy("l"),
    "bar_in": gettext_lazy("bar"),
    "bar_out": gettext_lazy("bar"),
}

Told = Iterator[tuple[Any, tuple[str, str]]]


def dive_history(dive: Dive) -> list[Entry]:
    """The latest first; the first one made lists nothing."""
    told = states(dive)
    older: list[State | None] = [None, *told[:-1]]
    return [
        Entry(
            at=state.at,
            who=str(state.account or _("the system")),
            what=_("made") if before is None else _("changed"),
            changes=[] if before is None else _between(before, state, dive),
        )
        for before, state in reversed(list(zip(older, told, strict=True)))
    ]


def changed_since(dive: Dive, version: int) -> list[Change]:
    """What others changed after the version that a person saw."""
    told = states(dive)
    seen = next((state for state in reversed(told) if state.version <= version), told[0])
    return _between(seen, told[-1], dive)


def _between(before: State, after: State, dive: Dive) -> list[Change]:
    zone = dive.season.tz
    changes = differences(before.entry, after.entry, zone)
    if before.void_reason != after.void_reason:
        changes.append(Change(_("void"), before.void_reason, after.void_reason))
    return changes


def differences(before: DiveEntry, after: DiveEntry, zone: ZoneInfo) -> list[Change]:
    old, new = dict(_told(before, zone)), dict(_told(after, zone))
    nothing = ("", "")
    return [
        Change(label, old.get(key, nothing)[1], new.get(key, nothing)[1])
        for key, (label, _text) in (old | new).items()
        if old.get(key, nothing)[1] != new.get(key, nothing)[1]
    ]


def _told(entry: DiveEntry, zone: ZoneInfo) -> Told:
    """Every value by a key that is the same in both states: its label and its text."""
    yield "day", (_label(Dive, "day"), str(entry.day))
    for name, value in plain_values(entry, but={"day", "members", "tasks"}).items():
        yield name, (_label(Dive, name), _text(Dive, name, value, zone))
    for member in entry.members:
        yield from _told_member(member, zone)
    for task in entry.tasks:
        yield _told_task(task, zone)


def _told_member(member: MemberEntry, zone: ZoneInfo) -> Told:
    who = member.diver.initials
    yield (member.diver.pk, ""), (_("team"), who)
    for name, value in plain_values(member, but={"id", "diver", "cylinders"}).items():
        label = f"{who}: {_label(DiveMember, name)}"
        yield (member.diver.pk, name), (label, _text(DiveMember, name, value, zone))
    for count, cylinder in enumerate(member.cylinders, 1):
        for name, value in plain_values(cylinder, but={"id"}).items():
            label = _("%(who)s, cylinder %(count)s: %(what)s") % {
                "who": who,
                "count": count,
                "what": _label(Cylinder, name),
            }
            yield (cylinder.id, name), (label, _text(Cylinder, name, value, zone))


def _told_task(task: TaskEntry, zone: ZoneInfo) -> tuple[Any, tuple[str, str]]:
    method = _text(DiveTask, "method", task.method, zone)
    outcome = _text(DiveTask, "outcome", task.outcome, zone)
    minutes = _text(DiveTask, "minutes", task.minutes, zone)
    text = ", ".join(part for part in (method, outcome, minutes) if part)
    if task.square is None:
        return task.id, (task.where_in_words, f"{task.where_in_words}: {text}")
    return task.id, (f"{task.square}, {task.stage}", text)


def _label(model: Any, name: str) -> str:
    return str(model._meta.get_field(name).verbose_name)


def _text(model: Any, name: str, value: Any, zone: ZoneInfo) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, datetime.datetime):
        return clock(value, zone)
    choices = dict(model._meta.get_field(name).flatchoices)
    if value in choices:
        return str(choices[value])
    return f"{told_number(value)} {UNITS[name]}" if name in UNITS else str(value)
