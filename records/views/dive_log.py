"""Logging a dive and mending one: the same form."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.dive_initial import initial_of
from records.forms.dive_reading import read
from records.forms.dive_sheet import DiveSheet
from records.forms.saving import answers_in, save_or_explain
from records.models import Dive
from records.permissions import May
from records.queries.dive_changes import changed_since
from records.queries.dive_states import entry_of
from records.queries.kits import kits_of, offers_of
from records.queries.square_words import open_squares
from records.refusals import Stale
from records.verbs.dives import edit_dive, log_dive
from records.views.dive_start import days_to_log_on, first_shown
from records.views.fieldwork import open_forms_only
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="shed")
def dive_new(request: PageRequest) -> HttpResponse:
    if request.method == "POST":
        sheet = _sheet(request, data=request.POST)
        dive, status = _saved(request, sheet, None)
        return _on(request, dive) if dive else _page(request, sheet, None, status)
    open_forms_only(request)
    days = days_to_log_on(request)
    if not days:
        return redirect(f"{reverse('day_new', args=[request.season.code])}?then=dive")
    return _page(request, _sheet(request, initial=first_shown(request, days[0])), None)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="shed")
def dive_edit(request: PageRequest, dive_id: UUID) -> HttpResponse:
    open_forms_only(request)
    dive = get_object_or_404(Dive.objects.standing(), season=request.season, pk=dive_id)
    before = entry_of(dive)
    if request.method == "POST":
        sheet = _sheet(request, data=request.POST, before=before)
        saved, status = _saved(request, sheet, dive)
        return _on(request, saved) if saved else _page(request, sheet, dive, status)
    initial = initial_of(before) | {"id": dive.pk, "version": dive.version}
    return _page(request, _sheet(request, initial=initial, before=before), dive)


def _sheet(request: PageRequest, **options: Any) -> DiveSheet:
    check_url = reverse("dive_squares", args=[request.season.code])
    return DiveSheet(request.season, check_url=check_url, **options)


def _saved(request: PageRequest, sheet: DiveSheet, dive: Dive | None) -> tuple[Dive | None, int]:
    entry = read(sheet, dive)
    if entry is None:
        return None, 422
    said, answers = sheet.form.cleaned_data, answers_in(request.POST)
    known = dive or _sent_before(request, sheet)

    def act() -> Dive:
        if known:
            return edit_dive(known, entry, said["version"], answers)
        return log_dive(request.season, entry, said["id"], answers)

    return save_or_explain(sheet.form, act, changed=_changed)


def _sent_before(request: PageRequest, sheet: DiveSheet) -> Dive | None:
    """The dive that this form has become, where the person now sends a change of it knowingly."""
    said = sheet.form.cleaned_data
    mine = Dive.objects.filter(season=request.season, made_by=request.user)
    return mine.filter(pk=said["id"]).first() if said["version"] else None


def _changed(stale: Stale) -> list[Any]:
    return changed_since(stale.current, stale.seen_version)


def _on(request: PageRequest, dive: Dive) -> HttpResponse:
    say_saved(request, dive, _("Dive %(n)s is saved.") % {"n": dive.n})
    if dive.is_under_way:
        return see_other(reverse("shed", args=[request.season.code]))
    return see_other(reverse("dive", args=[request.season.code, dive.pk]))


def _page(
    request: PageRequest, sheet: DiveSheet, dive: Dive | None, status: int = 200
) -> HttpResponse:
    season = request.season
    context = {
        "sheet": sheet,
        "dive": dive,
        "divers": _chips(sheet, season),
        "offers": [] if dive else offers_of(season),
        "asks_day": _asks_day(sheet),
        "squares": open_squares(season),
        "several_stages": sheet.tasks.empty_form.fields["stage"].queryset.count() > 1,
        "draft": f"dive-{dive.pk}" if dive else "dive-new",
        "cancel_url": _away(request, dive),
        "saved_url": _away(request, getattr(sheet.form, "saved_already", None)),
    }
    return render(request, "dives/form.html", context, status=status)


def _asks_day(sheet: DiveSheet) -> bool:
    """Whether the day has to be seen: it is wrong, or several vessels dive today."""
    today = sheet.days.filter(date=sheet.season.today())
    return bool(sheet.form.errors.get("day")) or today.count() > 1


def _away(request: PageRequest, dive: Dive | None) -> str:
    code = request.season.code
    return reverse("dive", args=[code, dive.pk]) if dive else reverse("shed", args=[code])


def _chips(sheet: DiveSheet, season: Any) -> list[tuple[Any, Any]]:
    kits = kits_of(season)
    divers = sheet.members.empty_form.fields["diver"].queryset
    return [(diver, kits.get(diver.pk)) for diver in divers]
