"""The shed: what today is about, and one tap to log a dive."""

from django.http import HttpResponse
from django.shortcuts import render

from records.permissions import May
from records.queries.copies import second_copy_reminder
from records.queries.shed import today
from records.views.frame import PageRequest, season_page


@season_page(place="shed")
def shed(request: PageRequest) -> HttpResponse:
    records = request.may(May.RECORD)
    page = {
        "today": today(request.season),
        "records": records,
        "copy_reminder": second_copy_reminder() if records else "",
        "may_copy": request.may(May.DIRECT),
    }
    return render(request, "shed.html", page)
