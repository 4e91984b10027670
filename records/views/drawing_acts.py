"""Mending what is said of a drawing, turning its picture, making it or a square of it void."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.drawings import EditDrawingForm
from records.forms.saving import submit
from records.forms.squares import ReasonForm
from records.intake.turning import TURNED
from records.models import Drawing, DrawnSquare
from records.permissions import May
from records.queries.drawings import drawn_squares
from records.verbs.drawings import demand_open_for, edit_drawing, void_drawing
from records.verbs.pictures import turn_picture
from records.views.drawing_list import drawing_here, drawing_page
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def drawing_edit(request: PageRequest, drawing_id: UUID) -> HttpResponse:
    drawing = drawing_here(request, drawing_id, standing=True)
    if request.method != "POST":
        demand_open_for(request.season, drawing.inked_from)
    form = EditDrawingForm(drawing, typed_in(request))
    page = FormPage(
        title=_("Mend drawing %(n)s") % {"n": drawing.n},
        answer=_("What is said of %(drawing)s.") % {"drawing": drawing},
        cancel_url=_url(drawing),
        draft=f"drawing-{drawing.pk}",
    )
    return answer_form(
        request,
        form,
        page,
        lambda said: edit_drawing(drawing, form.says(), said["version"], form.extents()),
        lambda saved: (_("Drawing %(n)s is saved.") % {"n": saved.n}, _url(saved)),
    )


@season_page("POST", may=May.RECORD, place="pictures")
def drawing_turn(request: PageRequest, drawing_id: UUID) -> HttpResponse:
    drawing = drawing_here(request, drawing_id, standing=True)
    turned = TURNED.get(request.POST.get("turn", ""), {}).get(drawing.picture.orientation)
    if turned is not None:
        turn_picture(request.season, drawing.picture, turned)
    return see_other(_url(drawing))


@season_page("POST", may=May.LEAD, place="pictures")
def drawing_void(request: PageRequest, drawing_id: UUID) -> HttpResponse:
    drawing, form = drawing_here(request, drawing_id), ReasonForm(request.POST, auto_id="void_%s")
    voided, status = submit(form, lambda said: void_drawing(drawing, said["reason"]))
    if voided is None:
        return drawing_page(request, drawing, status, void_form=form)
    say_saved(request, voided, _("Drawing %(n)s is void; its number stays.") % {"n": voided.n})
    return see_other(_url(drawing))


def drawn_here(request: PageRequest, drawn_id: UUID) -> DrawnSquare:
    """A standing square of a standing drawing, with its latest check."""
    seen = drawn_squares(request.season, may_lead=request.may(May.LEAD))
    found: DrawnSquare = get_object_or_404(seen, pk=drawn_id)
    found.drawing = drawing_here(request, found.drawing_id)
    return found


def _url(drawing: Drawing) -> str:
    return reverse("drawing", args=[drawing.season.code, drawing.pk])
