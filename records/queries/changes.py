"""What changed on a record, by whom and when, in the words of its fields."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from simple_history.models import DeletedObject

from records.models import Record

SILENT = {"version", "made_at", "made_by", "answers"}  # pages tell confirmed answers as such


@dataclass(frozen=True)
class Change:
    label: str
    was: Any
    now: Any


@dataclass(frozen=True)
class Entry:
    """One saved state: when, by whom, what it changed (empty for the first)."""

    at: datetime.datetime
    who: str
    what: str
    changes: list[Change]


def changes_since(record: Record, version: int) -> list[Change]:
    """What others changed on the record after the given version."""
    rows: Any = record.history  # type: ignore[attr-defined]
    seen = rows.filter(version__lte=version).order_by("-version").first()
    now = rows.order_by("-version").first()
    if seen is None or now is None or seen == now:
        return []
    return _between(record, seen, now)


def entries(record: Record) -> list[Entry]:
    """The record's history, the latest first."""
    rows = list(
        record.history.select_related("history_user").order_by("-history_date", "-history_id")  # type: ignore[attr-defined]
    )
    older: list[Any] = [*rows[1:], None]
    return [
        Entry(
            at=row.history_date,
            who=str(row.history_user or _("the system")),
            what=_what(row, before),
            changes=[] if before is None else _between(record, before, row),
        )
        for row, before in zip(rows, older, strict=True)
    ]


def _what(row: Any, before: Any) -> str:
    if before is None:
        return _("made")
    if row.voided_at and not before.voided_at:
        return _("made void: %(reason)s") % {"reason": row.void_reason}
    return row.history_change_reason or _("changed")


def _between(record: Record, before: Any, after: Any) -> list[Change]:
    delta = after.diff_against(before, foreign_keys_are_objs=True)
    return [
        Change(
            _label(record, change.field),
            _said(record, change.field, change.old),
            _said(record, change.field, change.new),
        )
        for change in delta.changes
        if change.field not in SILENT
    ]


def _said(record: Record, name: str, value: Any) -> Any:
    """The value as a page would show it."""
    if isinstance(value, DeletedObject) and value.pk is None:
        return None  # so the library calls a foreign key that was empty
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, datetime.datetime):
        return date_format(localtime(value), "SHORT_DATETIME_FORMAT")
    if isinstance(value, datetime.date):
        return date_format(value, "DATE_FORMAT")
    if isinstance(value, list):
        return ", ".join(str(one) for one in value)
    choices = dict(getattr(record._meta.get_field(name), "flatchoices", ()))
    return choices.get(value, value)


def _label(record: Record, name: str) -> str:
    return str(record._meta.get_field(name).verbose_name)  # type: ignore[union-attr]
