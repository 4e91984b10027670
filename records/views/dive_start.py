"""What the form of a new dive starts from: its day, and what the link to it brought along."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404

from records.forms.dive_initial import same_team
from records.models import Dive, DivingDay, Square, Stage
from records.queries.dive_states import entry_of
from records.views.frame import PageRequest


def days_to_log_on(request: PageRequest) -> list[DivingDay]:
    days = DivingDay.objects.standing().filter(season=request.season)
    if asked := request.GET.get("day"):
        return [get_object_or_404(days, pk=_key(asked))]
    return list(days.filter(date=request.season.today()))


def first_shown(request: PageRequest, day: DivingDay) -> dict[str, Any]:
    """What the link brought along: a square of the plan, the team of an earlier dive."""
    initial: dict[str, Any] = {"day": day}
    if "square" in request.GET:
        initial["tasks"] = [_work_here(request)]
    if team := request.GET.get("same_team"):
        dives = Dive.objects.filter(season=request.season)
        initial["members"] = same_team(entry_of(get_object_or_404(dives, pk=_key(team))))
    return initial


def _work_here(request: PageRequest) -> dict[str, Any]:
    """A square by its label or its key, and the stage that the plan was showing."""
    told = request.GET["square"]
    square = Square.objects.labelled().filter(grid__site=request.site, pk=_key(told)).first()
    stages = Stage.objects.standing().filter(season=request.season)
    stage = stages.filter(pk=_key(request.GET.get("stage", ""))).first()
    return {"squares": square.label if square else told, "stage": stage}


def _key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
