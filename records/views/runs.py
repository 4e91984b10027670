"""Photo runs: their rows of stations, and how far they are photographed."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import ReasonForm
from records.forms.saving import save_or_explain
from records.forms.tower import KnownRunRows, NewRunRows, RunForm, row_entries, rows_seen
from records.models import PhotoRun, TowerSetUp
from records.permissions import May
from records.queries.changes import entries
from records.queries.opinions import opinions_shown, run_opinions
from records.queries.run_map import Stands, map_of
from records.queries.runs import run_shown, runs_of, runs_with_rows, stands_on
from records.queries.verdict import run_verdict
from records.verbs.tower import edit_run, plan_run, void_run
from records.views.fieldwork import may_still, open_forms_only
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page(place="pictures")
def runs(request: PageRequest) -> HttpResponse:
    shown = runs_of(request.season)
    page = {
        "runs": shown,
        "whole": sum(one.is_whole for one in shown),
        "has_set_up": TowerSetUp.objects.standing().filter(site=request.site).exists(),
        "may_record": request.may(May.RECORD),
        "in_the_field": may_still(request, May.RECORD),
        "may_lead": may_still(request, May.LEAD),
    }
    return render(request, "photos/runs.html", page)


@season_page(place="pictures")
def run(request: PageRequest, run_id: UUID) -> HttpResponse:
    shown = run_here(request, run_id)
    opinions = run_opinions(shown)
    verdict = run_verdict(shown, opinions.opinion)
    stands = stands_on(shown)
    if verdict:
        stands |= dict.fromkeys(verdict.again, Stands.AGAIN)
    page = {
        "shown": run_shown(shown),
        "verdict": verdict,
        "opinions": opinions_shown(shown, opinions),
        "map": map_of(shown, stands, verdict.holes_m if verdict else ()),
        "history": entries(shown),
        "may_record": request.may(May.RECORD),
        "in_the_field": may_still(request, May.RECORD),
        "may_lead": may_still(request, May.LEAD),
    }
    return render(request, "photos/run.html", page)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def run_new(request: PageRequest) -> HttpResponse:
    open_forms_only(request)
    form = RunForm(typed_in(request), season=request.season)
    rows: Any = NewRunRows(typed_in(request), prefix="rows")

    def act() -> PhotoRun:
        return plan_run(request.season, form.entry(row_entries(rows)), form.cleaned_data["id"])

    page = {"title": _("Type a run's rows"), "draft": "run-new", "cancel_url": _list(request)}
    return _answer(request, form, rows, act, page)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def run_edit(request: PageRequest, run_id: UUID) -> HttpResponse:
    open_forms_only(request)
    edited = run_here(request, run_id)
    form = RunForm(typed_in(request), season=request.season, initial=RunForm.seen(edited))
    rows: Any = KnownRunRows(typed_in(request), prefix="rows", initial=rows_seen(edited))

    def act() -> PhotoRun:
        return edit_run(edited, form.entry(row_entries(rows)), form.cleaned_data["version"])

    page = {
        "title": edited.name,
        "draft": f"run-{edited.pk}",
        "cancel_url": run_url(request, edited),
    }
    return _answer(request, form, rows, act, page)


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def run_void(request: PageRequest, run_id: UUID) -> HttpResponse:
    open_forms_only(request)
    unwanted = run_here(request, run_id)
    page = FormPage(
        title=unwanted.name,
        answer=_("Void this run; no card may have been brought in for it."),
        save_label=_("Void the run"),
        cancel_url=run_url(request, unwanted),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_run(unwanted, said["reason"]),
        lambda _run: (_("The run is void."), _list(request)),
    )


def run_here(request: PageRequest, run_id: UUID) -> PhotoRun:
    return get_object_or_404(runs_with_rows(request.season), pk=run_id)


def run_url(request: PageRequest, run: PhotoRun) -> str:
    return reverse("run", args=[request.season.code, run.pk])


def _list(request: PageRequest) -> str:
    return reverse("runs", args=[request.season.code])


def _answer(
    request: PageRequest, form: RunForm, rows: Any, act: Any, page: dict[str, Any]
) -> HttpResponse:
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid() & rows.is_valid():
            saved, status = save_or_explain(form, act)
            if saved is not None:
                say_saved(request, saved, _("The run %(name)s is saved.") % {"name": saved.name})
                return see_other(run_url(request, saved))
    page |= {"form": form, "rows": rows, "may_lead": may_still(request, May.LEAD)}
    return render(request, "photos/run_form.html", page, status=status)
