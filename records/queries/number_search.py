"""The register of numbers narrowed, searched and sorted."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from records.archive.registers import Viewer
from records.models import NumberKind
from records.queries.numbers import NumberRun, numbers_of

COLUMNS: dict[str, tuple[str | Promise, Callable[[NumberRun], Any]]] = {
    "number": (_("Numbers"), lambda run: run.first),
    "count": (_("How many"), lambda run: run.count),
    "fate": (_("What became of them"), lambda run: (run.fate, run.first)),
    "reason": (_("Why"), lambda run: (run.reason, run.first)),
}


@dataclass(frozen=True)
class Heading:
    key: str
    label: str | Promise
    query: str
    sorted: str


@dataclass(frozen=True)
class NumbersShown:
    """`kinds`: each with its runs that answer the question; `fates`: all that there are."""

    kinds: list[tuple[NumberKind, list[NumberRun]]]
    fates: list[str]
    headings: list[Heading]
    search: str
    kind: str
    fate: str
    order: str

    @property
    def is_narrowed(self) -> bool:
        return bool(self.search or self.kind or self.fate)


def numbers_shown(viewer: Viewer, given: Mapping[str, str]) -> NumbersShown:
    search, kind, fate = (given.get(key, "").strip() for key in ("q", "kind", "fate"))
    order = given.get("order", "")
    order = order if order.removeprefix("-") in COLUMNS else ""
    every = [(one, numbers_of(viewer.season, one, viewer)) for one in NumberKind]
    chosen = [
        (one, _in_order([run for run in runs if _answers(run, search, fate)], order))
        for one, runs in every
        if kind in ("", one.value)
    ]
    return NumbersShown(
        kinds=chosen,
        fates=sorted({run.fate for _kind, runs in every for run in runs}),
        headings=_headings(order, {"q": search, "kind": kind, "fate": fate}),
        search=search,
        kind=kind,
        fate=fate,
        order=order,
    )


def _answers(run: NumberRun, search: str, fate: str) -> bool:
    if fate and run.fate != fate:
        return False
    if search.isdecimal():
        return run.first <= int(search) <= run.last
    return search.casefold() in f"{run.fate} {run.reason}".casefold()


def _in_order(runs: list[NumberRun], order: str) -> list[NumberRun]:
    if not order:
        return runs
    _label, key = COLUMNS[order.removeprefix("-")]
    return sorted(runs, key=key, reverse=order.startswith("-"))


def _headings(order: str, asked: dict[str, str]) -> list[Heading]:
    headings = []
    for key, (label, _value) in COLUMNS.items():
        turned = f"-{key}" if order == key else key
        said = {name: value for name, value in (asked | {"order": turned}).items() if value}
        headings.append(Heading(key, label, urlencode(said), _sorted(key, order)))
    return headings


def _sorted(key: str, order: str) -> str:
    if order.removeprefix("-") != key:
        return "none"
    return "descending" if order.startswith("-") else "ascending"
