"""One act of writing: rows saved or deleted together bear the same moment in the history."""

import datetime
from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from records.models import Record


class Pen:
    """Saves or deletes rows at one moment of history, and remembers whether it did."""

    def __init__(self) -> None:
        self.moment: datetime.datetime = timezone.now()
        self.wrote = False

    def save(self, row: Record, values: Mapping[str, Any]) -> None:
        """Give the row these values; save it if that changes anything."""
        changed = [name for name, value in values.items() if getattr(row, name, None) != value]
        if changed or row._state.adding:
            for name, value in values.items():
                setattr(row, name, value)
            self.keep(row)

    def keep(self, row: Any) -> None:
        row._history_date = self.moment
        row.save()
        self.wrote = True

    def delete(self, row: Any) -> None:
        row._history_date = self.moment
        row.delete()
        self.wrote = True
