"""Registers as files: exact CSV for the archive, and a copy that is safe to open in a spreadsheet.

Exact: RFC 4180 (CRLF, quotes doubled), UTF-8 without BOM, ISO 8601 times with their offset, a
decimal point. For spreadsheets: with BOM, and text that a program could take for a formula
(beginning with = + - @, tab or a line break) set behind an apostrophe (OWASP, "CSV Injection").
"""

import csv
import datetime
import io
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, islice

from records.archive.registers.base import Value

LINES_A_PART = 500
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def exact(value: Value, zone: datetime.tzinfo) -> str:
    """The value as the archive keeps it."""
    if value is None:
        return ""
    if isinstance(value, datetime.datetime):
        return value.astimezone(zone).isoformat(timespec="seconds")
    if isinstance(value, datetime.date):
        return value.isoformat()
    return repr(value) if isinstance(value, float) else str(value)


def safe_in_a_spreadsheet(value: Value, zone: datetime.tzinfo) -> str:
    """Numbers stay numbers, below zero too; text never becomes a formula."""
    text = exact(value, zone)
    if isinstance(value, str) and text.startswith(FORMULA_STARTS):
        return f"'{text}"
    return text


def csv_parts(
    header: Sequence[str],
    rows: Iterable[Sequence[Value]],
    zone: datetime.tzinfo,
    *,
    for_spreadsheet: bool = False,
) -> Iterator[str]:
    """The file some hundred lines at a time, so that a long register is never whole in memory."""
    write = safe_in_a_spreadsheet if for_spreadsheet else exact
    if for_spreadsheet:
        yield "\ufeff"
    every = iter(chain([header], rows))
    while part := list(islice(every, LINES_A_PART)):
        out = io.StringIO()
        lines = csv.writer(out, lineterminator="\r\n")
        lines.writerows([write(value, zone) for value in row] for row in part)
        yield out.getvalue()
