"""Opening the diving day, once a date and vessel, and mending it."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.day_reading import day_initial, read_day, same_operation
from records.forms.days import DaySheet
from records.forms.saving import answers_in, save_or_explain
from records.models import DivingDay
from records.permissions import May
from records.queries.day_changes import day_changed_since, day_entry_of
from records.queries.days import day_offer
from records.refusals import Stale
from records.verbs.days import edit_day, open_day
from records.views.day_page import day_url
from records.views.fieldwork import open_forms_only
from records.views.form_page import see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="shed")
def day_new(request: PageRequest) -> HttpResponse:
    open_forms_only(request)
    sheet = DaySheet(request.season, data=typed_in(request), initial=_first(request))
    status = 200
    if request.method == "POST":
        day, status = _saved(request, sheet, None)
        if day:
            say_saved(request, day, _("The diving day is open."))
            dive_new = f"{reverse('dive_new', args=[request.season.code])}?day={day.pk}"
            then_dive = request.GET.get("then") == "dive"
            return see_other(dive_new if then_dive else reverse("shed", args=[request.season.code]))
    offer = day_offer(request.season, same_operation)
    return _form(request, sheet, {"offer": offer, "draft": "day-new"}, status)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="shed")
def day_edit(request: PageRequest, day_id: UUID) -> HttpResponse:
    open_forms_only(request)
    day = get_object_or_404(DivingDay.objects.standing(), season=request.season, pk=day_id)
    initial = day_initial(day_entry_of(day)) | {"id": day.pk, "version": day.version}
    sheet = DaySheet(request.season, data=typed_in(request), initial=initial)
    status = 200
    if request.method == "POST":
        saved, status = _saved(request, sheet, day)
        if saved:
            say_saved(request, saved, _("The diving day is saved."))
            return see_other(day_url(request, saved))
    return _form(request, sheet, {"day": day, "draft": f"day-{day.pk}"}, status)


def _first(request: PageRequest) -> dict[str, Any]:
    initial: dict[str, Any] = {"date": request.season.today()}
    if request.GET.get("same_operation"):
        offer = day_offer(request.season, same_operation)
        initial |= offer.values if offer else {}
    return initial


def _saved(
    request: PageRequest, sheet: DaySheet, day: DivingDay | None
) -> tuple[DivingDay | None, int]:
    if not sheet.is_valid():
        return None, 422
    entry, answers = read_day(sheet), answers_in(request.POST)
    said = sheet.form.cleaned_data
    mine = DivingDay.objects.filter(season=request.season, made_by=request.user, pk=said["id"])
    known = day or (mine.first() if said["version"] else None)

    def act() -> DivingDay:
        if known:
            return edit_day(known, entry, said["version"], answers)
        return open_day(request.season, entry, said["id"], answers)

    return save_or_explain(sheet.form, act, changed=_changed)


def _changed(stale: Stale) -> list[Any]:
    return day_changed_since(stale.current, stale.seen_version)


def _form(
    request: PageRequest, sheet: DaySheet, context: dict[str, Any], status: int
) -> HttpResponse:
    known = context.get("day")
    again = getattr(sheet.form, "saved_already", None)
    shed = reverse("shed", args=[request.season.code])
    urls = {
        "cancel_url": day_url(request, known) if known else shed,
        "saved_url": day_url(request, again) if again else "",
        "same_url": f"?{urlencode(request.GET.dict() | {'same_operation': 'yes'})}",
    }
    page = {"sheet": sheet, "today": request.season.today(), **urls, **context}
    return render(request, "dives/day_form.html", page, status=status)
