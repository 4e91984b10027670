"""The door: to the season one works in, and a bare health answer."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from records.permissions import seasons_for
from records.queries.season import season_to_open
from records.views.frame import PageRequest, season_page


@require_safe
def health(request: HttpRequest) -> HttpResponse:
    return HttpResponse("ok", content_type="text/plain")


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    if not request.user.is_authenticated:
        return redirect("sign_in")
    season = season_to_open(seasons_for(request.user))
    if season is None:
        return redirect("sites")
    return redirect("shed", season_code=season.code)


@season_page(place="shed")
def shed(request: PageRequest) -> HttpResponse:
    words = _("The day's dives will stand here, and the squares still wanting.")
    return render(request, "to_come.html", {"place": _("Shed"), "words": words})
