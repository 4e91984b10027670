"""Ask for a copy of the record on a second drive, and for a look over the originals."""

from django.conf import settings
from django.utils.translation import gettext as _

from records.archive.drive import Drive
from records.jobs import ask
from records.models import Job, Season
from records.permissions import May
from records.refusals import Refused
from records.verbs.guard import ALWAYS, verb


@verb(May.DIRECT, ALWAYS)
def ask_second_copy(season: Season, folder: str) -> Job:
    """Looks at the folder at once, so that a wrong one is told where it was typed."""
    chosen = folder.strip()
    if settings.ON_SERVER and chosen not in settings.SECOND_COPY_FOLDERS:
        raise Refused(
            _("On a server the copy goes to a folder that its keeper named. Choose one of these."),
            field="folder",
        )
    Drive(chosen)
    return ask("second_copy", site=season.site, argument={"folder": chosen}, once=True)


@verb(May.DIRECT, ALWAYS)
def ask_sweep(season: Season) -> Job:
    return ask("sweep", site=season.site, once=True)
