"""Tower set-ups of the site."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import ReasonForm
from records.forms.tower import BaseMarkersForm, SetUpForm
from records.models import TowerSetUp
from records.permissions import May
from records.queries.changes import entries
from records.queries.lenses import lens_words_of
from records.queries.set_ups import set_ups_of, versions_told
from records.verbs.set_up_versions import note_base_markers
from records.verbs.tower import make_set_up, void_set_up
from records.views.fieldwork import may_still, open_forms_only
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@season_page(place="pictures")
def set_ups(request: PageRequest) -> HttpResponse:
    shown = set_ups_of(request.site)
    page = {"set_ups": shown, "may_lead": may_still(request, May.LEAD)}
    return render(request, "photos/set_ups.html", page)


@season_page(place="pictures")
def set_up(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    shown = set_up_here(request, set_up_id)
    page = {
        "set_up": shown,
        "versions": versions_told(shown),
        "lens_words": lens_words_of(shown),
        "may_lead": may_still(request, May.LEAD) and not shown.is_voided,
        "may_record": request.may(May.RECORD),
        "history": entries(shown) if request.may(May.RECORD) else [],
    }
    return render(request, "photos/set_up.html", page)


def set_up_here(request: PageRequest, set_up_id: UUID) -> TowerSetUp:
    found: TowerSetUp = get_object_or_404(TowerSetUp, site=request.site, pk=set_up_id)
    return found


def set_up_url(request: PageRequest, set_up: TowerSetUp) -> str:
    return reverse("set_up", args=[request.season.code, set_up.pk])


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def set_up_new(request: PageRequest) -> HttpResponse:
    open_forms_only(request)
    form = SetUpForm(typed_in(request))
    page = FormPage(
        title=_("Make a set-up"),
        answer=_("One camera in the tower, and what its pictures cover of the base."),
        remarks=[
            _(
                "Measure the footprint for now; marking the base on a frame places it better. "
                "Another camera or height is another set-up; a lens refitted or a camera moved in "
                "its bracket is a new version of the same one."
            )
        ],
        save_label=_("Make the set-up"),
        cancel_url=_list(request),
        draft="set-up-new",
    )
    return answer_form(
        request,
        form,
        page,
        lambda said: make_set_up(request.season, form.entry(), said["id"]),
        lambda made: (
            _("The set-up %(name)s is made. Mark its base once a frame is there.")
            % {"name": made.name},
            set_up_url(request, made),
        ),
    )


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def set_up_markers(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    """That printed markers are fixed to its base, and the sizes that need to be known."""
    open_forms_only(request)
    set_up = set_up_here(request, set_up_id)
    form = BaseMarkersForm(typed_in(request), initial=BaseMarkersForm.seen(set_up))
    page = FormPage(
        title=_("Markers on the base of %(name)s") % {"name": set_up.name},
        answer=_("Measure the base between the outer edges of its markers."),
        remarks=[
            _(
                "With these sizes the base is found in a frame by itself; you look at its marks "
                "before they count. Measure both diagonals too: where they differ by more than "
                "3 mm, the base is not square, and the marks will disagree."
            )
        ],
        cancel_url=set_up_url(request, set_up),
        ways=[
            (
                _("Print the markers (PDF, true size)"),
                reverse("base_markers", args=[request.season.code, set_up.pk]),
            )
        ],
    )
    return answer_form(
        request,
        form,
        page,
        lambda said: note_base_markers(request.season, set_up, form.sizes(), said["version"]),
        lambda kept: (_("The base's markers are noted."), set_up_url(request, kept)),
    )


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def set_up_void(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    open_forms_only(request)
    set_up = get_object_or_404(TowerSetUp.objects.standing(), site=request.site, pk=set_up_id)
    page = FormPage(
        title=set_up.name,
        answer=_("Take this set-up off the list; no run may use it."),
        save_label=_("Take off the list"),
        cancel_url=_list(request),
    )

    def act(said: dict[str, Any]) -> TowerSetUp:
        return void_set_up(request.season, set_up, said["reason"])

    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        act,
        lambda _set_up: (_("The set-up is off the list."), _list(request)),
    )


def _list(request: PageRequest) -> str:
    return reverse("set_ups", args=[request.season.code])
