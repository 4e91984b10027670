"""The season's index: its doors, its numbers, the index by square, and all of it in print."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.urls import reverse

from records.archive.cross_index import cross_index
from records.archive.printing import number_runs, print_name, square_rows
from records.archive.registers import REGISTERS
from records.archive.tables import csv_parts
from records.jobs import ask
from records.models import Job, JobState, NumberKind, Square
from records.permissions import May
from records.queries.jobs import shown
from records.queries.number_search import numbers_shown
from records.queries.numbers import unaccounted_in
from records.views.form_page import see_other
from records.views.frame import PageRequest, season_page
from records.views.registers import USES, as_csv, viewer_of

SQUARES_A_PAGE = 100


@season_page()
def archive_index(request: PageRequest) -> HttpResponse:
    viewer = viewer_of(request)
    mine = Job.objects.filter(
        kind="print_index", asked_by=request.user, argument__season=str(request.season.pk)
    )
    last = mine.first()
    done = mine.filter(state=JobState.DONE).first()
    page = {
        "unaccounted": unaccounted_in(request.season),
        "registers": [(one, one.rows(viewer).count()) for one in REGISTERS.values()],
        "square_count": Square.objects.standing().filter(grid__site=request.site).count(),
        "may_print": request.may(May.RECORD),
        "work": shown(last) if last and last.state != JobState.DONE else None,
        "print_url": reverse("index_pdf", args=[request.season.code, done.pk]) if done else "",
        "printed_at": done.finished_at if done else None,
    }
    return render(request, "registers/index.html", page)


@season_page("POST", may=May.RECORD)
def index_print(request: PageRequest) -> HttpResponse:
    ask("print_index", site=request.site, argument={"season": str(request.season.pk)})
    return see_other(reverse("archive_index", args=[request.season.code]))


@season_page(may=May.RECORD)
def index_pdf(request: PageRequest, job_id: UUID) -> FileResponse:
    """One's own print only: it shows what its asker may see, and still may."""
    made = Job.objects.filter(
        pk=job_id,
        kind="print_index",
        asked_by=request.user,
        site=request.site,
        state=JobState.DONE,
        argument__season=str(request.season.pk),
    )
    printed = made.first()
    if printed is None or not default_storage.exists(print_name(job_id)):
        raise Http404
    if printed.result.get("shows_restricted", True) and not viewer_of(request).sees_restricted:
        raise Http404  # printed when one still was a lead
    return FileResponse(
        default_storage.open(print_name(job_id)),
        filename=f"{request.season.code}-index.pdf",
        content_type="application/pdf",
    )


@season_page()
def numbers(request: PageRequest) -> HttpResponse:
    page = {
        "shown": numbers_shown(viewer_of(request), request.GET.dict()),
        "every_kind": NumberKind.choices,
        "unaccounted": unaccounted_in(request.season),
    }
    return render(request, "registers/numbers.html", page)


@season_page()
def numbers_file(request: PageRequest, use: str) -> StreamingHttpResponse:
    header = ["kind", "first", "last", "count", "fate", "why"]
    rows = (
        [one.kind.value, one.first, one.last, one.count, one.fate, one.reason]
        for one in number_runs(viewer_of(request))
    )
    return _as_file(request, "numbers", use, header, rows)


@season_page()
def by_square(request: PageRequest) -> HttpResponse:
    entries = cross_index(viewer_of(request))
    pages = Paginator(entries, SQUARES_A_PAGE).get_page(request.GET.get("page"))
    missing = sum(
        entry.state is not None and bool(entry.state.missing)
        for square in entries
        for entry in square.stages
    )
    page = {"pages": pages, "missing": missing, "asked": {"as_query": ""}}
    return render(request, "registers/cross_index.html", page)


@season_page()
def by_square_file(request: PageRequest, use: str) -> StreamingHttpResponse:
    header = [
        *("square", "stage", "drawing", "photographs", "dives", "drawings", "photos", "finds"),
        *("sheets", "comparisons", "features"),
    ]
    rows = (row for square in cross_index(viewer_of(request)) for row in square_rows(square))
    return _as_file(request, "squares", use, header, rows)


def _as_file(
    request: PageRequest, name: str, use: str, header: list[str], rows: Iterable[list[Any]]
) -> StreamingHttpResponse:
    if use not in USES:
        raise Http404
    season = request.season
    lines = csv_parts(header, rows, season.tz, for_spreadsheet=use == "spreadsheet")
    return as_csv(lines, f"{season.code}-{name}-{use}")
