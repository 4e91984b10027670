"""Finds jobs whose worker died, and has them started again."""

import logging
import threading
import time
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.db import DatabaseError, connection

from records.jobs import LOOK_EVERY_S, is_queued, start_over
from records.models import Job, JobState

log = logging.getLogger(__name__)

Sign = tuple[Any, ...]


class Reaper:
    """Watches signs of life by its own clock.

    Neither another machine's clock nor a laptop that slept makes a living job look dead: it must
    have been watched, unchanged, for the whole time.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._seen: dict[Any, tuple[Sign, float]] = {}
        self._looked_at = clock()

    def look(self) -> list[Job]:
        """Look once; returns the jobs that were given up for dead."""
        now = self._clock()
        if now - self._looked_at > settings.JOB_SILENT_S / 2:  # asleep ourselves
            self._seen = {}
        self._looked_at = now
        watched = {job.pk: job for job in self._without_sign()}
        self._seen = {pk: since for pk, since in self._seen.items() if pk in watched}
        return [job for job in watched.values() if self._is_silent(job, now)]

    def _without_sign(self) -> list[Job]:
        """Jobs that run, or wait for a task that some worker took and did not begin."""
        unfinished = Job.objects.filter(
            state__in=[JobState.RUNNING, JobState.WAITING], queue__in=list(LOOK_EVERY_S)
        )
        return [job for job in unfinished if job.state == JobState.RUNNING or not is_queued(job)]

    def _is_silent(self, job: Job, now: float) -> bool:
        sign = (job.state, job.attempts, job.task_id, job.heartbeat_at)
        seen, since = self._seen.get(job.pk, (None, now))
        if sign != seen:
            self._seen[job.pk] = (sign, now)
            return False
        if now - since < settings.JOB_SILENT_S:
            return False
        log.warning("job %s (%s) was cut off", job.pk, job.kind)
        start_over(job, job.attempts, cut_off=True)
        return True


def watch() -> None:
    """Keep looking, in a thread that ends with the process."""
    every_s = settings.JOB_SILENT_S / 6

    def keep_looking() -> None:
        reaper = Reaper()
        while True:
            time.sleep(every_s)
            try:
                reaper.look()
            except DatabaseError:
                log.warning("could not look for dead jobs just now", exc_info=True)
            finally:
                connection.close()

    threading.Thread(target=keep_looking, name="reaper", daemon=True).start()
