"""The shed: what today is about, and one tap to log a dive."""

from django.http import HttpResponse
from django.shortcuts import render

from records.permissions import May
from records.queries.arrivals import arrivals
from records.queries.copies import second_copy_reminder
from records.queries.shed import today
from records.views.fieldwork import may_still
from records.views.frame import PageRequest, season_page


@season_page(place="shed")
def shed(request: PageRequest) -> HttpResponse:
    page = {
        "today": today(request.season),
        "records": may_still(request, May.RECORD),
        "copy_reminder": second_copy_reminder() if request.may(May.RECORD) else "",
        "arrivals": arrivals(request.season, sees_restricted=request.may(May.LEAD)),
        "checks": request.may(May.LEAD),
        "may_copy": request.may(May.DIRECT),
    }
    return render(request, "shed.html", page)
