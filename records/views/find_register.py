"""Registering a find and mending one. A plain question stands before the form."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.finds import FindForm, PlaceForm
from records.forms.saving import answers_in, save_or_explain
from records.models import Dive, Find
from records.permissions import May
from records.queries.find_pages import changed_since, tags_out
from records.queries.square_words import open_squares
from records.verbs.finds import edit_find, register_find
from records.views.finds import find_here, find_url
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page

BROUGHT = ("square", "stage", "dive")


@season_page(may=May.RECORD, place="finds")
def find_new(request: PageRequest) -> HttpResponse:
    """Is it, or may it be, human remains or ordnance?"""
    query = urlencode({name: request.GET[name] for name in BROUGHT if request.GET.get(name)})
    return render(request, "finds/new.html", {"query": f"?{query}" if query else ""})


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="finds")
def find_register(request: PageRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, _form(request, initial=offered(request)))
    form = _form(request, data=request.POST)
    if not form.is_valid():
        return _page(request, form, status=422)
    saved, status = save_or_explain(form, lambda: _registered(request, form), changed=_changed)
    if saved is None:
        return _page(request, form, status=status)
    say_saved(request, saved, _("Find %(n)s is registered.") % {"n": saved.n})
    return see_other(find_url(saved, "find_fix" if saved.square else "find"))


def _registered(request: PageRequest, form: FindForm) -> Find:
    said, answers = form.cleaned_data, answers_in(request.POST)
    return register_find(request.season, form.says(), said["id"], tag=said["tag"], answers=answers)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="finds")
def find_edit(request: PageRequest, find_id: UUID) -> HttpResponse:
    found = find_here(request, find_id, standing=True)
    if request.method != "POST":
        return _page(request, _form(request, find=found), found)
    form = _form(request, find=found, data=request.POST)
    if not form.is_valid():
        return _page(request, form, found, 422)
    version, answers = form.cleaned_data["version"], answers_in(request.POST)
    saved, status = save_or_explain(
        form, lambda: edit_find(found, form.says(), version, answers), changed=_changed
    )
    if saved is None:
        return _page(request, form, found, status)
    say_saved(request, saved, _("Find %(n)s is saved.") % {"n": saved.n})
    return see_other(find_url(saved))


def offered(request: PageRequest) -> dict[str, Any]:
    """What the link brought along: a square and stage of the plan, a dive by number or key."""
    said: dict[str, Any] = {name: request.GET.get(name, "") for name in ("square", "stage")}
    said["found_on"] = request.season.today()
    dive = _dive(request)
    if dive is None:
        return said
    squares = {task.square for task in dive.tasks.all() if task.square}
    if not said["square"] and len(squares) == 1:
        said["square"] = squares.pop().label
    return said | {"dive": dive.pk, "found_on": dive.day.date}


def _dive(request: PageRequest) -> Dive | None:
    told = request.GET.get("dive", "")
    dives = Dive.objects.standing().filter(season=request.season).select_related("day")
    if told.isdecimal():
        found: Dive | None = dives.filter(n=int(told[:9])).first()
        return found
    try:
        return dives.filter(pk=UUID(told)).first()
    except ValueError:
        return None


def place_of(request: PageRequest, form: PlaceForm) -> dict[str, Any]:
    """What both forms of a find show around their fields."""
    return {
        "form": form,
        "squares": open_squares(request.season),
        "several_stages": form.fields["stage"].queryset.count() > 1,  # type: ignore[attr-defined]
    }


def _form(request: PageRequest, **options: Any) -> FindForm:
    check_url = reverse("dive_squares", args=[request.season.code])
    return FindForm(request.season, check_url=check_url, **options)


def _changed(stale: Any) -> list[Any]:
    return changed_since(stale.current, stale.seen_version)


def _page(
    request: PageRequest, form: FindForm, find: Find | None = None, status: int = 200
) -> HttpResponse:
    again = getattr(form, "saved_already", None)
    context = {
        **place_of(request, form),
        "find": find,
        "tags": [] if find else tags_out(request.season),
        "draft": f"find-{find.pk}" if find else "find-new",
        "cancel_url": find_url(find) if find else reverse("finds", args=[request.season.code]),
        "saved_url": find_url(again) if again else "",
    }
    return render(request, "finds/form.html", context, status=status)
