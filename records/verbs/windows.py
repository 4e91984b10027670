"""Windows of a grid that somebody wants to see."""

from functools import partial

from django.db import transaction

from records.intake.windows import GridWindow
from records.jobs import ask
from records.models import Season, WindowToMake
from records.permissions import May
from records.verbs.guard import ALWAYS, verb


@verb(May.SEE, ALWAYS)
def want_window(season: Season, window: GridWindow) -> None:
    """Have it drawn; asked twice is asked once. Whoever may see its pictures may ask."""
    WindowToMake.objects.get_or_create(key=window.key, defaults={"window": window.as_json()})
    # After the commit: a worker that began before it would not see the row.
    transaction.on_commit(partial(ask, "windows", site=None, once=True))
