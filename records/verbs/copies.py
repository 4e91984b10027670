"""Ask for a copy of the record on a second drive, and for a look over the originals."""

from records.jobs import ask
from records.models import Job, Season
from records.permissions import May
from records.verbs.guard import ALWAYS, verb


@verb(May.DIRECT, ALWAYS)
def ask_second_copy(season: Season, folder: str) -> Job:
    """`records.archive.second_copy.ask_for_copy` looks at the folder first."""
    return ask("second_copy", site=season.site, argument={"folder": folder}, once=True)


@verb(May.DIRECT, ALWAYS)
def ask_sweep(season: Season) -> Job:
    return ask("sweep", site=season.site, once=True)
