"""A picture's bytes: by the picture's own key, and the permission is asked every time."""

from mimetypes import guess_extension
from textwrap import wrap
from typing import Any, cast
from uuid import UUID

from django.http import FileResponse, Http404, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.http import quote_etag
from django.utils.translation import gettext as _

from records.intake.names import download_name
from records.intake.originals import open_original
from records.intake.recipes import RECIPES, open_derived
from records.models import Picture, StoredFile
from records.permissions import May
from records.queries.pictures import is_under_way, made_among, pictures_for, why_unmade
from records.queries.scan_pages import paged_files_for
from records.verbs.pictures import want_shown
from records.views.frame import PageRequest, season_page

LINE_LENGTH = 30


@season_page(may=May.SEE, place="pictures")
def picture_file(request: PageRequest, picture_id: UUID, recipe: str) -> HttpResponse:
    """A derivative; while it is not made, a picture that says so."""
    picture = _picture(request, picture_id)
    if recipe not in RECIPES:
        raise Http404
    if not picture.file.is_shown:
        return said(request, _("Kept, not shown: a raw file or a video."))
    turn = f"{picture.file_id.hex}-o{picture.orientation}"
    etag = quote_etag(f"{turn}-{recipe}-v{RECIPES[recipe].version}")
    unchanged = get_conditional_response(request, etag=etag)
    if unchanged is not None:
        return for_one_person(unchanged, etag)
    try:
        made = open_derived(picture, recipe)
    except FileNotFoundError:
        return _asked_for(request, picture, recipe)
    return for_one_person(FileResponse(made, content_type="image/jpeg"), etag)


@season_page(may=May.RECORD, place="pictures")
def picture_original(request: PageRequest, picture_id: UUID) -> HttpResponse:
    """As it came; a page of a file is named with what it is, since the file's name says another."""
    picture = _picture(request, picture_id)
    name = picture.original_name
    if picture.pages.exists():
        name += guess_extension(picture.file.media_type) or ""
    return _download(picture.file, name)


@season_page(may=May.RECORD, place="pictures")
def paged_original(request: PageRequest, paged_id: UUID) -> HttpResponse:
    """A file of several pages as it came."""
    seen = paged_files_for(request.season, may_lead=request.may(May.LEAD))
    paged = get_object_or_404(seen, pk=paged_id)
    return _download(paged.file, paged.original_name)


@season_page(may=May.RECORD, place="pictures")
def picture_raw(request: PageRequest, picture_id: UUID) -> HttpResponse:
    """The raw file of the same exposure."""
    picture = _picture(request, picture_id)
    if picture.raw_file is None:
        raise Http404
    return _download(picture.raw_file, f"{picture.original_name.rpartition('.')[0]}.raw")


@season_page(may=May.SEE, place="pictures")
def pictures_made(request: PageRequest) -> HttpResponse:
    """Which of the pictures that a page waits for are made now."""
    ids = [UUID(one) for one in request.GET.getlist("id") if _is_key(one)]
    made = made_among(request.season, ids, may_lead=request.may(May.LEAD))
    return JsonResponse({"made": made})


def _is_key(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True


def _picture(request: PageRequest, picture_id: UUID) -> Picture:
    seen = pictures_for(request.season, may_lead=request.may(May.LEAD))
    return get_object_or_404(seen, pk=picture_id)


def _asked_for(request: PageRequest, picture: Picture, recipe: str) -> HttpResponse:
    words = why_unmade(picture)
    if not words and not is_under_way(picture, recipe):
        want_shown(request.season, picture, recipe)
    return said(request, words or _("This picture is being made."))


def said(request: PageRequest, words: str) -> HttpResponse:
    """Words in a picture's place; asked for again the next time."""
    shown = {"words": words, "lines": wrap(words, LINE_LENGTH)}
    answer = render(request, "pictures/said.svg", shown, content_type="image/svg+xml")
    patch_cache_control(answer, private=True, no_store=True)
    return answer


def _download(file: StoredFile, name: str) -> HttpResponse:
    answer = FileResponse(
        cast(Any, open_original(file)),
        as_attachment=True,
        filename=download_name(name),
        content_type=file.media_type,
    )
    patch_cache_control(answer, private=True, no_store=True)
    return cast(HttpResponse, answer)


def for_one_person(answer: Any, etag: str) -> HttpResponse:
    """The browser may keep it, and asks each time whether it still may show it."""
    answer.headers["ETag"] = etag
    patch_cache_control(answer, private=True, no_cache=True)
    return cast(HttpResponse, answer)
