"""The shed: what today is about, and one tap to log a dive."""

from django.http import HttpResponse
from django.shortcuts import render

from records.permissions import May
from records.queries.agreement import second_looks
from records.queries.arrivals import arrivals
from records.queries.copies import second_copy_reminder
from records.queries.drawings import next_to_check
from records.queries.shed import today
from records.views.fieldwork import may_still, may_until_deposited
from records.views.frame import PageRequest, season_page


@season_page(place="shed")
def shed(request: PageRequest) -> HttpResponse:
    season = request.season
    checks = may_until_deposited(request, May.LEAD)
    page = {
        "today": today(season, sees_names=request.sees_names),
        "records": may_still(request, May.RECORD),
        "copy_reminder": second_copy_reminder() if request.may(May.RECORD) else "",
        "arrivals": arrivals(season, sees_restricted=request.may(May.LEAD)),
        "to_check": next_to_check(season, may_lead=True) if checks else None,
        "second_looks": second_looks(season) if request.may(May.LEAD) else [],
        "enters_cards": request.may(May.RECORD),
        "may_copy": request.may(May.DIRECT),
    }
    return render(request, "shed.html", page)
