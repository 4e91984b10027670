"""Places whose pages are not built yet: each says in one sentence what will stand there."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from records.views.frame import PageRequest, season_page


@season_page(place="pictures")
def pictures(request: PageRequest) -> HttpResponse:
    words = _(
        "Photographs and drawings will come in here, be placed on their squares and be checked."
    )
    return render(request, "to_come.html", {"place": _("Pictures"), "words": words})


@season_page(place="finds")
def finds(request: PageRequest) -> HttpResponse:
    words = _("Finds will be registered here, each with its number, its square and its place.")
    return render(request, "to_come.html", {"place": _("Finds"), "words": words})
