"""A register's rows as a page shows them."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from django.http import QueryDict
from django.urls import reverse

from records.archive.registers import Column, Register
from records.models import Season


@dataclass(frozen=True)
class Asked:
    """What the page's address asks for."""

    search: str = ""
    narrowed: dict[str, str] = field(default_factory=dict)
    order: str = ""

    def selection(self) -> dict[str, Any]:
        return {"search": self.search, "narrowed": self.narrowed, "order": self.order}

    def query(self, **changed: str) -> str:
        """The same question with something changed, for links."""
        said = {"q": self.search, "order": self.order, **self.narrowed, **changed}
        return urlencode({key: value for key, value in said.items() if value})

    @property
    def as_query(self) -> str:
        return self.query()

    def turned(self, key: str) -> str:
        """Ordered by a column; by the same once more, the other way round."""
        return self.query(order=f"-{key}" if self.order == key else key)


def asked_of(given: QueryDict, register: Register) -> Asked:
    """The question in a page's address; what the register does not know is passed over."""
    return Asked(
        search=given.get("q", "").strip(),
        narrowed={one.key: told for one in register.narrowings if (told := given.get(one.key, ""))},
        order=given.get("order", ""),
    )


@dataclass(frozen=True)
class Heading:
    label: str
    is_number: bool
    query: str
    sorted: str
    is_used: bool


def headings(columns: list[Column], asked: Asked, rows: list["Row"]) -> list[Heading]:
    """`is_used`: by a row of this page; paper has no width for columns that nothing stands in."""
    return [
        Heading(
            label=column.heading,
            is_number=column.is_number,
            query=asked.turned(column.key) if column.order else "",
            sorted=_sorted(column, asked.order),
            is_used=any(row.cells[place].is_used for row in rows),
        )
        for place, column in enumerate(columns)
    ]


def _sorted(column: Column, order: str) -> str:
    if order.lstrip("-") != column.key:
        return "none"
    return "descending" if order.startswith("-") else "ascending"


@dataclass(frozen=True)
class Cell:
    value: Any
    is_number: bool
    url: str = ""

    @property
    def is_used(self) -> bool:
        return self.value is not None and self.value != ""

    @property
    def is_words(self) -> bool:
        return isinstance(self.value, str) and len(self.value) > 40

    @property
    def is_moment(self) -> bool:
        return isinstance(self.value, datetime.datetime)

    @property
    def is_day(self) -> bool:
        return isinstance(self.value, datetime.date) and not self.is_moment


@dataclass(frozen=True)
class Row:
    cells: list[Cell]
    is_voided: bool


def shown_rows(
    rows: Iterable[Any], columns: list[Column], register: Register, season: Season
) -> list[Row]:
    return [
        Row(
            [
                Cell(
                    column.of(row),
                    column.is_number,
                    link_of(row, register, season) if column.is_link else "",
                )
                for column in columns
            ],
            row.is_voided,
        )
        for row in rows
    ]


def link_of(row: Any, register: Register, season: Season) -> str:
    page = register.page_of(row) if register.page_of is not None else None
    if page is None:
        return ""
    name, arguments = page
    return reverse(name, args=[season.code, *arguments])
