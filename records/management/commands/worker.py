"""The work of one queue."""

import logging
from argparse import ArgumentParser
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from records import running

log = logging.getLogger(__name__)

# Looking for work locks an SQLite database for a moment: not more often than this.
LOOK_EVERY_S = {"quick": 1.0, "long": 2.0}


class Command(BaseCommand):
    help = "Do the work of one queue, for ever. `shed` starts one for each queue by itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("queue", choices=sorted(LOOK_EVERY_S))
        parser.add_argument(
            "--end-with-parent",
            action="store_true",
            help="end when standard input closes: for a worker that another process minds",
        )

    def handle(self, *, queue: str, end_with_parent: bool, **options: Any) -> None:
        if end_with_parent:
            running.end_with_parent()
        try:
            call_command(
                "db_worker",
                queue_name=queue,
                interval=LOOK_EVERY_S[queue],
                startup_delay=False,
                reload=False,
                verbosity=options["verbosity"],
            )
        except KeyboardInterrupt:
            return
        except Exception as trouble:
            log.exception("The %s worker cannot go on", queue)
            raise CommandError(
                _("The %(queue)s worker cannot go on: %(trouble)s")
                % {"queue": queue, "trouble": trouble}
            ) from trouble
