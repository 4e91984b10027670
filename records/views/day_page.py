"""The diving days of a season, and one of them: as it was, its history, its voiding."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.people import ReasonForm
from records.models import Dive, DivingDay
from records.permissions import May, sees_diving_place
from records.queries.day_changes import day_history
from records.queries.days import days_of
from records.queries.dives import lines
from records.verbs.days import void_day
from records.views.fieldwork import may_still, open_forms_only
from records.views.form_page import FormPage, answer_form, typed_in
from records.views.frame import PageRequest, season_page


def day_here(request: PageRequest, day_id: UUID) -> DivingDay:
    days = DivingDay.objects.filter(season=request.season)
    day: DivingDay = get_object_or_404(days, pk=day_id)
    return day


def day_url(request: PageRequest, day: DivingDay) -> str:
    return reverse("day", args=[request.season.code, day.pk])


@season_page(place="shed")
def days(request: PageRequest) -> HttpResponse:
    page = {"days": days_of(request.season), "records": may_still(request, May.RECORD)}
    return render(request, "dives/days.html", page)


@season_page(place="shed")
def day(request: PageRequest, day_id: UUID) -> HttpResponse:
    found = day_here(request, day_id)
    page: dict[str, Any] = {
        "day": found,
        "lines": lines(Dive.objects.filter(day=found).order_by("n"), sees_names=request.sees_names),
        "sees_place": sees_diving_place(request.membership.role, request.season),
    }
    if request.may(May.RECORD):
        page |= {
            "knows": True,
            "writes": may_still(request, May.RECORD),
            "leads": request.may(May.LEAD),
            "supervisors": found.supervisors.all(),
            "history": day_history(found),
            "answers": found.answers.values(),
        }
    return render(request, "dives/day.html", page)


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="shed")
def day_void(request: PageRequest, day_id: UUID) -> HttpResponse:
    open_forms_only(request)
    found = day_here(request, day_id)
    page = FormPage(
        title=str(found),
        answer=_("Make this diving day void? It stays to be read, with your reason."),
        save_label=_("Make it void"),
        cancel_url=day_url(request, found),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_day(found, said["reason"]),
        lambda voided: (_("The diving day is void."), day_url(request, voided)),
    )
