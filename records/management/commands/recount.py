from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from records.acting import acting_as
from records.models import Membership, Season
from records.verbs.coverage import recount


class Command(BaseCommand):
    help = "Rebuild the coverage of a season's squares from its frames."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("season", help="the season's code")
        parser.add_argument("--by", required=True, metavar="INITIALS", help="who asks for it")

    def handle(self, *args: Any, **options: Any) -> None:
        season = Season.objects.filter(code=options["season"]).select_related("site").first()
        if season is None:
            raise CommandError(f"There is no season with the code {options['season']!r}.")
        member = (
            Membership.objects.standing()
            .filter(site=season.site, initials=options["by"].strip().upper())
            .select_related("account")
            .first()
        )
        if member is None:
            raise CommandError(f"Nobody on this site has the initials {options['by']!r}.")
        with acting_as(member.account):
            counted = recount(season)
        self.stdout.write(f"Counted {counted} squares of {season.code} again.")
