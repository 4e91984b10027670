"""The door: to the season one works in, and a bare health answer."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from records.permissions import seasons_for
from records.queries.season import season_to_open


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
