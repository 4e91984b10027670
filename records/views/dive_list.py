"""The register of the season's dives."""

from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render

from records.forms.dive_filter import DiveFilterForm
from records.queries.dives import line_of, register, with_all
from records.views.frame import PageRequest, season_page

ON_A_PAGE = 50


@season_page(place="shed")
def dives(request: PageRequest) -> HttpResponse:
    form = DiveFilterForm(request.GET or None, season=request.season, sees_names=request.sees_names)
    pages = Paginator(with_all(register(request.season, form.chosen())), ON_A_PAGE)
    page = pages.get_page(request.GET.get("page"))
    context: dict[str, Any] = {
        "form": form,
        "page": page,
        "lines": [line_of(dive, sees_names=request.sees_names) for dive in page],
        "asked": urlencode({k: v for k, v in request.GET.items() if k != "page" and v}),
    }
    return render(request, "dives/list.html", context)
