"""A square's drawing among its neighbours', laid together."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render

from records.models import Square
from records.permissions import May
from records.queries.edges import edges_of
from records.queries.square_words import stage_meant
from records.queries.squares import stages_of
from records.views.frame import PageRequest, season_page


@season_page(may=May.SEE, place="plan")
def square_edges(request: PageRequest, square_id: UUID) -> HttpResponse:
    """The drawings of a square and its neighbours, laid together."""
    of_site = Square.objects.standing().filter(grid__site=request.site).labelled()
    square = get_object_or_404(of_site, pk=square_id)
    stage = stage_meant(request.season, square, request.GET.get("stage", ""))
    if stage is None:
        raise Http404
    context = {
        "edges": edges_of(request.season, square, stage, may_lead=request.may(May.LEAD)),
        "stages": stages_of(request.season),
        "may_check": request.may(May.LEAD),
    }
    return render(request, "drawings/edges.html", context)
