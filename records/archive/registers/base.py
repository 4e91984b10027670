"""What a register is: a query, its columns, and the ways to narrow and order it."""

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, Q, QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from records.models import Season, Stage
from records.permissions import May, role_may, sees_geographic, sees_names

Words = str | Promise
Value = str | int | float | datetime.date | datetime.datetime | None


@dataclass(frozen=True)
class Viewer:
    """Who reads: what readers do not see is left out, not blanked."""

    season: Season
    role: str

    @property
    def sees_people(self) -> bool:
        return sees_names(self.role)

    @property
    def sees_restricted(self) -> bool:
        return role_may(self.role, May.LEAD)

    @property
    def sees_places(self) -> bool:
        """The place of diving: crew, who dive there, and up; readers once it is released."""
        return self.sees_people or sees_geographic(self.role, self.season)


def everybody(viewer: Viewer) -> bool:
    return True


def nobody(viewer: Viewer) -> bool:
    return False


def those_who_record(viewer: Viewer) -> bool:
    return viewer.sees_people


@dataclass(frozen=True)
class Column:
    """`of` gives the exact value; `order` names the field that the register is ordered by."""

    key: str
    label: Words
    of: Callable[[Any], Value]
    order: str = ""
    seen_by: Callable[[Viewer], bool] = everybody
    is_link: bool = False

    @property
    def is_number(self) -> bool:
        return self.key.rsplit("_", 1)[-1] in UNITS

    @property
    def heading(self) -> str:
        """The label with its unit: "Greatest depth, m"."""
        unit = UNITS.get(self.key.rsplit("_", 1)[-1], "")
        return f"{self.label}, {unit}" if unit else str(self.label)


UNITS = {
    "m": "m",
    "m2": "m²",
    "mm": "mm",
    "deg": "°",
    "percent": "%",
    "g": "g",
    "c": "°C",
    "min": "min",
    "h": "h",
    "count": "",
}
"""A column's key ends in its unit."""


@dataclass(frozen=True)
class Narrowing:
    """A choice that narrows the register: `choices` as (value, label), `to` the condition."""

    key: str
    label: Words
    choices: Callable[[Season], Iterable[tuple[str, Words]]]
    to: Callable[[str], Q]


@dataclass(frozen=True)
class Register:
    name: str
    label: Words
    rows: Callable[[Viewer], QuerySet[Any]]
    columns: tuple[Column, ...]
    narrowings: tuple[Narrowing, ...] = ()
    page_of: Callable[[Any], tuple[str, list[Any]] | None] | None = None
    searched_by: Callable[[Viewer], bool] = everybody
    order: tuple[str, ...] = ("n",)

    def columns_for(self, viewer: Viewer) -> list[Column]:
        return [column for column in self.columns if column.seen_by(viewer)]

    def selected(
        self, viewer: Viewer, *, search: str = "", narrowed: dict[str, str], order: str = ""
    ) -> QuerySet[Any]:
        """The rows asked for, in order. Unknown choices and orders are passed over."""
        rows = self.rows(viewer)
        for word in search.casefold().split() if self.searched_by(viewer) else ():
            rows = rows.filter(search_text__contains=word)
        for narrowing in self.narrowings:
            value = narrowed.get(narrowing.key, "")
            if value in {str(key) for key, _label in narrowing.choices(viewer.season)}:
                rows = rows.filter(narrowing.to(value))
        return rows.order_by(*self._order(viewer, order), "pk")

    def _order(self, viewer: Viewer, asked: str) -> tuple[str, ...]:
        by_key = {column.key: column.order for column in self.columns_for(viewer) if column.order}
        key, sign = asked.lstrip("-"), "-" if asked.startswith("-") else ""
        return (f"{sign}{by_key[key]}", *self.order) if key in by_key else self.order


def by_stage(path: str) -> Narrowing:
    """`path`: from the register's rows to the stage."""
    return Narrowing(
        "stage",
        _("Stage"),
        lambda season: [
            (str(one.pk), one.name)
            for one in Stage.objects.standing().filter(season=season).order_by("order")
        ],
        lambda value: Q(**{path: value}),
    )


def yes_or_no(value: bool) -> str:
    return _now("yes") if value else _now("no")


def choices_of(kinds: Any) -> Callable[[Season], Iterable[tuple[str, Words]]]:
    return lambda _season: kinds.choices


def at(row: Any, path: str) -> Any:
    """`row.dive.n` by "dive.n", or None where a link of the chain is empty."""
    for name in path.split("."):
        if row is None:
            return None
        row = getattr(row, name)
    return row


def get(path: str) -> Callable[[Any], Any]:
    return lambda row: at(row, path)


def shown(field_name: str) -> Callable[[Any], str]:
    """The words of a choice."""
    return lambda row: str(getattr(row, f"get_{field_name}_display")())


def number_of(path: str) -> Callable[[Any], Value]:
    """The number of a linked record, such as HL26-dive-12."""

    def number(row: Any) -> Value:
        record: Model | None = at(row, path)
        return None if record is None else str(record)

    return number
