"""Long work outside the request. Only this module knows the queue that carries it.

A job may be killed at any moment and starts again from its beginning, so each leaves nothing
half-made and does not mind finding part of its work done.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from importlib import import_module
from typing import Any
from uuid import uuid4

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import task
from django_tasks.base import TaskResultStatus
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult

from records.acting import acting_account, acting_as
from records.models import Job, JobState, Site
from records.progress import Ending, Progress, StopAsked, TakenOver, beating, ending, mine
from records.refusals import Refused

log = logging.getLogger(__name__)

WHERE_JOBS_LIVE: tuple[str, ...] = (
    "records.archive.printing",
    "records.archive.second_copy",
    "records.intake.alike",
    "records.intake.card_folder",
    "records.intake.catching_up",
    "records.intake.derivatives",
    "records.intake.pages",
    "records.intake.scans",
    "records.intake.seen",
    "records.intake.sweep",
    "records.intake.windows",
)
CUT_OFFS = 3
# Looking for work locks an SQLite database for a moment: not more often than this.
LOOK_EVERY_S = {"quick": 1.0, "long": 2.0}
KEPT_FOR = timedelta(days=7)  # the queue's rows, and those of work that no person asked for


@dataclass(frozen=True)
class Work:
    kind: str
    queue: str
    words: Any
    act: Callable[..., dict[str, Any] | None]


_works: dict[str, Work] = {}


def job(kind: str, *, words: Any, queue: str = "quick") -> Callable[[Any], Any]:
    """Register `act(progress, **argument)`; what it returns is kept as the job's result."""

    def wrap(act: Callable[..., dict[str, Any] | None]) -> Callable[..., dict[str, Any] | None]:
        _works[kind] = Work(kind, queue, words, act)
        return act

    return wrap


def work_of(kind: str) -> Work:
    for module in WHERE_JOBS_LIVE:
        import_module(module)
    return _works[kind]


def ask(
    kind: str, *, site: Site | None, argument: dict[str, Any] | None = None, once: bool = False
) -> Job:
    """Ask for a job in the acting account's name. With `once`, one that still waits will do.

    The queue's row is written in the caller's transaction: both are there, or neither.
    """
    given = argument or {}
    if once:
        waiting = Job.objects.filter(
            kind=kind, site=site, argument=given, state=JobState.WAITING
        ).first()
        if waiting is not None:
            return waiting
    asked = Job(
        kind=kind,
        queue=work_of(kind).queue,
        site=site,
        argument=given,
        asked_by=acting_account(),
    )
    with transaction.atomic():
        asked.save()
        _enqueue(asked)
    return asked


def kinds_waiting(queue: str) -> set[str]:
    """What else a worker of the queue could do."""
    waiting = Job.objects.filter(queue=queue, state=JobState.WAITING)
    return set(waiting.values_list("kind", flat=True))


def _enqueue(waiting: Job) -> None:
    queued = run_job.using(queue_name=waiting.queue).enqueue(str(waiting.pk))
    waiting.task_id = queued.id
    waiting.state = JobState.WAITING
    waiting.save()


@task(queue_name="quick")
def run_job(job_id: str) -> None:
    running = _claim(job_id)
    if running is not None:
        with beating(running):
            perform(running)


def _claim(job_id: str) -> Job | None:
    with transaction.atomic():
        row = Job.objects.select_for_update().filter(pk=job_id, state=JobState.WAITING).first()
        if row is None:
            return None
        row.state = JobState.RUNNING
        row.attempts += 1
        row.done, row.total, row.message = 0, 0, ""
        row.started_at = row.heartbeat_at = timezone.now()
        row.save()
    return row


def perform(running: Job) -> None:
    """Do a claimed job here and now, and write how it ended."""
    progress = Progress(running)
    try:
        with acting_as(running.asked_by):
            result = work_of(running.kind).act(progress, **running.argument)
    except TakenOver:
        log.warning("job %s was taken over by another worker", running.pk)
    except StopAsked:
        _end(progress, JobState.STOPPED, _("Stopped. What was finished by then is kept."))
    except Refused as refusal:
        _end(progress, JobState.FAILED, refusal.words)
    except (Ending, SystemExit, KeyboardInterrupt):
        start_over(running, progress.attempt, cut_off=False)
    except Exception:
        log.exception("job %s (%s) failed", running.pk, running.kind)
        _end(progress, JobState.FAILED, _failed_words())
    else:
        _end(progress, JobState.DONE, progress.message, result)


def _failed_words() -> str:
    return _(
        "An unexpected fault ended this work. Nothing was lost. Start it again; if it fails "
        "again, tell the director: the shed's log has the details."
    )


def _end(
    progress: Progress, state: JobState, words: str, result: dict[str, Any] | None = None
) -> None:
    try:
        with mine(progress.job, progress.attempt) as row:
            row.state, row.message, row.result = state, words, result or {}
            row.done, row.total = progress.done, progress.of
            row.finished_at = timezone.now()
    except TakenOver:
        log.warning("job %s ended after it was taken over", progress.job.pk)


def ask_to_stop(unwanted: Job) -> None:
    """One that waits is stopped now, one that runs at its next step."""
    with transaction.atomic():
        row = Job.objects.select_for_update().get(pk=unwanted.pk)
        if row.is_over or row.stop_asked_at is not None:
            return
        row.stop_asked_at = timezone.now()
        if row.state == JobState.WAITING:
            row.state, row.message, row.finished_at = (
                JobState.STOPPED,
                _("Stopped."),
                timezone.now(),
            )
        row.save()


def start_over(running: Job, attempt: int, *, cut_off: bool) -> None:
    """Put a job whose run came to nothing back in the queue; three cut-off runs are enough."""
    with transaction.atomic():
        row = Job.objects.select_for_update().get(pk=running.pk)
        if row.is_over or row.attempts != attempt:
            return
        _abandon(row)
        row.cut_offs += cut_off
        if row.stop_asked_at is not None:
            row.state, row.message = JobState.STOPPED, _("Stopped.")
        elif row.cut_offs >= CUT_OFFS:
            row.state, row.message = JobState.FAILED, _cut_off_words(row.cut_offs)
        else:
            _enqueue(row)
            return
        row.finished_at = timezone.now()
        row.save()


def _cut_off_words(times: int) -> str:
    return _(
        "Cut off %(count)d times before it could finish. Nothing was lost; tell the director."
    ) % {"count": times}


def _abandon(row: Job) -> None:
    """The queue's row of a dead worker says RUNNING for ever; end it."""
    for old in _queued(row).filter(status=TaskResultStatus.RUNNING):
        old.set_failed(RuntimeError("its worker died"))


def is_queued(waiting: Job) -> bool:
    """Whether the queue still has the job to give out."""
    return bool(_queued(waiting).filter(status=TaskResultStatus.READY).exists())


def _queued(asked: Job) -> Any:
    return DBTaskResult.objects.filter(pk__in=[asked.task_id] if asked.task_id else [])


class _Worker(Worker):
    def shutdown(self, signum: int, frame: Any) -> None:
        ending.set()
        super().shutdown(signum, frame)


def work_off(queue: str) -> None:
    """Run a worker of one queue in this process until it is told to end."""
    old = timezone.now() - KEPT_FOR
    DBTaskResult.objects.filter(finished_at__lt=old).delete()
    Job.objects.filter(site=None, finished_at__lt=old).delete()
    worker = _Worker(
        queue_names=[queue],
        excluded_queue_names=[],
        interval=LOOK_EVERY_S[queue],
        batch=False,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id=uuid4().hex,
    )
    worker.configure_signals()
    worker.run()
