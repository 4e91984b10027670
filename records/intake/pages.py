"""A file of several pages, kept whole, is taken apart by the worker: each page is a scan."""

import logging
from collections.abc import Callable
from io import BytesIO
from typing import BinaryIO

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.intake.arrival import NoRoom
from records.intake.decode import Unreadable
from records.intake.originals import OriginalMissing, keep, open_original
from records.intake.pdf_pages import damaged_page, pdf_page
from records.intake.scans import ask_to_read
from records.intake.tiff_pages import tiff_page
from records.jobs import job
from records.models import PagedFile
from records.progress import Progress
from records.refusals import Refused
from records.verbs.pages import note_page, take_in_page

log = logging.getLogger(__name__)


@job("pages", queue="long", words=gettext_lazy("Taking out the pages of a file"))
def take_pages(progress: Progress, paged: str) -> None:
    """The pages that are not there yet, one at a time, each read as it arrives."""
    whole = PagedFile.objects.select_related("season__site", "file").get(pk=paged)
    missing = whole.missing()
    progress.done = whole.pages - len(missing)
    progress.total(whole.pages)
    for page in missing:
        progress.step(whole.original_name, done=0)
        _take(whole, page)
        ask_to_read(whole.season)
        progress.step()


def _take(whole: PagedFile, page: int) -> None:
    """As a picture; or what stands against it, in words. What concerns the whole file is raised."""
    try:
        content, orientation = _picture_of(whole, page)
        kept = keep(content)
    except (OriginalMissing, NoRoom):
        raise
    except Unreadable:
        note_page(whole, page, damaged_page())
    except Refused as refusal:
        note_page(whole, page, refusal.words)
    else:
        take_in_page(whole, page, kept, orientation)


def _picture_of(whole: PagedFile, page: int) -> tuple[BytesIO, int]:
    is_pdf = whole.file.media_type == "application/pdf"
    out_of: Callable[[BinaryIO, int], tuple[BytesIO, int]] = pdf_page if is_pdf else tiff_page
    with open_original(whole.file) as original:
        try:
            return out_of(original, page)
        except MemoryError as error:
            raise Refused(_("This machine has too little memory for this page.")) from error
        except Refused:
            raise
        except Exception as error:  # what a hostile file makes a decoder raise is not bounded
            log.exception("page %d of %s could not be taken out", page, whole.pk)
            raise Refused(damaged_page()) from error
