"""The second copy and the state of the originals: the director's page."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from records.archive.second_copy import ask_for_copy
from records.forms.copies import SecondCopyForm
from records.forms.saving import save_or_explain
from records.models import Job
from records.permissions import May
from records.queries.copies import (
    last_job,
    last_sweep,
    latest_copies,
    second_copy_reminder,
)
from records.queries.jobs import JobShown, shown
from records.verbs.copies import ask_sweep
from records.views.form_page import see_other, typed_in
from records.views.frame import PageRequest, season_page


@season_page("GET", "HEAD", "POST", may=May.DIRECT)
def copies(request: PageRequest) -> HttpResponse:
    made = latest_copies()
    form: Any = SecondCopyForm(
        typed_in(request), initial={"folder": made[0].folder if made else ""}
    )
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            folder = form.cleaned_data["folder"]
            job, status = save_or_explain(form, lambda: ask_for_copy(request.season, folder))
            if job is not None:
                return see_other(reverse("copies", args=[request.season.code]))
    page = {
        "form": form,
        "copies": made,
        "reminder": second_copy_reminder(),
        "work": _under_way(last_job(request.site, "second_copy")),
        "sweep_work": _under_way(last_job(request.site, "sweep")),
        "swept": last_sweep(request.site),
    }
    return render(request, "season/copies.html", page, status=status)


@season_page("POST", may=May.DIRECT)
def sweep(request: PageRequest) -> HttpResponse:
    ask_sweep(request.season)
    return see_other(reverse("copies", args=[request.season.code]))


def _under_way(job: Job | None) -> JobShown | None:
    return None if job is None or job.is_over else shown(job)
