"""A season: its settings, its closing in two steps, and what of it is released."""

import datetime
from dataclasses import asdict, dataclass
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from records.models import (
    Dive,
    NumberCounter,
    Phase,
    Release,
    Season,
    SeasonEvent,
    SeasonEventKind,
    Site,
)
from records.permissions import May
from records.refusals import Closed, Conflict, Refused
from records.verbs.guard import (
    ALWAYS,
    UNTIL_DEPOSITED,
    as_made_before,
    current,
    save_in_words,
    verb,
    void,
)


@dataclass(frozen=True)
class SeasonSays:
    """What the director says of a season."""

    code: str
    name: str
    starts_on: datetime.date
    ends_on: datetime.date
    zone: str
    coverage_needed_fraction: float = 0.98
    disagreement_limit_mm: float = 30.0
    tell_human_remains: str = ""
    tell_ordnance: str = ""


@verb(May.DIRECT, ALWAYS)
def make_season(site: Site, *, pk: UUID, says: SeasonSays) -> Season:
    if (known := as_made_before(Season, pk, **asdict(says))) is not None:
        return known
    return _checked(Season(pk=pk, site=site, **asdict(says)))


@verb(May.DIRECT, UNTIL_DEPOSITED)
def edit_season(season: Season, seen_version: int | None, *, says: SeasonSays) -> Season:
    row = current(Season, season.pk, seen_version)
    if says.code != row.code and NumberCounter.objects.filter(season=row, last__gt=0).exists():
        raise Refused(
            _("Numbers with this code are given out already, so the code stays as it is."),
            field="code",
        )
    if says.zone != row.zone and Dive.objects.filter(season=row).exists():
        raise Refused(
            _("Dives are logged in this time zone already: changing it would shift their times."),
            field="zone",
        )
    for field, value in asdict(says).items():
        setattr(row, field, value)
    return _checked(row)


def _checked(season: Season) -> Season:
    """Codes that differ in capitals only would be confused on paper."""
    if Season.objects.filter(code__iexact=season.code).exclude(pk=season.pk).exists():
        raise Refused(_("Another season has this code. Choose another."), field="code")
    if season.ends_on < season.starts_on:
        raise Refused(_("The last day cannot come before the first."), field="ends_on")
    return save_in_words(season)


@verb(May.DIRECT, ALWAYS)
def close_fieldwork(season: Season, *, pk: UUID, reason: str) -> SeasonEvent:
    kind = SeasonEventKind.FIELDWORK_CLOSED
    if (known := as_made_before(SeasonEvent, pk, kind=kind)) is not None:
        return known
    if season.phase() != Phase.OPEN:
        raise Closed(_("Fieldwork of this season is closed already."))
    under_way = Dive.objects.standing().filter(season=season, reached_surface_at=None).first()
    if under_way is not None:
        raise Refused(
            _("Dive %(number)s has not surfaced yet. Log when it did, then close fieldwork.")
            % {"number": under_way.number}
        )
    return _happens(season, pk, kind, reason)


@verb(May.DIRECT, ALWAYS)
def deposit_archive(season: Season, *, pk: UUID, reason: str) -> SeasonEvent:
    kind = SeasonEventKind.DEPOSITED
    if (known := as_made_before(SeasonEvent, pk, kind=kind)) is not None:
        return known
    phase = season.phase()
    if phase == Phase.DEPOSITED:
        raise Closed(_("The archive of this season is deposited already."))
    if phase == Phase.OPEN:
        raise Refused(_("Close the fieldwork first; then the archive can be deposited."))
    return _happens(season, pk, kind, reason)


@verb(May.DIRECT, ALWAYS)
def reopen(season: Season, *, pk: UUID, reason: str) -> SeasonEvent:
    kind = SeasonEventKind.REOPENED
    if (known := as_made_before(SeasonEvent, pk, kind=kind)) is not None:
        return known
    if season.phase() == Phase.OPEN:
        raise Conflict(_("This season is open already."))
    return _happens(season, pk, kind, reason)


@verb(May.DIRECT, ALWAYS)
def add_addendum(season: Season, *, pk: UUID, reason: str) -> SeasonEvent:
    """A dated remark on a closed season. `reason` holds its text."""
    kind = SeasonEventKind.ADDENDUM
    if (known := as_made_before(SeasonEvent, pk, kind=kind, reason=reason.strip())) is not None:
        return known
    if season.phase() == Phase.OPEN:
        raise Conflict(_("This season is open: write it where it belongs, not as an addendum."))
    return _happens(season, pk, kind, reason)


def _happens(season: Season, pk: UUID, kind: SeasonEventKind, reason: str) -> SeasonEvent:
    last = season.events.order_by("-made_at").first()
    if last is not None and last.made_at >= timezone.now():
        raise Refused(
            _(
                "The clock of this computer is behind: the last entry of this kind is dated "
                "later than now. Set the clock, then do this again."
            )
        )
    if not reason.strip():
        raise Refused(_("Write a sentence: it stays with the season."), field="reason")
    return save_in_words(SeasonEvent(pk=pk, season=season, kind=kind, reason=reason.strip()))


@verb(May.DIRECT, ALWAYS)
def release(season: Season, *, pk: UUID, what: str, audience: str) -> Release:
    if (known := as_made_before(Release, pk, what=what, audience=audience)) is not None:
        return known
    same = Release.objects.standing().filter(season=season, what=what, audience=audience)
    if same.exists():
        raise Conflict(_("This is released to them already."))
    return save_in_words(Release(pk=pk, season=season, what=what, audience=audience))


@verb(May.DIRECT, ALWAYS)
def withdraw_release(release: Release, *, reason: str) -> Release:
    row = current(Release, release.pk, None)
    void(row, reason)
    return row
