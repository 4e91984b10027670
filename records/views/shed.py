"""The shed: what today is about, and one tap to log a dive."""

from django.http import HttpResponse
from django.shortcuts import render

from records.permissions import May
from records.queries.shed import today
from records.views.frame import PageRequest, season_page


@season_page(place="shed")
def shed(request: PageRequest) -> HttpResponse:
    page = {"today": today(request.season), "records": request.may(May.RECORD)}
    return render(request, "shed.html", page)
