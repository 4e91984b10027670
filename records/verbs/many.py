"""Many rows in a few statements, each with its history: for whole cards, not for single saves."""

from collections.abc import Sequence
from typing import TypeVar

from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from records.acting import acting_account
from records.models import Record, Searchable

R = TypeVar("R", bound=Record)
AT_ONCE = 400


def make_many(rows: Sequence[R]) -> None:
    """Insert new rows of one model. Nothing is validated here but by the database."""
    if not rows:
        return
    account = acting_account()
    for row in rows:
        row.made_by = row.made_by or account
        if isinstance(row, Searchable):
            row.note_words()
    bulk_create_with_history(list(rows), type(rows[0]), batch_size=AT_ONCE, default_user=account)


def save_many(rows: Sequence[R], *fields: str) -> None:
    """Rewrite these fields of rows of one model that the caller has locked."""
    if not rows:
        return
    for row in rows:
        row.version += 1
    bulk_update_with_history(
        list(rows),
        type(rows[0]),
        [*fields, "version"],
        batch_size=AT_ONCE,
        default_user=acting_account(),
    )
