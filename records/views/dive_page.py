"""One dive: as it was, its history, its surfacing and its voiding."""

import datetime
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from records.forms.dive_times import reached_at
from records.forms.people import ReasonForm
from records.forms.saving import answers_in, save_or_explain
from records.forms.surfacing import SurfaceForm
from records.models import Dive
from records.permissions import May
from records.queries.dive_changes import dive_history
from records.queries.dives import line_of, still_to_come_in, with_all
from records.queries.photographs import singles_of
from records.verbs.dives import surface, void_dive
from records.views.fieldwork import may_still, may_until_deposited, open_forms_only
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


def dive_here(request: PageRequest, dive_id: UUID) -> Dive:
    dive: Dive = get_object_or_404(with_all(Dive.objects.filter(season=request.season)), pk=dive_id)
    return dive


def dive_url(dive: Dive, name: str = "dive") -> str:
    return reverse(name, args=[dive.season.code, dive.pk])


@season_page(place="shed")
def dive(request: PageRequest, dive_id: UUID) -> HttpResponse:
    found = dive_here(request, dive_id)
    photographs = singles_of(found, may_lead=request.may(May.LEAD))
    page: dict[str, Any] = {"dive": found, "photographs": photographs}
    page["line"] = line_of(found, sees_names=request.sees_names)
    if request.may(May.RECORD):
        page |= {
            "knows": True,
            "writes": (writes := may_still(request, May.RECORD)),
            "to_come": still_to_come_in(found) if writes else set(),
            "leads": request.may(May.LEAD),
            "takes_pictures": may_until_deposited(request, May.RECORD),
            "history": dive_history(found),
            "answers": found.answers.values(),
        }
    return render(request, "dives/page.html", page)


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="shed")
def dive_void(request: PageRequest, dive_id: UUID) -> HttpResponse:
    open_forms_only(request)
    found = dive_here(request, dive_id)
    page = FormPage(
        title=_("Dive %(n)s") % {"n": found.n},
        answer=_("Make this dive void? It stays to be read, with its number and your reason."),
        save_label=_("Make it void"),
        cancel_url=dive_url(found),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_dive(found, said["reason"]),
        lambda voided: (_("Dive %(n)s is void.") % {"n": voided.n}, dive_url(voided)),
    )


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="shed")
def dive_surface(request: PageRequest, dive_id: UUID) -> HttpResponse:
    """One tap from the shed page; asks only where a question is open or the time is typed."""
    open_forms_only(request)
    found = dive_here(request, dive_id)
    form, status = SurfaceForm(typed_in(request)), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            surfaced, status = save_or_explain(form, lambda: _surfaced(request, found, form))
            if surfaced:
                return _go_on(request, surfaced)
    page = {"form": form, "dive": found, "line": line_of(found, sees_names=True)}
    return render(request, "dives/surface.html", page, status=status)


def _surfaced(request: PageRequest, dive: Dive, form: SurfaceForm) -> Dive:
    typed: datetime.time | None = form.cleaned_data["at"]
    at = reached_at(dive.left_surface_at, typed, dive.season.tz) if typed else timezone.now()
    return surface(dive, at, answers_in(request.POST))


def _go_on(request: PageRequest, dive: Dive) -> HttpResponse:
    words = _("Dive %(n)s has surfaced. Now fill in depth, pressures and what was done.")
    say_saved(request, dive, words % {"n": dive.n})
    return see_other(dive_url(dive, "dive_edit"))
