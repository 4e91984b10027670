"""The Pictures place: what came in today, what waits, and the ways in."""

from django.http import HttpResponse
from django.shortcuts import render

from records.models import TowerSetUp
from records.permissions import May
from records.queries.arrivals import arrivals
from records.queries.cards import arriving_cards, last_photographs
from records.queries.drawings import (
    SENT_BACK,
    UNMARKED,
    count_of,
    drawings_shown,
    squares_waiting,
)
from records.queries.runs import runs_of
from records.views.fieldwork import may_still, may_until_deposited
from records.views.frame import PageRequest, season_page


@season_page(place="pictures")
def pictures(request: PageRequest) -> HttpResponse:
    season, may_lead = request.season, request.may(May.LEAD)
    drawings = drawings_shown(season, may_lead=may_lead)
    page = {
        "drawings": len(drawings),
        "waiting": squares_waiting(drawings),
        "unmarked": count_of(drawings, UNMARKED),
        "sent_back": count_of(drawings, SENT_BACK),
        "arrivals": arrivals(season, sees_restricted=may_lead),
        "cards": arriving_cards(season) if request.may(May.RECORD) else [],
        "runs": runs_of(season),
        "has_set_up": TowerSetUp.objects.standing().filter(site=request.site).exists(),
        "last": last_photographs(season, may_lead=may_lead),
        "in_the_field": may_still(request, May.RECORD),
        "takes_pictures": may_until_deposited(request, May.RECORD),
        "may_record": request.may(May.RECORD),
    }
    return render(request, "photos/place.html", page)
