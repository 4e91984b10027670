"""Files of several pages as the page of scans shows them: how many are in, and what is not."""

from dataclasses import dataclass

from django.db.models import Exists, OuterRef, QuerySet
from django.utils.translation import gettext as _

from records.models import FilePage, Job, PagedFile, Picture, Season
from records.queries.jobs import JobShown, shown
from records.queries.pictures import pictures_for

FILES_SHOWN = 20


@dataclass(frozen=True)
class PagedShown:
    """`work`: what takes its pages out, while that is not over or came to nothing."""

    paged: PagedFile
    pages: list[FilePage]
    work: JobShown | None

    @property
    def there(self) -> int:
        return sum(one.picture_id is not None for one in self.pages)

    @property
    def is_gone_through(self) -> bool:
        """Each page is in, or says why it is not."""
        return len(self.pages) == self.paged.pages

    @property
    def is_being_taken(self) -> bool:
        return self.work is not None and not self.work.is_over

    @property
    def faults(self) -> list[FilePage]:
        return [one for one in self.pages if one.words and not one.is_voided]

    @property
    def wants_a_look(self) -> bool:
        return self.is_being_taken or not self.is_gone_through or bool(self.faults)

    @property
    def alike(self) -> str:
        """Pages that are the same picture, such as two empty ones, count once among the scans."""
        first: dict[object, int] = {}
        again = [
            one.page
            for one in self.pages
            if one.picture_id and first.setdefault(one.picture_id, one.page) != one.page
        ]
        if not again:
            return ""
        told = ", ".join(map(str, again))
        return _("Exactly like an earlier page, so shown once: %(pages)s.") % {"pages": told}


def paged_files_for(season: Season, *, may_lead: bool) -> QuerySet[PagedFile]:
    """Those of which a person may see every page."""
    files = PagedFile.objects.filter(season=season).select_related("file", "made_by")
    seen = pictures_for(season, may_lead=may_lead).values("pk")
    unseen = FilePage.objects.filter(paged=OuterRef("pk"), picture__isnull=False)
    return files if may_lead else files.filter(~Exists(unseen.exclude(picture__in=seen)))


def files_shown(season: Season, *, may_lead: bool) -> list[PagedShown]:
    """The latest twenty, the latest first."""
    files = list(paged_files_for(season, may_lead=may_lead).prefetch_related("taken")[:FILES_SHOWN])
    keys = [str(one.pk) for one in files]
    jobs = Job.objects.filter(kind="pages", site=season.site_id, argument__paged__in=keys)
    latest = {one.argument["paged"]: one for one in jobs.order_by("asked_at")}
    return [PagedShown(one, list(one.taken.all()), _work(latest.get(str(one.pk)))) for one in files]


def file_of(picture: Picture, season: Season, *, may_lead: bool) -> FilePage | None:
    """Which page of which file a picture is, where it is one that a person may see whole."""
    seen = paged_files_for(season, may_lead=may_lead)
    rows = FilePage.objects.filter(picture=picture, paged__in=seen)
    found: FilePage | None = rows.select_related("paged").first()
    return found


def _work(job: Job | None) -> JobShown | None:
    """Nothing once it is done: what the pages say is the news then."""
    told = None if job is None else shown(job)
    return told if told and (not told.is_over or told.may_start_again) else None
