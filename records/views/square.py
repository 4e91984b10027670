"""The page of one square: its drawing beside its photographs, and what is still missing."""

from django.http import Http404, HttpResponse
from django.shortcuts import render

from records.permissions import May, sees_site_positions
from records.queries.outline_sheet import shapes_on_square, shown_on_square
from records.queries.outlines import legend_of
from records.queries.square_desk import desk_numbers
from records.queries.square_missing import answer_of
from records.queries.square_next import next_step
from records.queries.square_page import square_page
from records.queries.square_surfaces import square_at
from records.views.fieldwork import may_still, may_until_deposited
from records.views.frame import PageRequest, season_page
from records.views.square_choice import (
    drawing_chips,
    frame_chips,
    layer_chips,
    read_asked,
)
from records.views.square_compare import compare_on
from records.views.square_steps import button_of
from records.views.square_ways import surface_links, ways_from


@season_page(place="plan")
def square(request: PageRequest, grid_code: str, place: str) -> HttpResponse:
    season = request.season
    found = square_at(season, grid_code, place)
    if found is None:
        raise Http404
    asked = read_asked(season, request.GET)
    leads = request.may(May.LEAD)
    page = square_page(found, season, asked, sees_names=request.sees_names, may_lead=leads)
    may_record, may_lead = may_still(request, May.RECORD), may_still(request, May.LEAD)
    sees_site = sees_site_positions(request.membership.role, season)
    step = next_step(page.known, may_record=may_record, may_lead=may_lead)
    frames, more_frames = frame_chips(page, asked)
    context = {
        "page": page,
        "state": page.state,
        "answer": answer_of(page.known),
        "button": button_of(step, page, season),
        "ways": ways_from(page, season, asked),
        "surfaces": surface_links(page, season, asked),
        "drawing_chips": drawing_chips(page, asked),
        "frame_chips": frames,
        "more_frame_chips": more_frames,
        "layer_chips": layer_chips(asked),
        "compare": compare_on(request, page, asked),
        "hidden": asked.hidden,
        "desk": desk_numbers(found, page.photographs.shown, sees_site_positions=sees_site),
        "outlines": (outlines := shown_on_square(season, found, page.state.stage)),
        "outline_shapes": shapes_on_square(found, outlines),
        "legend": legend_of(request.site),
        "may_trace": bool(page.state.stage) and may_until_deposited(request, May.RECORD),
        "may_record": may_record,
        "may_lead": may_lead,
    }
    return render(request, "squares/square.html", context)
