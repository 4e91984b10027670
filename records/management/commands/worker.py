"""The work of one queue, and a look after jobs whose worker died."""

import logging
import time
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError, connection
from django.utils.translation import gettext as _

from records import jobs, reaper, running
from records.intake import pool
from records.progress import ending

log = logging.getLogger(__name__)

BUSY_PAUSE_S = 5.0


class Command(BaseCommand):
    help = "Do the work of one queue, for ever. `shed` starts one for each queue by itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("queue", choices=sorted(jobs.LOOK_EVERY_S))
        parser.add_argument(
            "--end-with-parent",
            action="store_true",
            help="end when standard input closes: for a worker that another process minds",
        )

    def handle(self, *, queue: str, end_with_parent: bool, **options: Any) -> None:
        try:
            if end_with_parent:
                running.end_with_parent()
            reaper.watch()
            if queue == "quick":
                _catch_up()
            with pool.kept():
                while not ending.is_set():
                    _work_off(queue)
        except KeyboardInterrupt:
            return
        except Exception as trouble:
            log.exception("The %s worker cannot go on", queue)
            raise CommandError(
                _("The %(queue)s worker cannot go on: %(trouble)s")
                % {"queue": queue, "trouble": trouble}
            ) from trouble


def _catch_up() -> None:
    """Have it looked for what earlier work left undone."""
    try:
        jobs.ask("catch_up", site=None, once=True)
    except OperationalError:
        log.warning("what was left undone is looked for at the next start", exc_info=True)
        connection.close()


def _work_off(queue: str) -> None:
    """A database too busy to answer is no reason to end: look again a little later."""
    try:
        jobs.work_off(queue)
    except OperationalError:
        log.warning("the %s worker waits for the database", queue, exc_info=True)
        connection.close()
        time.sleep(BUSY_PAUSE_S)
