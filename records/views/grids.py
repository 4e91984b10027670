"""Grids for the director: planned, corrected while nothing lies on them, and grown."""

from dataclasses import fields
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.saving import submit
from records.forms.squares import EditGridForm, GrowForm, NewGridForm, ReasonForm, TakeOutForm
from records.models import Grid
from records.permissions import May
from records.queries.frozen import grid_bears_evidence
from records.queries.plan import draw_plan
from records.queries.squares import grids_counted, states_of
from records.verbs import squares as verbs
from records.verbs.squares import GridEntry
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page

OF_ENTRY = [one.name for one in fields(GridEntry)]


@season_page("GET", "HEAD", may=May.DIRECT, place="plan")
def grids(request: PageRequest) -> HttpResponse:
    return render(request, "squares/grids.html", {"grids": grids_counted(request.site)})


@season_page("GET", "HEAD", "POST", may=May.DIRECT, place="plan")
def grid_new(request: PageRequest) -> HttpResponse:
    form, status = NewGridForm(request.POST or None), 200
    if request.method == "POST":
        grid, status = submit(
            form,
            lambda said: verbs.plan_grid(
                request.season,
                _entry(said),
                columns=said["columns"],
                rows=said["rows"],
                id=said["id"],
            ),
        )
        if grid is not None:
            say_saved(request, grid, _("The grid is planned. The lead can now open a stage on it."))
            return _to(request, grid)
    return render(request, "squares/grid_new.html", {"form": form}, status=status)


@season_page("GET", "HEAD", "POST", may=May.DIRECT, place="plan")
def grid(request: PageRequest, grid_code: str) -> HttpResponse:
    grid = _grid(request, grid_code)
    if request.method != "POST":
        return _page(request, grid)
    form = EditGridForm(request.POST, grid=grid, is_frozen=grid_bears_evidence(grid))
    saved, status = submit(
        form,
        lambda said: verbs.edit_grid(
            request.season, grid, _entry(said), seen_version=said["version"]
        ),
    )
    if saved is None:
        return _page(request, grid, status, form=form)
    say_saved(request, saved, _("The grid is saved."))
    return _to(request, saved)


@season_page("POST", may=May.DIRECT, place="plan")
def grid_grow(request: PageRequest, grid_code: str) -> HttpResponse:
    grid = _grid(request, grid_code)
    form = GrowForm(request.POST, grid=grid)
    added, status = submit(form, lambda said: verbs.grow_grid(request.season, grid, **said))
    if added is None:
        return _page(request, grid, status, grow_form=form)
    messages.success(request, ngettext("%d square added.", "%d squares added.", added) % added)
    return _to(request, grid)


@season_page("POST", may=May.DIRECT, place="plan")
def grid_take_out(request: PageRequest, grid_code: str) -> HttpResponse:
    grid = _grid(request, grid_code)
    form = TakeOutForm(request.POST, grid=grid, auto_id="out_%s")
    taken, status = submit(
        form,
        lambda said: verbs.take_out_squares(request.season, grid, said["squares"], said["reason"]),
    )
    if taken is None:
        return _page(request, grid, status, take_out_form=form)
    messages.success(
        request, ngettext("%d square taken out.", "%d squares taken out.", taken) % taken
    )
    return _to(request, grid)


@season_page("POST", may=May.DIRECT, place="plan")
def grid_void(request: PageRequest, grid_code: str) -> HttpResponse:
    grid, form = _grid(request, grid_code), ReasonForm(request.POST, auto_id="void_%s")
    voided, status = submit(
        form, lambda said: verbs.void_grid(request.season, grid, said["reason"])
    )
    if voided is None:
        return _page(request, grid, status, void_form=form)
    say_saved(request, voided, _("The grid is void; it stays in the record with its reason."))
    return see_other(reverse("grids", args=[request.season.code]))


def _page(request: PageRequest, grid: Grid, status: int = 200, **shown: Any) -> HttpResponse:
    is_frozen = grid_bears_evidence(grid)
    context = {
        "grid": grid,
        "is_frozen": is_frozen,
        "plan": draw_plan(grid, states_of(request.season, [grid])),
        "form": EditGridForm(grid=grid, is_frozen=is_frozen),
        "grow_form": GrowForm(grid=grid, auto_id="grow_%s"),
        "take_out_form": TakeOutForm(grid=grid, auto_id="out_%s"),
        "void_form": ReasonForm(auto_id="void_%s"),
        **shown,
    }
    return render(request, "squares/grid.html", context, status=status)


def _entry(said: dict[str, Any]) -> GridEntry:
    values: dict[str, Any] = {
        name: float(said[name]) if isinstance(said[name], Decimal) else said[name]
        for name in OF_ENTRY
    }
    return GridEntry(**values)


def _grid(request: PageRequest, code: str) -> Grid:
    found: Grid = get_object_or_404(Grid.objects.standing(), site=request.site, code=code)
    return found


def _to(request: PageRequest, grid: Grid) -> HttpResponse:
    return see_other(reverse("grid", args=[request.season.code, grid.code]))
