"""`manage.py sweep`: does every original have its row, and every row its original?"""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from records.intake.sweep import Swept, sweep
from records.progress import Unseen


class Command(BaseCommand):
    help = (
        "Compare the originals with the record and say what does not match. Removes nothing but "
        "leftovers of cut-off arrivals that are a day old."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        found = sweep(Unseen())
        self._say(found)
        if not found.is_well:
            raise CommandError("Tell the director. Nothing was changed.")

    def _say(self, found: Swept) -> None:
        self.stdout.write(f"{found.originals} originals are recorded.")
        self.stdout.write(f"{found.missing} of them are not in their place.")
        for name in found.missing_names:
            self.stdout.write(f"  {name}")
        self.stdout.write(f"{found.without_row} kept files have no row in the record.")
        for sha256 in found.without_row_digests:
            self.stdout.write(f"  {sha256}")
        self.stdout.write(f"{found.without_picture} recorded files belong to no picture.")
        self.stdout.write(f"{found.leftovers_removed} leftovers of cut-off arrivals were removed.")
