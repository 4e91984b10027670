"""Rows of work: one row may name many squares, each of which is a task of its own."""

import uuid
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from records.models import Square, Stage
from records.queries.square_words import told_squares
from records.verbs.dive_entry import TaskEntry


def shares(total: int | None, count: int) -> tuple[int | None, ...]:
    """Whole minutes for each of `count` squares, the first ones a minute more, in sum the total."""
    if total is None:
        return (None,) * count
    each, more = divmod(total, count)
    return tuple(each + (index < more) for index in range(count))


@dataclass(frozen=True)
class Named:
    """A row as it was typed, its squares found, each with the stage meant."""

    id: uuid.UUID
    places: list[tuple[Square | None, Stage | None]]
    where_in_words: str
    method: str
    outcome: str
    minutes: int | None


def tasks_of(rows: Iterable[Named], kept: Iterable[TaskEntry]) -> Iterator[tuple[int, TaskEntry]]:
    """Each task with the index of its row. A task that stood before keeps its key."""
    known = {_key(task): task.id for task in kept if task.square}
    taken = set(known.values())
    for index, row in enumerate(rows):
        minutes = shares(row.minutes, len(row.places))
        for (square, stage), share in zip(row.places, minutes, strict=True):
            task = TaskEntry(
                method=row.method,
                outcome=row.outcome,
                square=square,
                stage=stage,
                where_in_words=row.where_in_words,
                minutes=share,
            )
            key = known.get(_key(task)) if square else row.id
            if key is None or (square is None and key in taken):
                key = row.id if _is_free(row, taken) else uuid.uuid5(row.id, _told(square, stage))
            taken.add(key)
            yield index, replace(task, id=key)


def _is_free(row: Named, taken: set[uuid.UUID]) -> bool:
    return len(row.places) == 1 and row.id not in taken


def _key(task: TaskEntry) -> tuple[Any, ...]:
    return task.square and task.square.pk, task.stage and task.stage.pk, task.method


def _told(square: Square | None, stage: Stage | None) -> str:
    return f"{square.pk if square else ''} {stage.pk if stage else ''}"


def rows_of_tasks(tasks: Iterable[TaskEntry]) -> list[Mapping[str, Any]]:
    """Initial values: squares with the same work and outcome share a row, if their minutes do."""
    rows: list[Mapping[str, Any]] = []
    in_order = sorted(tasks, key=_order)
    for alike, group in groupby(in_order, key=_alike):
        together = list(group)
        if alike[0] is None or not _share_minutes(together):
            rows += [_row([task]) for task in together]
        else:
            rows.append(_row(together))
    return rows


def _alike(task: TaskEntry) -> tuple[Any, ...]:
    return task.stage and str(task.stage.pk), task.method, task.outcome


def _order(task: TaskEntry) -> tuple[Any, ...]:
    if task.square is None:
        return 1, "", task.method, task.outcome, "", 0, 0
    place = task.square.grid.code, task.square.column, task.square.row
    return 0, str(task.stage and task.stage.pk), task.method, task.outcome, *place


def _share_minutes(tasks: list[TaskEntry]) -> bool:
    minutes = tuple(task.minutes for task in tasks)
    if None in minutes:
        return set(minutes) == {None}
    return minutes == shares(sum(one or 0 for one in minutes), len(minutes))


def _row(tasks: list[TaskEntry]) -> Mapping[str, Any]:
    first = tasks[0]
    given = [task.minutes for task in tasks if task.minutes is not None]
    return {
        "id": first.id,
        "squares": told_squares(task.square for task in tasks if task.square),
        "where_in_words": first.where_in_words,
        "stage": first.stage,
        "method": first.method,
        "outcome": first.outcome,
        "minutes": sum(given) if given else None,
    }
