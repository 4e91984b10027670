"""A photograph placed by known points: square corners, finds, or x and y on the grid."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from records.forms.known_points import GridPoints, PhotoPointsForm, grid_marks
from records.forms.marks import MOST_POINTS
from records.forms.saving import save_or_explain
from records.models import Frame, Grid, Photograph
from records.permissions import May
from records.queries.known_points import KnownPoints
from records.queries.marks import fit_of
from records.queries.photo_points import (
    frame_of,
    grid_offered,
    points_offered,
    stage_offered,
    with_more,
)
from records.queries.photographs import is_placeable
from records.refusals import Refused
from records.verbs.placing import PointsEntry, place_frame_by_marks, place_photograph_by_marks
from records.views.fieldwork import open_forms_only
from records.views.form_page import see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page
from records.views.photographs import photo_here, photo_url
from records.views.set_up_base import show_large


@season_page("GET", "HEAD", "POST", may=May.RECORD, place="pictures")
def photo_points(request: PageRequest, photo_id: UUID) -> HttpResponse:
    open_forms_only(request)
    photograph = photo_here(request, photo_id)
    if photograph.is_voided or not is_placeable(photograph, may_lead=request.may(May.LEAD)):
        raise Http404
    frame = frame_of(photograph)
    form = _form(request, photograph, frame)
    if "add" in request.POST:
        return _listed(request, photograph, frame, form)
    if request.method == "POST":
        return _answer(request, photograph, frame, form)
    known = _known(request, photograph, frame, form)
    offered = points_offered(photograph, frame, known) if known else []
    return _desk(request, photograph, form, GridPoints(prefix="points", initial=offered))


def _form(request: PageRequest, photograph: Photograph, frame: Frame | None) -> PhotoPointsForm:
    seen = {
        "version": frame.version if frame else 0,
        "grid": grid_offered(photograph, frame),
        "stage": stage_offered(photograph),
    }
    of_tower = frame is not None and frame.card_id is not None
    return PhotoPointsForm(request.season, typed_in(request), initial=seen, of_tower=of_tower)


def _known(
    request: PageRequest, photograph: Photograph, frame: Frame | None, form: PhotoPointsForm
) -> KnownPoints | None:
    """Of the grid that was chosen, else of the likely one; none where the site has no grid."""
    chosen: Grid | None = form.cleaned_data.get("grid") if form.is_bound else None
    grid = chosen or grid_offered(photograph, frame)
    return KnownPoints(grid, request.season) if grid else None


def _listed(
    request: PageRequest, photograph: Photograph, frame: Frame | None, form: PhotoPointsForm
) -> HttpResponse:
    """The same page with more points on its list; what was marked stays."""
    form.is_valid()
    known = _known(request, photograph, frame, form)
    names = list(GridPoints.form.base_fields)
    sent = [
        {name: request.POST.get(f"points-{n}-{name}", "").strip() for name in names}
        for n in range(MOST_POINTS)
    ]
    kept: Any = request.POST.copy()
    try:
        if known is None:
            raise Refused(_("This site has no grid yet."))
        rows, kept["more"] = with_more(sent, kept.get("more", ""), known, MOST_POINTS), ""
    except Refused as refusal:
        rows = sent
        form.add_error("more", refusal.words)
        return _desk(request, photograph, form, GridPoints(prefix="points", initial=rows), 422)
    form.data = kept
    return _desk(request, photograph, form, GridPoints(prefix="points", initial=rows))


def _answer(
    request: PageRequest, photograph: Photograph, frame: Frame | None, form: PhotoPointsForm
) -> HttpResponse:
    rows, status = GridPoints(request.POST, prefix="points"), 422
    if form.is_valid() & rows.is_valid():
        known = _known(request, photograph, frame, form)
        marks = grid_marks(rows, known) if known else []
        if not rows.total_error_count():
            placed, status = save_or_explain(
                form, lambda: _placed(photograph, frame, form.cleaned_data, marks)
            )
            if placed is not None:
                words = _("%(number)s is placed.") % {"number": photograph.number}
                say_saved(request, placed.placement or placed, f"{words} {fit_of(placed)}")
                return see_other(photo_url(photograph))
    return _desk(request, photograph, form, rows, status)


def _placed(photograph: Photograph, frame: Frame | None, said: Any, marks: list[Any]) -> Frame:
    if frame is not None and frame.card_id is not None:
        return place_frame_by_marks(frame, marks, said["version"], said["id"])
    entry = PointsEntry(said["grid"], said["stage"], marks)
    return place_photograph_by_marks(photograph, entry, said["id"], said["version"])


def _desk(
    request: PageRequest, photograph: Any, form: Any, rows: Any, status: int = 200
) -> HttpResponse:
    show_large(request, photograph.picture)
    page = {
        "photograph": photograph,
        "picture": photograph.picture,
        "size_px": photograph.picture.upright_size_px,
        "form": form,
        "rows": rows,
        "cancel_url": photo_url(photograph),
    }
    return render(request, "photos/photo_points.html", page, status=status)
