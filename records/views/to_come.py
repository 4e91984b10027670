"""A place whose pages are not built yet: it says in one sentence what will stand there."""

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
