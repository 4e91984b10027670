"""The stages of a season, for the recording lead."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.saving import submit
from records.forms.squares import StageForm
from records.models import Stage
from records.permissions import May
from records.queries.missing import stages_counted
from records.verbs.stages import open_stage
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="plan")
def stages(request: PageRequest) -> HttpResponse:
    """All stages of the season with what they want; open another."""
    form, status = StageForm(request.POST or None), 200
    if request.method == "POST":
        stage, status = submit(
            form, lambda said: open_stage(request.season, said["name"], id=said["id"])
        )
        if stage is not None:
            say_saved(
                request, stage, _("The stage is open. Now say what is wanted of which squares.")
            )
            return see_other(_url(request, stage))
    context = {"form": form, "stages": stages_counted(request.season), "query": _query(request)}
    return render(request, "squares/stages.html", context, status=status)


def _url(request: PageRequest, stage: Stage) -> str:
    return reverse("stage", args=[request.season.code, stage.order]) + _query(request)


def _query(request: PageRequest) -> str:
    """The squares that the lead came from the plan with go along."""
    return f"?{request.GET.urlencode()}" if request.GET else ""
