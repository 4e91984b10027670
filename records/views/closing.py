"""Closing a season in two steps, opening it again, and adding to it afterwards."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext_lazy

from records.forms.season import EventForm
from records.models import Phase
from records.permissions import May
from records.verbs.season import add_addendum, close_fieldwork, deposit_archive, reopen
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


@dataclass(frozen=True)
class Step:
    act: Callable[..., Any]
    during: tuple[Phase, ...]
    label: Any
    answer: Any
    asked: Any  # the label of the words to be written
    remarks: tuple[Any, ...]
    done: Any


STEPS = {
    "close": Step(
        close_fieldwork,
        (Phase.OPEN,),
        gettext_lazy("Close the fieldwork"),
        gettext_lazy("Nothing more is recorded under water; the archive is then finished."),
        gettext_lazy("Why now, and what is still to come"),
        (
            gettext_lazy(
                "From then on nobody changes diving days, dives, grids, squares, stages, goals, "
                "photo runs, field drawings and their checks, or adds finds and positions."
            ),
            gettext_lazy(
                "Captions, single photographs, inked drawings, treatment of finds and packages "
                "stay open until the archive is deposited."
            ),
        ),
        gettext_lazy("Fieldwork is closed."),
    ),
    "deposit": Step(
        deposit_archive,
        (Phase.FIELDWORK_CLOSED,),
        gettext_lazy("Mark the archive as deposited"),
        gettext_lazy("After this only dated addenda are added to the season."),
        gettext_lazy("Where it was deposited, under which reference"),
        (gettext_lazy("Do this once the archive has been received."),),
        gettext_lazy("The archive is marked as deposited."),
    ),
    "reopen": Step(
        reopen,
        (Phase.FIELDWORK_CLOSED, Phase.DEPOSITED),
        gettext_lazy("Reopen the season"),
        gettext_lazy("Everything can be recorded again, until you close it anew."),
        gettext_lazy("Why it is opened again"),
        (gettext_lazy("Every reader of the season sees the reason."),),
        gettext_lazy("The season is open again."),
    ),
    "addendum": Step(
        add_addendum,
        (Phase.FIELDWORK_CLOSED, Phase.DEPOSITED),
        gettext_lazy("Add an addendum"),
        gettext_lazy("A dated remark; the record itself stays as it is."),
        gettext_lazy("The addendum"),
        (gettext_lazy("Every reader of the season sees it."),),
        gettext_lazy("The addendum stands."),
    ),
}


@season_page(may=May.DIRECT)
def closing(request: PageRequest) -> HttpResponse:
    phase = request.season.phase()
    page = {
        "phase": phase,
        "steps": [(name, step) for name, step in STEPS.items() if phase in step.during],
        "events": request.season.events.select_related("made_by"),
    }
    return render(request, "season/closing.html", page)


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def closing_step(request: PageRequest, step: str) -> HttpResponse:
    if step not in STEPS:
        raise Http404
    chosen = STEPS[step]
    here = reverse("closing", args=[request.season.code])
    page = FormPage(
        title=str(chosen.label),
        answer=str(chosen.answer),
        remarks=[str(remark) for remark in chosen.remarks],
        save_label=str(chosen.label),
        cancel_url=here,
    )
    return answer_form(
        request,
        EventForm(typed_in(request), asked=chosen.asked),
        page,
        lambda said: chosen.act(request.season, pk=said["id"], reason=said["reason"]),
        lambda _event: (str(chosen.done), here),
    )
