"""A running job's handle on its row: how far it is, whether it shall stop, that it lives."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

from django.conf import settings
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from records.models import Job, JobState

WRITE_EVERY_S = 1.0
ending = threading.Event()
"""Set when this process is told to end."""


class StopAsked(Exception):
    """A person asked this job to stop."""


class Ending(Exception):
    """The worker is going down: the job waits for the next one."""


class TakenOver(Exception):
    """This attempt was given up for dead and another runs: write nothing more."""


class Steps(Protocol):
    """What long work tells of itself, to a job's row or to nobody."""

    def total(self, count: int) -> None: ...

    def step(self, message: str = "", *, done: int = 1) -> None: ...


class Unseen:
    """For long work that a command does in the foreground."""

    def total(self, count: int) -> None:
        """Nobody asks."""

    def step(self, message: str = "", *, done: int = 1) -> None:
        """Nobody asks."""


class Progress:
    """A running job's handle on its row."""

    def __init__(self, running: Job) -> None:
        self.job = running
        self.attempt = running.attempts
        self.done = 0
        self.of = 0
        self.message = ""
        self._written = 0.0

    def total(self, count: int) -> None:
        self.of = count
        self.step(done=0)

    def step(self, message: str = "", *, done: int = 1) -> None:
        """Count `done` more; at most once a second the row is rewritten and a stop heeded."""
        self.done += done
        self.message = message or self.message
        if ending.is_set():
            raise Ending
        if time.monotonic() - self._written >= WRITE_EVERY_S:
            self._write()

    def _write(self) -> None:
        self._written = time.monotonic()
        try:
            with mine(self.job, self.attempt) as row:
                row.done, row.total, row.message = self.done, self.of, self.message
                row.heartbeat_at = timezone.now()
        except DatabaseError:  # the next write will do
            return
        if row.stop_asked_at is not None:
            raise StopAsked


@contextmanager
def mine(running: Job, attempt: int) -> Iterator[Job]:
    """The job's row, locked, to be changed and saved: as long as this attempt is the one."""
    with transaction.atomic():
        row = Job.objects.select_for_update().get(pk=running.pk)
        if row.attempts != attempt or row.state != JobState.RUNNING:
            raise TakenOver
        yield row
        row.save()


@contextmanager
def beating(running: Job) -> Iterator[None]:
    """Heartbeats from a thread, so that one long step does not look like death."""
    over = threading.Event()
    every_s = settings.JOB_SILENT_S / 6

    def beat() -> None:
        while not over.wait(every_s):
            try:
                with mine(running, running.attempts) as row:
                    row.heartbeat_at = timezone.now()
            except TakenOver:
                break
            except DatabaseError:
                continue
        connection.close()

    thread = threading.Thread(target=beat, name="heartbeat", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(timeout=every_s)
