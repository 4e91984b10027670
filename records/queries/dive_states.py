"""A dive as it stands, and as it stood at each of its versions, as plain entries."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any
from uuid import UUID

from django.db.models import Prefetch

from records.models import (
    Cylinder,
    Dive,
    DiveMember,
    Diver,
    DiveTask,
    DivingDay,
    Square,
    Stage,
)
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry, TaskEntry


@dataclass(frozen=True)
class State:
    """One saved version: what it said, who saved it and when."""

    version: int
    at: datetime.datetime
    account: Any
    entry: DiveEntry
    void_reason: str


def entry_of(dive: Dive) -> DiveEntry:
    """The dive as it stands, read afresh."""
    members = dive.members.select_related("diver").prefetch_related(
        Prefetch("cylinders", Cylinder.objects.order_by("made_at", "pk"))
    )
    tasks = dive.tasks.select_related("stage").prefetch_related(
        Prefetch("square", Square.objects.labelled())
    )
    return _dive(
        dive,
        dive.day,
        tuple(
            _member(row, row.diver, tuple(_cylinder(c) for c in row.cylinders.all()))
            for row in members.order_by("made_at", "pk")
        ),
        tuple(_task(row, row.square, row.stage) for row in tasks.order_by("made_at", "pk")),
    )


def states(dive: Dive) -> list[State]:
    """Every version of the dive, the oldest first. The number of queries does not depend on it."""
    past = _Past(dive)
    return [
        State(row.version, row.history_date, row.history_user, past.entry(row), row.void_reason)
        for row in past.dives
    ]


class _Past:
    """The historical rows of a dive and its children, read once."""

    def __init__(self, dive: Dive) -> None:
        dives = Dive.history.filter(id=dive.pk).select_related("history_user")
        self.dives = list(dives.order_by("version", "history_id"))
        self.members = list(DiveMember.history.filter(dive=dive.pk).order_by("history_id"))
        keys = {row.id for row in self.members}
        self.cylinders = list(Cylinder.history.filter(member__in=keys).order_by("history_id"))
        self.tasks = list(DiveTask.history.filter(dive=dive.pk).order_by("history_id"))
        self.moments = {row.history_date: row.version for row in self.dives}
        self.days = _by_key(DivingDay.objects, {row.day_id for row in self.dives})
        self.divers = _by_key(Diver.objects, {row.diver_id for row in self.members})
        self.squares = _by_key(Square.objects.labelled(), {row.square_id for row in self.tasks})
        self.stages = _by_key(Stage.objects, {row.stage_id for row in self.tasks})

    def entry(self, dive: Any) -> DiveEntry:
        cylinders = defaultdict(list)
        for row in self._standing(self.cylinders, dive):
            cylinders[row.member_id].append(_cylinder(row))
        members = (
            _member(row, self.divers[row.diver_id], tuple(cylinders[row.id]))
            for row in self._standing(self.members, dive)
        )
        tasks = (
            _task(row, self.squares.get(row.square_id), self.stages.get(row.stage_id))
            for row in self._standing(self.tasks, dive)
        )
        return _dive(dive, self.days[dive.day_id], tuple(members), tuple(tasks))

    def _standing(self, rows: Iterable[Any], dive: Any) -> list[Any]:
        """The latest of each row at that version of the dive, without those deleted by then."""
        latest = {row.id: row for row in rows if self._belongs(row, dive)}
        left = [row for row in latest.values() if row.history_type != "-"]
        return sorted(left, key=lambda row: (row.made_at, str(row.id)))

    def _belongs(self, row: Any, dive: Any) -> bool:
        """Rows written together bear one moment, whatever a laptop's clock did in between."""
        version = self.moments.get(row.history_date)
        if version is None:
            return bool(row.history_date <= dive.history_date)
        return bool(version <= dive.version)


def _by_key(rows: Any, keys: Iterable[UUID | None]) -> Mapping[UUID, Any]:
    return {row.pk: row for row in rows.filter(pk__in=set(keys) - {None})}


def _dive(
    row: Any, day: DivingDay, members: tuple[MemberEntry, ...], tasks: tuple[TaskEntry, ...]
) -> DiveEntry:
    return DiveEntry(day=day, members=members, tasks=tasks, **_values(DiveEntry, row))


def _member(row: Any, diver: Diver, cylinders: tuple[CylinderEntry, ...]) -> MemberEntry:
    return MemberEntry(diver=diver, cylinders=cylinders, **_values(MemberEntry, row))


def _task(row: Any, square: Square | None, stage: Stage | None) -> TaskEntry:
    return TaskEntry(square=square, stage=stage, **_values(TaskEntry, row))


def _cylinder(row: Any) -> CylinderEntry:
    return CylinderEntry(**_values(CylinderEntry, row))


_LINKS = {"day", "diver", "square", "stage", "members", "cylinders", "tasks"}


def _values(entry: type, row: Any) -> dict[str, Any]:
    return {one.name: getattr(row, one.name) for one in fields(entry) if one.name not in _LINKS}
