"""The season's registers as pages that sort, narrow, search, and go out as files."""

from collections.abc import Iterator
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import render

from records.archive.registers import REGISTERS, Register, Viewer
from records.archive.tables import csv_parts
from records.queries.registers import asked_of, headings, shown_rows
from records.views.frame import PageRequest, season_page

ROWS_A_PAGE = 100
USES = ("archive", "spreadsheet")


def viewer_of(request: PageRequest) -> Viewer:
    return Viewer(request.season, request.membership.role)


def register_called(name: str) -> Register:
    register = REGISTERS.get(name)
    if register is None:
        raise Http404
    return register


@season_page()
def register(request: PageRequest, name: str) -> HttpResponse:
    chosen, viewer = register_called(name), viewer_of(request)
    asked = asked_of(request.GET, chosen)
    selected = chosen.selected(viewer, **asked.selection())
    pages = Paginator(selected, ROWS_A_PAGE).get_page(request.GET.get("page"))
    columns = chosen.columns_for(viewer)
    rows = shown_rows(pages.object_list, columns, chosen, request.season)
    page = {
        "register": chosen,
        "headings": headings(columns, asked, rows),
        "rows": rows,
        "pages": pages,
        "asked": asked,
        "may_search": chosen.searched_by(viewer),
        "narrowings": [
            (one, list(one.choices(request.season)), asked.narrowed.get(one.key, ""))
            for one in chosen.narrowings
        ],
    }
    return render(request, "registers/register.html", page)


@season_page()
def register_file(request: PageRequest, name: str, use: str) -> StreamingHttpResponse:
    """`use`: "archive" is exact, "spreadsheet" is safe to open in one."""
    if use not in USES:
        raise Http404
    chosen, viewer = register_called(name), viewer_of(request)
    asked = asked_of(request.GET, chosen)
    for_spreadsheet = use == "spreadsheet"
    columns = chosen.columns_for(viewer)
    rows = chosen.selected(viewer, **asked.selection())
    header = [one.heading if for_spreadsheet else one.key for one in columns]
    lines = csv_parts(
        header, _values(rows, columns), request.season.tz, for_spreadsheet=for_spreadsheet
    )
    return as_csv(lines, f"{request.season.code}-{chosen.name}-{use}")


def _values(rows: Any, columns: list[Any]) -> Iterator[list[Any]]:
    for row in rows.iterator(chunk_size=1000):
        yield [column.of(row) for column in columns]


def as_csv(lines: Iterator[str], name: str) -> StreamingHttpResponse:
    answer = StreamingHttpResponse(lines, content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer
