"""A pile of scans comes in: each is kept, read, and filed by itself or left to a person."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.saving import submit
from records.forms.scans import FilmForm
from records.intake.scans import ask_to_read, bring_in_scan
from records.models import Scan, ScanState
from records.permissions import May
from records.queries.film_squares import dive_meant, squares_to_draw
from records.queries.flatness import paper_said
from records.queries.pictures import pictures_for
from records.queries.scan_pages import files_shown
from records.queries.scans import same_as, scans_aside, scans_of, stopped_reading
from records.refusals import Refused
from records.verbs.scans import file_film, read_again
from records.views.card_files import A_FORM_TAKES, key_in_headers, told
from records.views.fieldwork import may_still, open_forms_only
from records.views.form_page import see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def scans(request: PageRequest) -> HttpResponse:
    """Without script a form brings up to twenty; with it each goes by itself to `scan_file`."""
    if request.method == "POST":
        return _taken(request)
    shown = scans_of(request.season, may_lead=request.may(May.LEAD))
    files = files_shown(request.season, may_lead=request.may(May.LEAD))
    waiting = sum(one.is_waiting for one in shown)
    page = {
        "scans": shown,
        "stopped": stopped_reading(request.season) if waiting else None,
        "files": files,
        "taking": sum(one.is_being_taken for one in files),
        "unread": sum(len(one.faults) for one in files),
        "aside": scans_aside(request.season, may_lead=request.may(May.LEAD)),
        "waiting": waiting,
        "filed": sum(one.drawing is not None for one in shown),
        "squares_wanted": sum(one.needs_square for one in shown),
        "by_hand": sum(one.needs_hand for one in shown),
        "in_the_field": may_still(request, May.RECORD),
        "may_lead": request.may(May.LEAD),
    }
    return render(request, "drawings/scans.html", page)


@season_page("POST", may=May.RECORD, place="pictures")
def scan_file(request: PageRequest) -> HttpResponse:
    """One scan as the body of the request."""
    try:
        key = key_in_headers(request)
        made = bring_in_scan(request.season, request, key.base_name, size_bytes=key.size_bytes)
    except Refused as refusal:
        return told(refusal)
    return JsonResponse({"taken": True, "words": same_as(made, key.base_name)})


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def scan_film(request: PageRequest, scan_id: UUID) -> HttpResponse:
    """Film on a coded board: which square does it show?"""
    open_forms_only(request)
    scan, asked = scan_here(request, scan_id), request.POST or request.GET
    named = {name: request.GET.get(name, "") for name in ("squares", "dive", "drawn_by")}
    form = FilmForm(request.season, typed_in(request), initial={"version": scan.version} | named)
    dive = dive_meant(request.season, asked.get("dive", ""), asked.get("drawn_by", ""))
    status = 200
    if request.method == "POST":
        made, status = submit(
            form,
            lambda said: file_film(
                scan,
                said["squares"],
                said["stage"],
                said["tag"],
                said["version"],
                form.says(),
                form.said_extent(),
            ),
        )
        if made is not None:
            say_saved(request, made, _filed_words(form, made.n))
            return see_other(scans_url(request))
    page = {
        "form": form,
        "scan": scan,
        "picture": get_object_or_404(
            pictures_for(request.season, may_lead=request.may(May.LEAD)), pk=scan.picture_id
        ),
        "to_draw": squares_to_draw(request.season, dive),
        "paper": paper_said(scan),
        "is_on_board": scan.state == ScanState.ON_BOARD,
    }
    return render(request, "drawings/film.html", page, status=status)


@season_page("POST", may=May.RECORD, place="pictures")
def scan_again(request: PageRequest, scan_id: UUID) -> HttpResponse:
    read_again(scan_here(request, scan_id))
    ask_to_read(request.season)
    return see_other(scans_url(request))


def _filed_words(form: FilmForm, n: int) -> str:
    words = _("It is filed as drawing %(n)s, under the stage “%(stage)s”.")
    return words % {"n": n, "stage": form.cleaned_data["stage"]}


def scan_here(request: PageRequest, scan_id: UUID) -> Scan:
    of_season = Scan.objects.filter(season=request.season).select_related("season", "sheet")
    found: Scan = get_object_or_404(of_season, pk=scan_id)
    return found


def _taken(request: PageRequest) -> HttpResponse:
    sent: list[Any] = request.FILES.getlist("files")
    if not sent or len(sent) > A_FORM_TAKES:
        words = _("Choose 1 to %(most)d scans at once. Nothing was kept.")
        messages.error(request, words % {"most": A_FORM_TAKES})
        return see_other(scans_url(request))
    refused = [words for file in sent if (words := _brought(request, file))]
    for words in refused:
        messages.error(request, words)
    count = len(sent) - len(refused)
    said = ngettext("%(count)d scan is kept.", "%(count)d scans are kept.", count)
    messages.success(request, said % {"count": count})
    return see_other(scans_url(request))


def _brought(request: PageRequest, file: Any) -> str:
    try:
        made = bring_in_scan(request.season, file, file.name or "", size_bytes=file.size)
        if words := same_as(made, file.name or ""):
            messages.info(request, f"{file.name}: {words}")
    except Refused as refusal:
        return f"{file.name}: {refusal.words}"
    return ""


def scans_url(request: PageRequest) -> str:
    return reverse("scans", args=[request.season.code])
