"""Registers as files: exact CSV for the archive, and a copy that is safe to open in a spreadsheet.

Exact: RFC 4180 (CRLF, quotes doubled), UTF-8 without BOM, ISO 8601 times with their offset, a
decimal point. For spreadsheets: with BOM, and text that a program could take for a formula
(beginning with = + - @, tab or a line break) set behind an apostrophe (OWASP, "CSV Injection").
"""

import csv
import datetime
import io
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from records.archive.registers.base import Value

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


def csv_lines(
    header: Sequence[str],
    rows: Iterable[Sequence[Value]],
    zone: datetime.tzinfo,
    *,
    for_spreadsheet: bool = False,
) -> Iterator[str]:
    """The file line by line, so that a long register is never whole in memory."""
    write = safe_in_a_spreadsheet if for_spreadsheet else exact
    if for_spreadsheet:
        yield "\ufeff"
    for row in chain([header], rows):
        out = io.StringIO()
        csv.writer(out, lineterminator="\r\n").writerow([write(value, zone) for value in row])
        yield out.getvalue()
