"""`manage.py card_in FOLDER --run NAME --dive N --by INITIALS`: a card read on this machine."""

from pathlib import Path
from typing import Any
from uuid import uuid4

from django.core.exceptions import PermissionDenied
from django.core.management.base import BaseCommand, CommandError, CommandParser

from records.acting import acting_as
from records.intake.card_folder import FolderRead, read_folder
from records.models import Card, CardState, Dive, Membership, PhotoRun
from records.progress import Unseen
from records.queries.card_safety import card_safety
from records.refusals import Refused
from records.verbs.cards import begin_card


class Command(BaseCommand):
    help = "Read a card's folder into a photo run: every file kept, verified, none sent twice."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path, help="the card's folder, or a copy of it")
        parser.add_argument("--run", required=True, metavar="NAME", help="the photo run's name")
        parser.add_argument("--dive", required=True, type=int, metavar="N", help="its number")
        parser.add_argument("--by", required=True, metavar="INITIALS", help="who brings it in")
        parser.add_argument("--season", default="", metavar="CODE", help="where runs share a name")

    def handle(self, *_args: Any, folder: Path, **options: Any) -> None:
        run = self._run(options["run"], options["season"])
        dive = Dive.objects.standing().filter(season=run.season, n=options["dive"]).first()
        if dive is None:
            raise CommandError(f"There is no dive {options['dive']} in {run.season.code}.")
        try:
            with acting_as(self._member(run, options["by"]).account):
                card = self._card(run, dive)
                told = read_folder(card, folder, Unseen())
        except (Refused, PermissionDenied) as refusal:
            raise CommandError(str(refusal)) from refusal
        self._tell(card, told)

    def _run(self, name: str, season: str) -> PhotoRun:
        runs = PhotoRun.objects.standing().filter(name=name).select_related("season__site")
        found = list(runs.filter(season__code=season) if season else runs)
        if not found:
            raise CommandError(f"There is no photo run called {name!r}.")
        if len(found) > 1:
            codes = ", ".join(sorted(run.season.code for run in found))
            raise CommandError(f"Several seasons have a run {name!r}: add --season ({codes}).")
        run: PhotoRun = found[0]
        return run

    def _member(self, run: PhotoRun, initials: str) -> Membership:
        members = Membership.objects.standing().filter(
            site=run.season.site, initials=initials.strip().upper(), account__is_active=True
        )
        member: Membership | None = members.select_related("account").first()
        if member is None:
            raise CommandError(f"Nobody on this site has the initials {initials!r}.")
        return member

    def _card(self, run: PhotoRun, dive: Dive) -> Card:
        """The one that is coming in for this run and dive, so that a broken reading goes on."""
        begun = Card.objects.standing().filter(run=run, dive=dive, state=CardState.ARRIVING)
        return begun.order_by("made_at").last() or begin_card(run, dive, uuid4())

    def _tell(self, card: Card, told: FolderRead) -> None:
        card.refresh_from_db()
        self.stdout.write(f"{told.new} files came in, {told.known} were here before.")
        for name, words in told.refused:
            self.stderr.write(f"Not taken in: {name}: {words}")
        self.stdout.write(card_safety(card).words)
        self.stdout.write("Look at the contact sheet under Pictures, and accept the card there.")
