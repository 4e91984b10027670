"""Long work: how far it is, stop it, start it again."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from records.models import Job
from records.permissions import May
from records.queries.jobs import shown
from records.verbs.jobs import start_job_again, stop_job
from records.views.frame import PageRequest, season_page


@season_page(may=May.RECORD, place="")
def job(request: PageRequest, job_id: UUID) -> HttpResponse:
    if request.headers.get("HX-Request"):
        return _fragment(request, job_id)
    return render(request, "jobs/job.html", {"work": shown(_job_of(request, job_id))})


@season_page("POST", may=May.RECORD, place="")
def job_stop(request: PageRequest, job_id: UUID) -> HttpResponse:
    stop_job(_job_of(request, job_id))
    return _shown_again(request, job_id)


@season_page("POST", may=May.RECORD, place="")
def job_again(request: PageRequest, job_id: UUID) -> HttpResponse:
    return _shown_again(request, start_job_again(_job_of(request, job_id)).pk)


def _job_of(request: PageRequest, job_id: UUID) -> Job:
    return get_object_or_404(Job.objects.filter(site=request.site), pk=job_id)


def _shown_again(request: PageRequest, job_id: UUID) -> HttpResponse:
    if request.headers.get("HX-Request"):
        return _fragment(request, job_id)
    answer = redirect("job", season_code=request.season.code, job_id=job_id)
    answer.status_code = 303
    return answer


def _fragment(request: PageRequest, job_id: UUID) -> HttpResponse:
    work = shown(_job_of(request, job_id))
    answer = render(request, "jobs/_job.html", {"work": work})
    if work.is_over:
        answer.headers["HX-Trigger"] = "job-over"  # the page around it may want to be drawn anew
    return answer
