"""The demo season, on an empty record."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from fixtures.loader import load_demo
from records import running


class Command(BaseCommand):
    help = "Fill an empty record with an invented season. `shed --demo` does it by itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--end-with-parent",
            action="store_true",
            help="end when standard input closes: for a process that another one minds",
        )

    def handle(self, *, end_with_parent: bool, **options: Any) -> None:
        try:
            if end_with_parent:
                running.end_with_parent()
            load_demo(self.say)
        except KeyboardInterrupt:
            return  # the next start finishes it

    def say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
