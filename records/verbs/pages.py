"""Files of several pages that come in under Scans: kept whole, then page by page as pictures.
A page that is no drawing is set aside."""

from django.utils.translation import gettext as _

from records.intake.names import shown_name
from records.intake.originals import Kept
from records.models import FilePage, PagedFile, Picture, Scan, ScanState, Season
from records.permissions import May
from records.refusals import Refused
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    current,
    restore,
    save_in_words,
    verb,
    void,
)
from records.verbs.pictures import take_in_file, take_in_picture
from records.verbs.scans import demand_no_drawing, take_in_scan


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def take_in_pages(season: Season, kept: Kept, original_name: str) -> PagedFile:
    """The row of a whole file. The same one again is the same row while pages of it are missing,
    and refused once they are all in."""
    file = take_in_file(season, kept)
    known: PagedFile | None = PagedFile.objects.filter(season=season, file=file).first()
    if known is None:
        name = shown_name(original_name)
        whole = PagedFile(season=season, file=file, original_name=name, pages=kept.seen.pages)
        return save_in_words(whole)
    if not known.missing():
        raise Refused(
            _("This file came in before as %(name)s, with all its pages. Nothing was added.")
            % {"name": known.original_name}
        )
    return known


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def take_in_page(whole: PagedFile, page: int, kept: Kept, orientation: int) -> FilePage:
    """A page (from 1) as a picture that is kept already, and as a scan to be read."""
    row = _page_of(whole, page)
    if row.picture is not None:
        return row
    name = _("%(name)s, page %(page)d") % {"name": whole.original_name, "page": page}
    picture = take_in_picture(whole.season, kept, name, orientation=orientation)
    row.picture, row.words = picture, ""
    _take_in_as_scan(whole.season, picture)
    return save_in_words(_standing(row))


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def note_page(whole: PagedFile, page: int, words: str) -> FilePage:
    """Why a page (from 1) is no picture."""
    row = _page_of(whole, page)
    if row.picture is not None or (row.words == words and not row.is_voided):
        return row
    row.words = words
    return save_in_words(_standing(row))


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def set_page_aside(page: FilePage, reason: str) -> FilePage:
    """A page that is no picture waits for nobody: its sheet was scanned once more, or is none."""
    row = current(FilePage, page.pk, None)
    if row.picture is not None:
        raise Refused(_("This page is in by now."))
    void(row, reason)
    return row


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def set_scan_aside(scan: Scan, reason: str) -> Scan:
    """It waits for nobody: an empty back, a page of something else. Reading it again undoes it."""
    row = current(Scan, scan.pk, None)
    demand_no_drawing(row.picture)
    void(row, reason)
    return row


def _page_of(whole: PagedFile, page: int) -> FilePage:
    """The page's row, locked, or a new one that is not saved yet."""
    current(PagedFile, whole.pk, None)
    row: FilePage | None = FilePage.objects.filter(paged=whole, page=page).first()
    return row or FilePage(paged=whole, page=page)


def _standing(row: FilePage) -> FilePage:
    if row.is_voided:
        restore(row)
    return row


def _take_in_as_scan(season: Season, picture: Picture) -> None:
    """A picture that came in as a scan before stays what it became."""
    if Scan.objects.filter(season=season, picture=picture).exists():
        return
    try:
        take_in_scan(season, picture)
    except Refused as refusal:  # it was brought in by hand
        save_in_words(
            Scan(season=season, picture=picture, state=ScanState.BY_HAND, words=refusal.words)
        )
