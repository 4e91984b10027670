"""Writing a dive with its team, cylinders and tasks: only what differs, all at one moment, so
that the history shows one change and the version rises by one."""

import uuid
from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from django.utils.translation import gettext as _

from records.models import Cylinder, Dive, DiveMember, DiveTask, Record
from records.refusals import Conflict
from records.verbs.dive_entry import DiveEntry, MemberEntry, plain_values
from records.verbs.pen import Pen

R = TypeVar("R", bound=Record)


def write_dive(dive: Dive, entry: DiveEntry, answers: Mapping[str, Any]) -> Dive:
    """Children by their key; a member by diver first, since a diver is in a dive once."""
    pen = Pen()
    own = plain_values(entry, but={"day", "members", "tasks"})
    own |= {"day_id": entry.day.pk, "answers": dict(answers)}
    if dive._state.adding:
        pen.save(dive, own)
        _write_children(pen, dive, entry)
        return dive
    changed = any(getattr(dive, name) != value for name, value in own.items())
    _write_children(pen, dive, entry)
    if changed or pen.wrote:
        for name, value in own.items():
            setattr(dive, name, value)
        pen.keep(dive)
    return dive


def _write_children(pen: Pen, dive: Dive, entry: DiveEntry) -> None:
    cylinders = {row.pk: row for row in Cylinder.objects.filter(member__dive=dive)}
    _refuse_borrowed(Cylinder, _cylinder_keys(entry) - set(cylinders))
    for row in _gone(cylinders, _cylinder_keys(entry)):
        pen.delete(row)
    _write_tasks(pen, dive, entry)
    members, gone = _matched_members(dive, entry)
    for said, member in zip(entry.members, members, strict=True):
        values = plain_values(said, but={"id", "diver", "cylinders"})
        pen.save(member, values | {"diver_id": said.diver.pk})
        for one in said.cylinders:
            cylinder = cylinders.get(one.id) or Cylinder(id=one.id)
            pen.save(cylinder, plain_values(one, but={"id"}) | {"member_id": member.pk})
    for member in gone:
        pen.delete(member)


def _write_tasks(pen: Pen, dive: Dive, entry: DiveEntry) -> None:
    tasks = {row.pk: row for row in DiveTask.objects.filter(dive=dive)}
    keys = {said.id for said in entry.tasks}
    _refuse_borrowed(DiveTask, keys - set(tasks))
    for row in _gone(tasks, keys):
        pen.delete(row)
    for said in entry.tasks:
        row = tasks.get(said.id) or DiveTask(id=said.id, dive=dive)
        values = plain_values(said, but={"id", "square", "stage"})
        values["square_id"] = said.square.pk if said.square else None
        values["stage_id"] = said.stage.pk if said.stage else None
        pen.save(row, values)


def _matched_members(dive: Dive, entry: DiveEntry) -> tuple[list[DiveMember], list[DiveMember]]:
    """The row for each entry in order, and the rows that nobody claims any more."""
    rows = list(DiveMember.objects.filter(dive=dive))
    by_diver = {row.diver_id: row for row in rows}
    free = {row.pk: row for row in rows if row.diver_id not in {d.pk for d in entry.divers}}
    _refuse_borrowed(DiveMember, {said.id for said in entry.members} - {row.pk for row in rows})
    matched = [
        by_diver.get(said.diver.pk) or free.pop(said.id, None) or _new_member(dive, said, rows)
        for said in entry.members
    ]
    return matched, list(free.values())


def _new_member(dive: Dive, said: MemberEntry, rows: Iterable[DiveMember]) -> DiveMember:
    taken = any(row.pk == said.id for row in rows)
    return DiveMember(id=uuid.uuid4() if taken else said.id, dive=dive)


def _cylinder_keys(entry: DiveEntry) -> set[uuid.UUID]:
    return {cylinder.id for member in entry.members for cylinder in member.cylinders}


def _gone(rows: Mapping[uuid.UUID, R], kept: set[uuid.UUID]) -> list[R]:
    return [row for key, row in rows.items() if key not in kept]


def _refuse_borrowed(model: type[Record], new: set[uuid.UUID]) -> None:
    if new and model._default_manager.filter(pk__in=new).exists():
        raise Conflict(_("A row of this form belongs to another dive. Open the form again."))
