"""Scans as their page shows them: filed, waiting for a word, or left to a person and why."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef
from django.utils.translation import gettext as _

from records.intake.names import shown_name
from records.models import Drawing, FilePage, Job, PagedFile, Picture, Scan, ScanState, Season
from records.queries.flatness import PaperSaid, paper_said
from records.queries.jobs import JobShown, shown
from records.queries.pictures import pictures_for

SHOWN = 100


@dataclass(frozen=True)
class ScanShown:
    """`drawing`: what stands in the record with its picture, however it came there."""

    scan: Scan
    picture: Picture
    drawing: Drawing | None

    @property
    def is_waiting(self) -> bool:
        return self.scan.state == ScanState.WAITING

    @property
    def paper(self) -> PaperSaid:
        """Whether it was flat, while what the scan says of it still holds."""
        looked = not self.is_waiting and not self.needs_hand
        return paper_said(self.scan if looked else None)

    @property
    def needs_square(self) -> bool:
        return self.drawing is None and self.scan.state == ScanState.ON_BOARD

    @property
    def has_unsaid_extent(self) -> bool:
        """Of a square at least nobody has said how much is drawn."""
        squares = self.drawing.squares.all() if self.drawing else ()
        return any(not one.extent and not one.is_voided for one in squares)

    @property
    def is_unsaid(self) -> bool:
        """Filed, and something that stands on the sheet was not copied yet."""
        drawing = self.drawing
        if drawing is None:
            return False
        return not (drawing.dive_id and drawing.frame_lies) or self.has_unsaid_extent

    @property
    def needs_hand(self) -> bool:
        """Not filed, or filed and made void since."""
        return self.drawing is None and not self.is_waiting and not self.needs_square


def stopped_reading(season: Season) -> JobShown | None:
    """The reading of the season's scans, where it came to nothing and nobody began it again."""
    jobs = Job.objects.filter(
        kind="scans", site=season.site_id, argument={"season": str(season.pk)}
    )
    latest = jobs.order_by("-asked_at").first()
    work = None if latest is None else shown(latest)
    return work if work is not None and work.may_start_again else None


def same_as(made: Scan | PagedFile, name: str) -> str:
    """What to say of a file that came in before under another name; empty for a new one."""
    first = made.picture.original_name if isinstance(made, Scan) else made.original_name
    if first == shown_name(name):
        return ""
    return _("It is the same file as %(first)s, which is in the list.") % {"first": first}


def scans_left(season: Season) -> int:
    """How many wait for a person: film without its square, and what no codes filed."""
    open_ends = Scan.objects.standing().filter(
        season=season, state__in=[ScanState.ON_BOARD, ScanState.BY_HAND]
    )
    drawn = Drawing.objects.standing().filter(picture=OuterRef("picture"))
    return open_ends.filter(~Exists(drawn)).count()


def scans_of(season: Season, *, may_lead: bool) -> list[ScanShown]:
    """The latest hundred, the latest first, the pages of one file in their order."""
    scans = list(
        Scan.objects.standing().filter(season=season).select_related("sheet__season")[:SHOWN]
    )
    keys = [one.picture_id for one in scans]
    seen = {one.pk: one for one in pictures_for(season, may_lead=may_lead).filter(pk__in=keys)}
    drawn = Drawing.objects.standing().filter(picture__in=keys).select_related("season")
    by_picture = {one.picture_id: one for one in drawn.prefetch_related("squares")}
    return [
        ScanShown(one, seen[one.picture_id], by_picture.get(one.picture_id))
        for one in _in_order(scans, season)
        if one.picture_id in seen
    ]


def scans_aside(season: Season, *, may_lead: bool) -> list[ScanShown]:
    """The latest hundred that a person set aside."""
    aside = Scan.objects.filter(season=season, voided_at__isnull=False).order_by("-voided_at")
    scans = list(aside.select_related("voided_by")[:SHOWN])
    pictures = pictures_for(season, may_lead=may_lead)
    seen = pictures.in_bulk([one.picture_id for one in scans])
    return [ScanShown(one, seen[one.picture_id], None) for one in scans if one.picture_id in seen]


def _in_order(scans: list[Scan], season: Season) -> list[Scan]:
    rows = FilePage.objects.filter(
        paged__season=season, picture__in=[one.picture_id for one in scans]
    )
    pages = {row.picture_id: row for row in rows.select_related("paged").order_by("-page")}

    def place(scan: Scan) -> tuple[datetime, int]:
        row = pages.get(scan.picture_id)
        return (scan.made_at, 0) if row is None else (row.paged.made_at, -row.page)

    return sorted(scans, key=place, reverse=True)
