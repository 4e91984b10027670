"""Sheets that are true to size, for the tower."""

from uuid import UUID

from django.http import HttpResponse

from records.archive.tower_prints import base_markers_pdf, board_pdf
from records.views.frame import PageRequest, season_page
from records.views.set_ups import set_up_here


@season_page(place="pictures")
def base_markers(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    return pdf_answer(request, "base-markers", base_markers_pdf(set_up_here(request, set_up_id)))


@season_page(place="pictures")
def lens_board(request: PageRequest) -> HttpResponse:
    return pdf_answer(request, "lens-board", board_pdf())


def pdf_answer(request: PageRequest, name: str, pdf: bytes) -> HttpResponse:
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{request.season.code}-{name}.pdf"'
    return answer
