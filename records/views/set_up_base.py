"""The base of a tower set-up, marked once on one of its frames; its versions."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.marks import BaseForm, BasePoints, FrameFileForm
from records.forms.people import ReasonForm
from records.forms.saving import submit
from records.intake.pictures import bring_in_picture
from records.intake.recipes import is_made
from records.models import Picture, Placement, TowerSetUp
from records.permissions import May
from records.queries.base_desk import desk_start
from records.queries.marks import fit_told
from records.queries.pictures import pictures_for
from records.queries.set_ups import frames_of, laid_anew_words
from records.refusals import Refused
from records.verbs.pictures import want_shown
from records.verbs.set_up_versions import (
    demand_size,
    place_set_up_by_marks,
    void_set_up_version,
    want_base_found,
)
from records.views.fieldwork import open_forms_only
from records.views.form_page import FormPage, answer_form, see_other, typed_in
from records.views.frame import PageRequest, say_saved, season_page
from records.views.set_ups import set_up_here, set_up_url


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def set_up_base(request: PageRequest, set_up_id: UUID) -> HttpResponse:
    """Which frame shows the base: one that came in, or a file brought for this."""
    open_forms_only(request)
    set_up = set_up_here(request, set_up_id)
    form, status = FrameFileForm(typed_in(request), request.FILES or None), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            picture = _brought_in(request, set_up, form)
            if picture is not None:
                want_base_found(request.season, set_up, picture)
                return see_other(_marks_url(request, set_up, picture))
    page = {"set_up": set_up, "form": form, "frames": frames_of(request.season, set_up)}
    return render(request, "photos/set_up_base.html", page, status=status)


def _brought_in(request: PageRequest, set_up: TowerSetUp, form: FrameFileForm) -> Picture | None:
    file = form.cleaned_data["file"]
    try:
        picture = bring_in_picture(
            request.season,
            file,
            file.name,
            size_bytes=file.size,
            orientation=set_up.orientation,
        )
        demand_size(set_up, picture)
        return picture
    except Refused as refusal:
        form.add_error("file", refusal.words)
        return None


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def set_up_marks(request: PageRequest, set_up_id: UUID, picture_id: UUID) -> HttpResponse:
    """The desk: four corners of the base and further points."""
    open_forms_only(request)
    set_up = set_up_here(request, set_up_id)
    seen = pictures_for(request.season, may_lead=True)
    picture = get_object_or_404(seen, pk=picture_id, voided_at=None)
    demand_size(set_up, picture)  # said before anybody marks
    start = desk_start(set_up, picture, request.GET.get("by", ""))
    data = typed_in(request)
    form = BaseForm(request.season, data, initial=start.corners)
    rows = BasePoints(data, prefix="points", initial=start.further)
    status = 200
    if data is not None:
        placed, status = _saved(request, set_up, picture, form, rows)
        if placed is not None:
            told = [_("The base is marked."), fit_told(placed), laid_anew_words(placed)]
            say_saved(request, placed, " ".join(filter(None, told)))
            return see_other(set_up_url(request, set_up))
    if start.is_waiting:
        want_base_found(request.season, set_up, picture)
    desk = {"set_up": set_up, "picture": picture, "form": form, "rows": rows, "start": start}
    return _desk(request, desk, status)


def _saved(
    request: PageRequest, set_up: TowerSetUp, picture: Picture, form: BaseForm, rows: Any
) -> tuple[Placement | None, int]:
    if not rows.is_valid():
        form.is_valid()
        return None, 422
    return submit(
        form,
        lambda said: place_set_up_by_marks(
            request.season, set_up, form.entry(picture, rows), said["id"]
        ),
    )


def _desk(request: PageRequest, desk: dict[str, Any], status: int) -> HttpResponse:
    show_large(request, desk["picture"])
    page = {
        "size_px": desk["picture"].upright_size_px,
        "cancel_url": set_up_url(request, desk["set_up"]),
    }
    return render(request, "photos/set_up_marks.html", desk | page, status=status)


def show_large(request: PageRequest, picture: Any) -> None:
    """Marks need the large derivative: asked for where it is not made yet."""
    if not is_made(picture, "large"):
        want_shown(request.season, picture, "large")
        picture.is_being_made = True


def _marks_url(request: PageRequest, set_up: TowerSetUp, picture: Picture) -> str:
    return reverse("set_up_marks", args=[request.season.code, set_up.pk, picture.pk])


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def set_up_version_void(request: PageRequest, set_up_id: UUID, version_id: UUID) -> HttpResponse:
    open_forms_only(request)
    set_up = set_up_here(request, set_up_id)
    version = get_object_or_404(set_up.placements, pk=version_id)
    page = FormPage(
        title=set_up.name,
        answer=_("Make this version void? Frames that were laid with it keep their place."),
        save_label=_("Make it void"),
        cancel_url=set_up_url(request, set_up),
    )
    return answer_form(
        request,
        ReasonForm(typed_in(request)),
        page,
        lambda said: void_set_up_version(request.season, version, said["reason"]),
        lambda _gone: (_("The version is void."), set_up_url(request, set_up)),
    )
