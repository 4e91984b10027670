"""One stage: a block of squares is wanted in it, excepted from it, and its name and end."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.saving import submit
from records.forms.squares import ExceptionsForm, GoalsForm, ReasonForm, StageNameForm
from records.models import Stage
from records.permissions import May
from records.queries.missing import count
from records.queries.plan import draw_plan
from records.queries.squares import states_of
from records.verbs import stages as verbs
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page
from records.views.plan_choice import Choice, grid_chips, read_choice


@season_page("GET", "HEAD", may=May.LEAD, place="plan")
def stage(request: PageRequest, order: int) -> HttpResponse:
    return _page(request, order)


@season_page("POST", may=May.LEAD, place="plan")
def stage_goals(request: PageRequest, order: int) -> HttpResponse:
    stage, choice = _stage(request, order), _choice(request, order)
    form = GoalsForm(request.POST, grid=choice.grid)
    done, status = submit(
        form,
        lambda said: verbs.set_goals(
            stage,
            said["squares"],
            drawing_wanted=said["drawing_wanted"],
            photographs_wanted=said["photographs_wanted"],
        ),
    )
    if done is None:
        return _page(request, order, status, goals_form=form)
    opened = ngettext("Opened for %d square", "Opened for %d squares", done.opened) % done.opened
    changed = ngettext("%d changed", "%d changed", done.changed) % done.changed
    messages.success(request, f"{opened}; {changed}.")
    return _back(request, stage, choice)


@season_page("POST", may=May.LEAD, place="plan")
def stage_exceptions(request: PageRequest, order: int) -> HttpResponse:
    stage, choice = _stage(request, order), _choice(request, order)
    form = ExceptionsForm(request.POST, grid=choice.grid, auto_id="except_%s")
    accepted, status = submit(
        form,
        lambda said: verbs.accept_exceptions(
            stage, said["squares"], said["method"], said["kind"], said["reason"]
        ),
    )
    if accepted is None:
        return _page(request, order, status, exceptions_form=form)
    words = ngettext("%d exception accepted.", "%d exceptions accepted.", len(accepted))
    messages.success(request, words % len(accepted))
    return _back(request, stage, choice)


@season_page("POST", may=May.LEAD, place="plan")
def stage_name(request: PageRequest, order: int) -> HttpResponse:
    form, stage = StageNameForm(request.POST, auto_id="name_%s"), _stage(request, order)
    saved, status = submit(
        form,
        lambda said: verbs.rename_stage(stage, said["name"], seen_version=said["version"]),
    )
    if saved is None:
        return _page(request, order, status, name_form=form)
    say_saved(request, saved, _("The stage has its new name."))
    return see_other(reverse("stage", args=[request.season.code, saved.order]))


@season_page("POST", may=May.LEAD, place="plan")
def stage_void(request: PageRequest, order: int) -> HttpResponse:
    form, stage = ReasonForm(request.POST, auto_id="void_%s"), _stage(request, order)
    voided, status = submit(form, lambda said: verbs.void_stage(stage, said["reason"]))
    if voided is None:
        return _page(request, order, status, void_form=form)
    say_saved(request, voided, _("The stage is void; it stays in the record with its reason."))
    return see_other(reverse("stages", args=[request.season.code]))


def _page(request: PageRequest, order: int, status: int = 200, **shown: Any) -> HttpResponse:
    stage, choice = _stage(request, order), _choice(request, order)
    states = states_of(request.season, [choice.grid], stage) if choice.grid else []
    block = {"squares": request.GET.get("squares", "")}
    context = {
        "stage": stage,
        "choice": choice,
        "choice_query": choice.but(stage=None, at=None),
        "grid_chips": grid_chips(replace(choice, stage=None)),
        "counts": count(states),
        "plan": draw_plan(choice.grid, states) if choice.grid else None,
        "goals_form": GoalsForm(grid=choice.grid, initial=block),
        "exceptions_form": ExceptionsForm(grid=choice.grid, initial=block, auto_id="except_%s"),
        "name_form": StageNameForm(
            initial={"name": stage.name, "version": stage.version}, auto_id="name_%s"
        ),
        "void_form": ReasonForm(auto_id="void_%s"),
        **shown,
    }
    return render(request, "squares/stage.html", context, status=status)


def _stage(request: PageRequest, order: int) -> Stage:
    found: Stage = get_object_or_404(Stage.objects.standing(), season=request.season, order=order)
    return found


def _choice(request: PageRequest, order: int) -> Choice:
    asked = request.GET.copy()
    asked["stage"] = str(order)
    return read_choice(request.season, asked)


def _back(request: PageRequest, stage: Stage, choice: Choice) -> HttpResponse:
    url = reverse("stage", args=[request.season.code, stage.order])
    return see_other(url + choice.but(stage=None, at=None))
