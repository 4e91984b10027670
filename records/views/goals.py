"""One square in one stage: what is wanted of it, its exceptions, and closing it again."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.saving import submit
from records.forms.squares import ExceptionForm, GoalForm, ReasonForm
from records.models import SquareException, SquareGoal
from records.permissions import May
from records.queries.card import card_of
from records.queries.squares import state_of_goal
from records.verbs import stages as verbs
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page
from records.views.plan_choice import query_of


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="plan")
def goal(request: PageRequest, goal_id: UUID) -> HttpResponse:
    goal = _goal(request, goal_id)
    if request.method != "POST":
        return _page(request, goal)
    form = GoalForm(request.POST)
    saved, status = submit(
        form,
        lambda said: verbs.change_goal(
            goal,
            drawing_wanted=said["drawing_wanted"],
            photographs_wanted=said["photographs_wanted"],
            seen_version=said["version"],
        ),
    )
    if saved is None:
        return _page(request, goal, status, goal_form=form)
    say_saved(request, saved, _("What is wanted of %(square)s is saved.") % {"square": goal.square})
    return _to_plan(request, goal)


@season_page("POST", may=May.LEAD, place="plan")
def goal_except(request: PageRequest, goal_id: UUID) -> HttpResponse:
    goal, form = _goal(request, goal_id), ExceptionForm(request.POST, auto_id="except_%s")
    saved, status = submit(
        form,
        lambda said: verbs.accept_exception(
            goal, said["method"], said["kind"], said["reason"], id=said["id"]
        ),
    )
    if saved is None:
        return _page(request, goal, status, exception_form=form)
    say_saved(request, saved, _("Exception accepted for %(square)s.") % {"square": goal.square})
    return _to_plan(request, goal)


@season_page("POST", may=May.LEAD, place="plan")
def goal_close(request: PageRequest, goal_id: UUID) -> HttpResponse:
    goal, form = _goal(request, goal_id), ReasonForm(request.POST, auto_id="close_%s")
    closed, status = submit(form, lambda said: verbs.void_goal(goal, said["reason"]))
    if closed is None:
        return _page(request, goal, status, close_form=form)
    words = _("The stage is closed for %(square)s.") % {"square": goal.square}
    say_saved(request, closed, words)
    return _to_plan(request, goal)


@season_page("POST", may=May.LEAD, place="plan")
def exception_void(request: PageRequest, exception_id: UUID) -> HttpResponse:
    exception = get_object_or_404(
        SquareException.objects.standing().select_related("goal__stage__season__site"),
        goal__stage__season=request.season,
        pk=exception_id,
    )
    goal = _goal(request, exception.goal_id)
    form = ReasonForm(request.POST, auto_id="back_%s")
    voided, status = submit(form, lambda said: verbs.void_exception(exception, said["reason"]))
    if voided is None:
        return _page(request, goal, status, take_back_form=form)
    words = _("The exception is taken back; %(square)s wants it again.") % {"square": goal.square}
    say_saved(request, voided, words)
    return _to_plan(request, goal)


def _page(request: PageRequest, goal: SquareGoal, status: int = 200, **shown: Any) -> HttpResponse:
    seen = {
        "drawing_wanted": goal.drawing_wanted,
        "photographs_wanted": goal.photographs_wanted,
        "version": goal.version,
    }
    context = {
        "goal": goal,
        "card": card_of(request.season, state_of_goal(goal)),
        "plan_query": query_of(goal.square),
        "goal_form": GoalForm(initial=seen),
        "exception_form": ExceptionForm(auto_id="except_%s"),
        "take_back_form": ReasonForm(auto_id="back_%s"),
        "close_form": ReasonForm(auto_id="close_%s"),
        **shown,
    }
    return render(request, "squares/goal.html", context, status=status)


def _goal(request: PageRequest, goal_id: UUID) -> SquareGoal:
    goals = SquareGoal.objects.standing().select_related("stage__season__site", "square__grid")
    found: SquareGoal = get_object_or_404(goals, stage__season=request.season, pk=goal_id)
    return found


def _to_plan(request: PageRequest, goal: SquareGoal) -> HttpResponse:
    url = reverse("plan", args=[request.season.code]) + query_of(goal.square)
    return see_other(url)
