"""A pile of scans: each is kept first, then read by the worker, then filed or left to a person."""

import logging
from dataclasses import asdict, replace
from functools import partial
from typing import Any
from uuid import UUID

import numpy as np
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.acting import acting_account, acting_as
from records.intake.arrival import Readable
from records.intake.decode import upright
from records.intake.originals import Kept, Pages, keep, open_original
from records.intake.recognise import Kind
from records.intake.turning import turned_back
from records.jobs import ask, job
from records.models import PagedFile, Picture, PrintedSheet, PrintKind, Scan, ScanState, Season
from records.permissions import May, membership_of, role_may
from records.progress import Ending, Progress
from records.refusals import Refused, in_words
from records.verbs.pages import take_in_pages
from records.verbs.pictures import take_in_picture
from records.verbs.scans import (
    SeenOnPaper,
    demand_takes_scans,
    file_by_sheet,
    lay_on_board,
    leave_to_person,
    take_in_scan,
)
from survey.errors import Unfit
from survey.flatness import Flatness, flatness
from survey.print_codes import key_said
from survey.print_reading import SeenPrint, key_by_qr, read_print, register_print

GreyPicture = np.ndarray[tuple[int, int], np.dtype[np.uint8]]

log = logging.getLogger(__name__)


def bring_in_scan(
    season: Season, stream: Readable, name: str, *, size_bytes: int | None = None
) -> Scan | PagedFile:
    """Keep a scan's bytes, record it, and have it read; never inside a transaction.

    A PDF, or a TIFF of several pages, is kept whole and its pages are taken out later.
    """
    demand_takes_scans(season)
    kept = keep(stream, name=name, size_bytes=size_bytes, pages=Pages.ALL)
    if kept.what.kind is Kind.PAPERS or kept.seen.pages > 1:
        return _bring_in_pages(season, kept, name)
    scan = take_in_scan(season, take_in_picture(season, kept, name))
    ask_to_read(season)
    return scan


def _bring_in_pages(season: Season, kept: Kept, name: str) -> PagedFile:
    whole = take_in_pages(season, kept, name)
    argument = {"paged": str(whole.pk)}
    transaction.on_commit(partial(ask, "pages", site=season.site, argument=argument, once=True))
    return whole


def ask_to_read(season: Season) -> None:
    asked = partial(ask, "scans", site=season.site, argument={"season": str(season.pk)}, once=True)
    transaction.on_commit(asked)


@job("scans", words=gettext_lazy("Reading scans"))
def read_waiting(progress: Progress, season: str) -> None:
    """Read all that wait, those that come in meanwhile too, in the name of whoever brought each,
    or of who asked, where the one who brought it has left the site. Each is met once, so that
    none keeps the others waiting."""
    met: list[UUID] = []
    while True:
        of_season = Scan.objects.standing().filter(season=UUID(season))
        waiting = of_season.filter(state=ScanState.WAITING).order_by("made_at")
        waiting = waiting.exclude(pk__in=met)
        progress.of = progress.done + waiting.count()
        scan = waiting.select_related("season__site", "picture__file", "made_by").first()
        if scan is None:
            return
        met.append(scan.pk)
        with acting_as(_reader_of(scan)):
            read_scan(scan)
        progress.step()


def _reader_of(scan: Scan) -> Any:
    mine = membership_of(scan.made_by, scan.season.site)
    may = mine is not None and role_may(mine.role, May.RECORD)
    return scan.made_by if may else acting_account()


def read_scan(scan: Scan) -> None:
    """Read one and file it; whatever stands against that is written beside it.

    No picture may end the job: a decoder can fail in more ways than anybody listed.
    """
    scan.sheet = None
    try:
        _file(scan)
    except Refused as refusal:
        leave_to_person(scan, refusal.words, scan.sheet)
    except (DatabaseError, Ending, PermissionDenied):
        raise
    except Exception:
        log.exception("scan %s could not be read", scan.pk)
        leave_to_person(scan, _("The picture could not be read. The original is kept, untouched."))


def _file(scan: Scan) -> None:
    grey = _grey(scan.picture)
    seen = read_print(grey)
    if isinstance(seen, Unfit):
        scan.sheet = _named_by_qr(scan.season, grey)
        raise Refused(in_words(seen))
    scan.sheet = sheet = _sheet_of(scan.season, seen)
    registered = register_print(grey, seen, sheet.layout)
    if isinstance(registered, Unfit):
        raise Refused(in_words(registered))
    if key_said(registered.qr) not in (None, sheet.pk):
        scan.sheet = None
        raise Refused(
            _(
                "Its corner codes are those of %(sheet)s, but its QR code names a sheet that this "
                "record did not print. If it is yours, mark its corners by hand."
            )
            % {"sheet": sheet}
        )
    on_paper = replace(
        _on_paper(scan.picture, seen),
        flatness=_told_of(flatness(grey, registered.to_mm, sheet.layout)),
    )
    if sheet.is_board:
        lay_on_board(scan, sheet, on_paper)
    else:
        file_by_sheet(scan, sheet, on_paper)


def _told_of(found: Flatness | Unfit) -> dict[str, Any]:
    """As `Scan.flatness`."""
    return dict(found.values) if isinstance(found, Unfit) else asdict(found)


def _grey(picture: Picture) -> GreyPicture:
    if not picture.file.is_shown:
        raise Refused(_("A raw file or a video is no scan. Bring in a picture."))
    with open_original(picture.file) as original:
        shown = upright(original, picture.file.media_type, picture.orientation)
    return np.asarray(shown.convert("L"))


def _sheet_of(season: Season, seen: SeenPrint) -> PrintedSheet:
    """The print of this site that bears these codes; refused in words where none does."""
    found: PrintedSheet | None = (
        PrintedSheet.objects.filter(short=seen.identity.short, season__site=season.site_id)
        .select_related("season__site", "grid", "stage")
        .first()
    )
    if found is None or found.kind != seen.identity.kind:
        raise Refused(_("Its codes are read, but this sheet was not printed for this site."))
    return found


def _named_by_qr(season: Season, grey: GreyPicture) -> PrintedSheet | None:
    """The season's sheet that the QR code names, where the corner codes cannot be read: a person
    who marks the corners by hand then finds its squares and its number filled in."""
    key = key_by_qr(grey)
    if key is None:
        return None
    sheets = PrintedSheet.objects.filter(season=season, kind=PrintKind.SHEET)
    found: PrintedSheet | None = sheets.filter(pk=key).first()
    return found


def _on_paper(picture: Picture, seen: SeenPrint) -> SeenOnPaper:
    """The codes' corners in the picture as it will stand: with the print's upper edge up."""
    points = seen.corners_px.reshape(-1, 2).tolist()
    size = picture.upright_size_px
    assert size is not None  # asked by _grey
    quarters = round(seen.turn_deg / 90) if not picture.placements.exists() else 0
    corners, orientation = turned_back(points, quarters, picture.orientation, size)
    return SeenOnPaper(tuple((u, v) for u, v in corners), orientation)
