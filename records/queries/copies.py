"""When the record was last copied to a second drive, and whether another copy is due."""

import datetime

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.timesince import timesince
from django.utils.translation import gettext as _

from records.models import Job, JobState, SecondCopy, Site

DUE_AFTER = datetime.timedelta(days=1)


def last_good_copy() -> SecondCopy | None:
    good: QuerySet[SecondCopy] = SecondCopy.objects.filter(is_good=True)
    return good.order_by("-finished_at").first()


def second_copy_reminder(now: datetime.datetime | None = None) -> str:
    """What to say when a copy is due; nothing while the last good one is younger than a day."""
    last = last_good_copy()
    if last is None or last.finished_at is None:
        return _(
            "The record was never copied to a second drive. Copy it before the next pictures "
            "are taken in."
        )
    if last.is_on_same_drive:
        return _(
            "The last good copy lies on the drive of the record itself: it does not help if that "
            "drive fails. Copy the record to another drive."
        )
    age = (now or timezone.now()) - last.finished_at
    if age <= DUE_AFTER:
        return ""
    return _("The last good copy on a second drive is %(age)s old. Copy the record today.") % {
        "age": timesince(last.finished_at, now, depth=1)
    }


def latest_copies(count: int = 5) -> list[SecondCopy]:
    return list(SecondCopy.objects.select_related("made_by")[:count])


def last_job(site: Site, kind: str) -> Job | None:
    return Job.objects.filter(site=site, kind=kind).first()


def last_sweep(site: Site) -> Job | None:
    """The last look over the originals that came to its end; `result` says what it found."""
    return Job.objects.filter(site=site, kind="sweep", state=JobState.DONE).first()
