"""A run planned over an area, looked at, then made; and its card for the slate."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.archive.run_card import again_card_pdf, row_boards_pdf, run_card_pdf
from records.archive.square_tags import square_tags_pdf
from records.forms.run_plan import MakeRunForm, RunPlanForm
from records.forms.saving import save_or_explain, submit
from records.intake.planning import PlannedRun, planned_run
from records.models import Grid
from records.permissions import May
from records.queries.plan import Plan, draw_plan
from records.queries.run_map import map_of
from records.queries.squares import states_of
from records.queries.verdict import run_verdict
from records.verbs.tower import plan_run
from records.views.fieldwork import may_still, open_forms_only
from records.views.form_page import see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page
from records.views.prints import pdf_answer
from records.views.runs import run_here, run_url


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def run_plan(request: PageRequest) -> HttpResponse:
    """What is asked stands in the address; what is sent makes the run that was looked at."""
    open_forms_only(request)
    form = _form(request)
    making = MakeRunForm(typed_in(request), auto_id="make_%s")
    planned, status = _planned(form)
    if planned is not None and request.method == "POST":
        run, status = submit(
            making,
            lambda said: plan_run(
                request.season, making.entry(planned.wanted, planned.rows), said["id"]
            ),
        )
        if run is not None:
            say_saved(request, run, _("The run %(name)s is planned.") % {"name": run.name})
            return see_other(run_url(request, run))
    page = {
        "form": form,
        "making": making,
        "planned": planned,
        "map": map_of(planned.run, {}) if planned else None,
        "plan": _plan(request, form.grid_shown),
        "may_lead": may_still(request, May.LEAD),
        "list_url": reverse("runs", args=[request.season.code]),
    }
    return render(request, "photos/run_plan.html", page, status=status)


@season_page(place="pictures")
def run_card(request: PageRequest, run_id: UUID) -> HttpResponse:
    """For the slate: one PDF, made as it is asked for, since rows may change until frames come."""
    run = run_here(request, run_id)
    verdict = run_verdict(run) if "again" in request.GET else None
    made = again_card_pdf(run, verdict) if verdict and verdict.again else run_card_pdf(run)
    return pdf_answer(request, "run-card", made)


@season_page(place="pictures")
def row_boards(request: PageRequest, run_id: UUID) -> HttpResponse:
    return pdf_answer(request, "row-boards", row_boards_pdf(run_here(request, run_id)))


@season_page(place="pictures")
def square_tags(request: PageRequest, run_id: UUID) -> HttpResponse:
    return pdf_answer(request, "square-tags", square_tags_pdf(run_here(request, run_id)))


def _form(request: PageRequest) -> RunPlanForm:
    if "redraw" in request.GET:
        return RunPlanForm.to_fill_in(request.GET, request.season)
    return RunPlanForm(request.GET or None, season=request.season)


def _planned(form: RunPlanForm) -> tuple[PlannedRun | None, int]:
    if not form.is_bound:
        return None, 200
    if not form.is_valid():
        return None, 422
    planned, status = save_or_explain(form, lambda: planned_run(form.wanted()))
    return planned, 200 if planned is not None else status


def _plan(request: PageRequest, grid: Grid | None) -> Plan | None:
    states: Any = states_of(request.season, [grid]) if grid else []
    return draw_plan(grid, states) if grid else None
