"""Tracing a feature over drawings or photographs: a new one, or one again."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.outlines import OutlineForm
from records.forms.saving import answers_in, save_or_explain
from records.intake.windows import GridWindow
from records.models import Outline, Square, Stage
from records.permissions import May
from records.queries.outline_desk import placements_under
from records.queries.outlines import outlines_of, outlines_shown
from records.queries.square_words import stage_meant
from records.queries.windows import may_be_seen
from records.verbs.guard import UNTIL_DEPOSITED, demand_open
from records.verbs.outlines import OutlineEntry, retrace_outline, trace_outline
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page
from records.views.outline_desk import elsewhere, show_desk


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="plan")
def outline_new(request: PageRequest, square_id: UUID) -> HttpResponse:
    """Over the square and its neighbours, in the stage asked for, else its present one."""
    square = _square(request, square_id)
    stage = _stage(request, square)
    if request.method != "POST":
        demand_open(request.season, UNTIL_DEPOSITED)
        form = OutlineForm(request.site, initial={"at": square.pk})
        return show_desk(request, form, square, stage)
    return _answer(request, OutlineForm(request.site, request.POST), square, stage)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="plan")
def outline_edit(request: PageRequest, outline_id: UUID) -> HttpResponse:
    standing = outlines_of(request.season)
    outline = get_object_or_404(standing, pk=outline_id)
    square = _square_of(outline)
    if request.method != "POST":
        demand_open(request.season, UNTIL_DEPOSITED)
        initial = OutlineForm.seen(outline) | {"at": square.pk}
        form = OutlineForm(request.site, initial=initial)
        return show_desk(request, form, square, outline.stage, outline=outline)
    form = OutlineForm(request.site, request.POST)
    return _answer(request, form, square, outline.stage, outline)


def _square(request: PageRequest, pk: Any) -> Square:
    of_site = Square.objects.standing().filter(grid__site=request.site).labelled()
    found: Square = get_object_or_404(of_site, pk=pk)
    return found


def _square_of(outline: Outline) -> Square:
    """A standing one about its middle."""
    under = outline.squares_under
    near = Square.objects.standing().filter(grid=outline.grid).labelled()
    found = [one for one in near if (one.column, one.row) in under]
    if not found:
        raise Http404
    middle: Square = found[len(found) // 2]
    return middle


def _stage(request: PageRequest, square: Square) -> Stage:
    stage = stage_meant(request.season, square, request.GET.get("stage", ""))
    if stage is None:
        raise Http404
    return stage


def _answer(
    request: PageRequest,
    form: OutlineForm,
    square: Square,
    stage: Stage,
    outline: Outline | None = None,
) -> HttpResponse:
    valid = form.is_valid()
    square = _square(request, form.cleaned_data.get("at") or square.pk)
    if {"go", "over"} & set(request.POST):
        return elsewhere(request, square, stage, outline)
    status = 422
    if valid:
        entry = _entry(request, form.cleaned_data, square)
        answers = answers_in(request.POST)
        saved, status = save_or_explain(form, lambda: _save(form, entry, answers, stage, outline))
        if saved is not None:
            shown = outlines_shown([saved], request.site)[0]
            words = _("%(what)s is kept: it runs across %(squares)s.")
            told = {"what": shown.name, "squares": ", ".join(shown.labels)}
            say_saved(request, saved, words % told)
            return see_other(reverse("outline", args=[request.season.code, saved.pk]))
    return show_desk(request, form, square, stage, status, outline)


def _save(
    form: OutlineForm,
    entry: OutlineEntry,
    answers: dict[str, str],
    stage: Stage,
    outline: Outline | None,
) -> Outline:
    if outline is None:
        return trace_outline(stage, entry, form.cleaned_data["id"], answers)
    return retrace_outline(outline, entry, form.cleaned_data["version"], answers)


def _entry(request: PageRequest, said: dict[str, Any], square: Square) -> OutlineEntry:
    window = GridWindow.from_token(said["window"]) if said["window"] else None
    if window and not may_be_seen(request.season, window, may_lead=request.may(May.LEAD)):
        window = None
    return OutlineEntry(
        grid=square.grid,
        kind=said["kind"],
        shape=said["shape"],
        points_m=said["points"],
        label=said["label"],
        remark=said["remark"],
        traced_over=said["traced_over"] if window else "",
        placements=placements_under(window, said["points"]),
    )
