"""How far long work is, in words."""

import datetime
import math
from dataclasses import dataclass

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.jobs import work_of
from records.models import Job, JobState


@dataclass(frozen=True)
class JobShown:
    job: Job
    title: str
    how_far: str
    left: str
    is_over: bool
    may_start_again: bool


def shown(job: Job, now: datetime.datetime | None = None) -> JobShown:
    return JobShown(
        job=job,
        title=str(work_of(job.kind).words),
        how_far=_how_far(job),
        left=_left(job, now or timezone.now()),
        is_over=job.is_over,
        may_start_again=job.state in {JobState.STOPPED, JobState.FAILED},
    )


def _how_far(job: Job) -> str:
    if job.state == JobState.WAITING:
        return _("Waiting for its turn.")
    if job.total:
        return _("%(done)d of %(total)d") % {"done": job.done, "total": job.total}
    return ""


def _left(job: Job, now: datetime.datetime) -> str:
    """Time left at the pace so far; nothing while there is no pace yet."""
    if job.state != JobState.RUNNING or not job.done or job.started_at is None:
        return ""
    gone_s = (now - job.started_at).total_seconds()
    left_s = gone_s / job.done * max(job.total - job.done, 0)
    if gone_s < 3:
        return ""
    if left_s < 60:
        return _("less than a minute left")
    minutes = math.ceil(left_s / 60)
    return ngettext("about %(minutes)d minute left", "about %(minutes)d minutes left", minutes) % {
        "minutes": minutes
    }
