"""The addresses of drawings, printed sheets and scans; `records/urls.py` takes them in."""

from django.urls import path

from records.views import (
    comparisons,
    drawing_acts,
    drawing_checks,
    drawing_intake,
    drawing_list,
    drawing_squares,
    picture_files,
    scan_pages,
    scans,
    sheets,
)

drawn = [
    path("s/<slug:season_code>/scans", scans.scans, name="scans"),
    path("s/<slug:season_code>/scans/file", scans.scan_file, name="scan_file"),
    path("s/<slug:season_code>/scans/<uuid:scan_id>", scans.scan_film, name="scan_film"),
    path("s/<slug:season_code>/scans/<uuid:scan_id>/again", scans.scan_again, name="scan_again"),
    path(
        "s/<slug:season_code>/scans/<uuid:scan_id>/aside", scan_pages.scan_aside, name="scan_aside"
    ),
    path(
        "s/<slug:season_code>/scans/files/<uuid:paged_id>",
        picture_files.paged_original,
        name="paged_original",
    ),
    path(
        "s/<slug:season_code>/scans/pages/<uuid:page_id>", scan_pages.page_aside, name="page_aside"
    ),
    path("s/<slug:season_code>/sheets", sheets.sheets, name="sheets"),
    path("s/<slug:season_code>/sheets/new", sheets.sheets_new, name="sheets_new"),
    path("s/<slug:season_code>/sheets/board", sheets.board_new, name="board_new"),
    path(
        "s/<slug:season_code>/sheets/printing/<uuid:printing>",
        sheets.sheets_print,
        name="sheets_print",
    ),
    path("s/<slug:season_code>/sheets/<uuid:sheet_id>", sheets.sheet_print, name="sheet_print"),
    path("s/<slug:season_code>/sheets/<uuid:sheet_id>/void", sheets.sheet_void, name="sheet_void"),
    path("s/<slug:season_code>/drawings", drawing_list.drawings, name="drawings"),
    path("s/<slug:season_code>/drawings/new", drawing_intake.drawing_new, name="drawing_new"),
    path("s/<slug:season_code>/drawings/file", drawing_intake.drawing_file, name="drawing_file"),
    path("s/<slug:season_code>/drawings/check", drawing_checks.drawing_queue, name="drawing_queue"),
    path(
        "s/<slug:season_code>/drawings/squares/<uuid:drawn_id>/marks",
        drawing_squares.drawn_square_marks,
        name="drawn_square_marks",
    ),
    path(
        "s/<slug:season_code>/drawings/squares/<uuid:drawn_id>/check",
        drawing_checks.drawing_check,
        name="drawing_check",
    ),
    path(
        "s/<slug:season_code>/drawings/squares/<uuid:drawn_id>/void",
        drawing_checks.drawn_square_void,
        name="drawn_square_void",
    ),
    path(
        "s/<slug:season_code>/drawings/squares/<uuid:drawn_id>/compare",
        comparisons.comparison_new,
        name="comparison_new",
    ),
    path(
        "s/<slug:season_code>/comparisons/<uuid:comparison_id>",
        comparisons.comparison,
        name="comparison",
    ),
    path(
        "s/<slug:season_code>/comparisons/<uuid:comparison_id>/void",
        comparisons.comparison_void,
        name="comparison_void",
    ),
    path("s/<slug:season_code>/drawings/<uuid:drawing_id>", drawing_list.drawing, name="drawing"),
    path(
        "s/<slug:season_code>/drawings/<uuid:drawing_id>/squares",
        drawing_squares.drawing_squares,
        name="drawing_squares",
    ),
    path(
        "s/<slug:season_code>/drawings/<uuid:drawing_id>/edit",
        drawing_acts.drawing_edit,
        name="drawing_edit",
    ),
    path(
        "s/<slug:season_code>/drawings/<uuid:drawing_id>/turn",
        drawing_acts.drawing_turn,
        name="drawing_turn",
    ),
    path(
        "s/<slug:season_code>/drawings/<uuid:drawing_id>/void",
        drawing_acts.drawing_void,
        name="drawing_void",
    ),
]
