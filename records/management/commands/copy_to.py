"""`manage.py copy_to FOLDER`: the record on a second drive, verified."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.archive.second_copy import copy_to
from records.progress import Unseen
from records.refusals import Refused


class Command(BaseCommand):
    help = "Copy the database and all originals to a folder on a second drive, and verify them."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", help="a folder that exists, on another drive")

    def handle(self, *_args: Any, folder: str, **_options: Any) -> None:
        try:
            row = copy_to(folder, Unseen())
        except Refused as refusal:
            raise CommandError(refusal.words) from refusal
        self.stdout.write(row.words)
