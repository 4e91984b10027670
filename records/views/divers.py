"""Divers of a site, for leads."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import DiverForm, ReasonForm
from records.models import Diver, Membership
from records.permissions import May
from records.queries.changes import entries
from records.queries.people import divers as divers_of
from records.queries.people import papers_in_force
from records.verbs.divers import add_diver, edit_diver, void_diver
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@season_page(may=May.LEAD)
def divers(request: PageRequest) -> HttpResponse:
    by_diver: dict[Any, list[Any]] = {}
    for state in papers_in_force(request.site, request.season.today()):
        if state.run_out or state.soon:
            by_diver.setdefault(state.paper.diver_id, []).append(state)
    for states in by_diver.values():
        states.sort(key=lambda state: state.soon)  # what has run out comes first
    rows = [(diver, by_diver.get(diver.pk, [])) for diver in divers_of(request.site)]
    page = {"rows": rows, "troubled": sum(any(s.run_out for s in states) for _d, states in rows)}
    return render(request, "people/divers.html", page)


def diver_here(request: PageRequest, diver_id: UUID) -> Diver:
    every = Diver.objects.filter(site=request.site).select_related("account", "voided_by")
    diver: Diver = get_object_or_404(every, pk=diver_id)
    return diver


def diver_url(request: PageRequest, diver: Diver) -> str:
    return reverse("diver", args=[request.season.code, diver.pk])


@season_page(may=May.LEAD)
def diver(request: PageRequest, diver_id: UUID) -> HttpResponse:
    diver = diver_here(request, diver_id)
    in_force = papers_in_force(request.site, request.season.today())
    states = {state.paper.pk: state for state in in_force}
    page = {
        "diver": diver,
        "papers": [(paper, states.get(paper.pk)) for paper in diver.papers.standing()],
        "voided": diver.papers.filter(voided_at__isnull=False),
        "history": entries(diver),
    }
    return render(request, "people/diver.html", page)


@season_page("GET", "HEAD", "POST", may=May.LEAD)
def diver_new(request: PageRequest) -> HttpResponse:
    page = FormPage(
        title=_("Add a diver"),
        answer=_("Divers on this list can be put into a dive's team."),
        save_label=_("Add the diver"),
        cancel_url=reverse("divers", args=[request.season.code]),
        draft="diver-new",
    )

    def act(said: dict[str, Any]) -> Diver:
        said.pop("version")
        return add_diver(request.site, pk=said.pop("id"), **said)

    return answer_form(
        request,
        DiverForm(typed_in(request), site=request.site, initial=_offered(request)),
        page,
        act,
        lambda diver: (_("%(name)s is on the list.") % {"name": diver.name}, _list(request)),
    )


def _list(request: PageRequest) -> str:
    return reverse("divers", args=[request.season.code])


def _offered(request: PageRequest) -> dict[str, Any]:
    """From a person's page the diver's name and initials are offered."""
    members = Membership.objects.standing().filter(site=request.site).select_related("account")
    one = next((m for m in members if str(m.pk) == request.GET.get("member")), None)
    if one is None:
        return {}
    return {"name": one.account.name, "initials": one.initials, "account": one.account_id}


@season_page("GET", "HEAD", "POST", may=May.LEAD)
def diver_edit(request: PageRequest, diver_id: UUID) -> HttpResponse:
    diver = diver_here(request, diver_id)
    page = FormPage(
        title=diver.name,
        answer=_("Mend name, initials or account of this diver."),
        save_label=_("Save the diver"),
        cancel_url=diver_url(request, diver),
        draft=f"diver-{diver.pk}",
        history=entries(diver),
    )

    def act(said: dict[str, Any]) -> Diver:
        said.pop("id")
        return edit_diver(diver, said.pop("version"), **said)

    return answer_form(
        request,
        DiverForm(typed_in(request), site=request.site, initial=DiverForm.seen(diver)),
        page,
        act,
        lambda saved: (_("%(name)s is saved.") % {"name": saved.name}, diver_url(request, saved)),
    )


@season_page("GET", "HEAD", "POST", may=May.LEAD)
def diver_void(request: PageRequest, diver_id: UUID) -> HttpResponse:
    diver = diver_here(request, diver_id)
    page = FormPage(
        title=diver.name,
        answer=_("Take this diver off the list; the dives stay as they were logged."),
        save_label=_("Take off the list"),
        cancel_url=diver_url(request, diver),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_diver(diver, reason=said["reason"]),
        lambda _diver: (_("The diver is off the list."), _list(request)),
    )
