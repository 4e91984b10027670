"""A sheet comes in: its file is kept as soon as it arrives, then what is said of it."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.drawings import NewDrawingForm
from records.forms.saving import submit
from records.intake.originals import Pages
from records.intake.pictures import bring_in_picture
from records.models import Dive, DiveTask, Drawing, Phase, Picture, Scan, TaskMethod
from records.permissions import May
from records.queries.drawings import drawing_shown, next_to_mark
from records.queries.square_words import squares_meant, told_squares
from records.refusals import Refused
from records.verbs.drawings import bring_in_drawing
from records.verbs.guard import UNTIL_DEPOSITED, demand_open
from records.verbs.pictures import want_shown
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def drawing_new(request: PageRequest) -> HttpResponse:
    if request.method != "POST":
        demand_open(request.season, UNTIL_DEPOSITED)  # said before anybody types
        return _page(request, NewDrawingForm(request.season, initial=_offered(request)))
    data, words = request.POST.copy(), ""
    if "file" in request.FILES:
        try:
            data["picture"] = str(_taken_in(request).pk)
        except Refused as refusal:
            words = refusal.words
    form = NewDrawingForm(request.season, data)
    if words:
        form.add_error("file", words)
    made, status = submit(
        form,
        lambda said: bring_in_drawing(
            request.season, said["picture"], form.says(), said["id"], number=said["tag"]
        ),
    )
    if made is None:
        return _page(request, form, status)
    say_saved(request, made, _("Drawing %(n)s is in the record.") % {"n": made.n})
    return see_other(next_step(request, made))


@season_page("POST", may=May.RECORD, place="pictures")
def drawing_file(request: PageRequest) -> HttpResponse:
    """The sheet alone, sent ahead by the form's script."""
    if "file" not in request.FILES:
        return JsonResponse({"words": _("No file came along. Choose it again.")}, status=422)
    try:
        picture = _taken_in(request)
    except Refused as refusal:
        return JsonResponse({"words": refusal.words}, status=refusal.status)
    known = Drawing.objects.standing().filter(picture=picture).select_related("season").first()
    if known is not None:
        words = _("This sheet is in the record already: it is %(drawing)s.") % {"drawing": known}
        return JsonResponse({"words": words}, status=409)
    shown = reverse("picture_file", args=[request.season.code, picture.pk, "screen"])
    return JsonResponse({"picture": picture.pk, "name": picture.original_name, "shown": shown})


def next_step(request: PageRequest, drawing: Drawing) -> str:
    """To the corners of the next square that the sheet names, else to the drawing."""
    code = request.season.code
    shown = drawing_shown(drawing, may_lead=request.may(May.LEAD))
    name = "drawing" if next_to_mark(shown) is None else "drawing_squares"
    return reverse(name, args=[code, drawing.pk])


def _taken_in(request: PageRequest) -> Picture:
    file: Any = request.FILES["file"]
    picture = bring_in_picture(
        request.season, file, file.name or "", size_bytes=file.size, pages=Pages.ONE
    )
    if picture.file.is_shown:
        want_shown(request.season, picture, "large")  # its corners will be marked on it
    return picture


def _offered(request: PageRequest) -> dict[str, Any]:
    """What the address names, and the last dive that said it drew these squares."""
    offered: dict[str, Any] = {}
    try:
        asked = request.GET.get("squares") or request.GET.get("square", "")
        squares = squares_meant(request.site, asked)
    except Refused:
        squares = []
    if squares:
        offered["squares"] = told_squares(squares)
    offered |= _of_scan(request)
    dives = Dive.objects.standing().filter(season=request.season).order_by("-left_surface_at")
    named = dives.filter(n=request.GET["dive"]) if request.GET.get("dive", "").isdecimal() else None
    drew = DiveTask.objects.filter(square__in=squares, method=TaskMethod.DRAWING)
    dive = (named or dives.filter(tasks__in=drew)).first()
    return offered | ({"dive": dive.pk} if dive else {})


def _of_scan(request: PageRequest) -> dict[str, Any]:
    """A scan that could not be filed by itself is kept already; its codes may say its sheet."""
    try:
        scan = Scan.objects.get(season=request.season, picture=UUID(request.GET.get("picture", "")))
    except (ValueError, Scan.DoesNotExist):
        return {}
    offered: dict[str, Any] = {"picture": scan.picture_id}
    sheet = scan.sheet
    if sheet is None or sheet.is_board or sheet.season_id != request.season.pk:
        return offered
    squares = [one.square for one in sheet.squares.select_related("square__grid")]
    offered |= {"squares": told_squares(squares), "kind": sheet.drawing_kind, "scale": sheet.scale}
    if not sheet.is_voided and not Drawing.objects.filter(season=request.season, n=sheet.n or 0):
        offered["tag"] = sheet.n
    return offered


def _page(request: PageRequest, form: NewDrawingForm, status: int = 200) -> HttpResponse:
    context = {
        "form": form,
        "kept": form.kept_picture(),
        "fair_copies_only": request.season.phase() != Phase.OPEN,
    }
    return render(request, "drawings/new.html", context, status=status)
