"""The work of one queue, and a look after jobs whose worker died."""

import logging
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from records import jobs, reaper, running

log = logging.getLogger(__name__)


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
            jobs.work_off(queue)
        except KeyboardInterrupt:
            return
        except Exception as trouble:
            log.exception("The %s worker cannot go on", queue)
            raise CommandError(
                _("The %(queue)s worker cannot go on: %(trouble)s")
                % {"queue": queue, "trouble": trouble}
            ) from trouble
