"""The corner page: where a square lies on its sheet."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.drawings import CrossingForms, MarksForm
from records.forms.saving import submit
from records.intake.recipes import is_made
from records.models import Drawing, DrawnSquare, Square
from records.permissions import May
from records.queries.drawing_marks import fit_words, marks_in_form, ways_of
from records.queries.drawings import drawing_shown, next_to_mark
from records.queries.pictures import pictures_for
from records.queries.square_words import present_stages, squares_meant
from records.refusals import Refused
from records.verbs.drawings import demand_open_for
from records.verbs.drawn_squares import place_drawn_square, remark_square
from records.verbs.pictures import want_shown
from records.views.drawing_acts import drawn_here
from records.views.drawing_intake import next_step
from records.views.drawing_list import drawing_here
from records.views.form_page import see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def drawing_squares(request: PageRequest, drawing_id: UUID) -> HttpResponse:
    """Mark the square that the address names, or the next one that the sheet does."""
    drawing = drawing_here(request, drawing_id, standing=True)
    if request.method != "POST":  # said before anybody marks; what is sent goes to its verb
        demand_open_for(request.season, drawing.inked_from)
    try:
        square = _asked_for(request, drawing)
    except Refused as refusal:
        return _which(request, drawing, refusal.words)
    if square is None:
        return _which(request, drawing)
    stage = present_stages(request.season, [square]).get(square.pk)
    data, initial = typed_in(request), {"stage": stage}
    form = MarksForm(request.season, square, data, initial=initial)
    rows = CrossingForms(data, prefix="cross")
    placed, status = _saved(
        form,
        rows,
        lambda said: place_drawn_square(
            drawing, square, said["stage"], said["extent"], form.marks(rows), said["id"]
        ),
    )
    if placed is None:
        return _page(request, drawing, square, form, rows, status)
    return _on(request, placed)


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def drawn_square_marks(request: PageRequest, drawn_id: UUID) -> HttpResponse:
    """Mark a square anew: it then waits for a new check."""
    drawn = drawn_here(request, drawn_id)
    if request.method != "POST":
        demand_open_for(request.season, drawn.drawing.inked_from)
    corners, crossings = marks_in_form(drawn)
    seen = {"id": drawn.pk, "version": drawn.version, "stage": drawn.stage, "extent": drawn.extent}
    data = typed_in(request)
    form = MarksForm(request.season, drawn.square, data, initial=seen | corners)
    form.fields["stage"].disabled = True
    rows = CrossingForms(data, prefix="cross", initial=crossings)
    placed, status = _saved(
        form,
        rows,
        lambda said: remark_square(drawn, said["extent"], form.marks(rows), said["version"]),
    )
    if placed is None:
        return _page(request, drawn.drawing, drawn.square, form, rows, status, drawn=drawn)
    return _on(request, placed)


def _asked_for(request: PageRequest, drawing: Drawing) -> Square | None:
    typed = request.GET.get("square", "").strip()
    if typed:
        return squares_meant(request.site, typed)[0]
    if "ask" in request.GET:
        return None
    return next_to_mark(drawing_shown(drawing, may_lead=request.may(May.LEAD)))


def _saved(form: MarksForm, rows: Any, act: Any) -> tuple[DrawnSquare | None, int]:
    if not form.is_bound:
        return None, 200
    if not rows.is_valid():
        form.is_valid()
        return None, 422
    return submit(form, act)


def _on(request: PageRequest, placed: DrawnSquare) -> HttpResponse:
    words = _("%(square)s is placed.") % {"square": placed.square}
    say_saved(request, placed, f"{words} {fit_words(placed.placement)}")
    return see_other(next_step(request, placed.drawing))


def _which(request: PageRequest, drawing: Drawing, words: str = "") -> HttpResponse:
    context = {"drawing": drawing, "words": words, "typed": request.GET.get("square", "")}
    return render(request, "drawings/which.html", context, status=422 if words else 200)


def _page(
    request: PageRequest,
    drawing: Drawing,
    square: Square,
    form: MarksForm,
    rows: Any,
    status: int,
    drawn: DrawnSquare | None = None,
) -> HttpResponse:
    picture = pictures_for(request.season, may_lead=request.may(May.LEAD)).get(
        pk=drawing.picture_id
    )
    if not is_made(picture, "large"):
        want_shown(request.season, picture, "large")
        picture.is_being_made = True  # type: ignore[attr-defined]
    context = {
        "drawing": drawing,
        "square": square,
        "drawn": drawn,
        "form": form,
        "rows": rows,
        "picture": picture,
        "size_px": picture.upright_size_px,
        "side_cm": round(square.grid.side_m * 100, 1),
        "ways": ways_of(square),
        "cancel_url": reverse("drawing", args=[request.season.code, drawing.pk]),
    }
    return render(request, "drawings/marks.html", context, status=status)
