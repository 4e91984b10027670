"""The season's drawings, and one of them."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext_lazy as _

from records.forms.squares import ReasonForm
from records.models import Drawing, Phase
from records.permissions import May
from records.queries.drawings import (
    SENT_BACK,
    UNMARKED,
    WAITING,
    count_of,
    drawing_shown,
    drawings_for,
    drawings_shown,
    next_to_check,
    squares_waiting,
)
from records.queries.extents import history_of
from records.queries.pictures import pictures_for
from records.queries.scan_pages import file_of
from records.queries.scans import scans_left
from records.queries.underlays import photographs_under
from records.views.frame import PageRequest, season_page

STANDS = {
    "": _("all"),
    WAITING: _("wait for a check"),
    SENT_BACK: _("sent back"),
    UNMARKED: _("corners not marked"),
}


@season_page(may=May.SEE, place="pictures")
def drawings(request: PageRequest) -> HttpResponse:
    shown = drawings_shown(request.season, may_lead=request.may(May.LEAD))
    asked = request.GET.get("only", "")
    stand = asked if asked in STANDS else ""
    counts = {one: count_of(shown, one) for one in STANDS if one}
    context: dict[str, Any] = {
        "shown": [one for one in shown if not stand or stand in one.stands],
        "stand": stand,
        "counts": counts | {"all": len(shown), "squares": squares_waiting(shown)},
        "chips": [
            {"stand": one, "words": words, "count": counts.get(one, len(shown))}
            for one, words in STANDS.items()
        ],
        "may_record": request.may(May.RECORD) and _takes_drawings(request),
        "to_check": _to_check(request),
        "scans_left": scans_left(request.season) if request.may(May.RECORD) else 0,
    }
    return render(request, "drawings/list.html", context)


@season_page(may=May.SEE, place="pictures")
def drawing(request: PageRequest, drawing_id: UUID) -> HttpResponse:
    return drawing_page(request, drawing_here(request, drawing_id))


def drawing_page(
    request: PageRequest, drawing: Drawing, status: int = 200, **more: Any
) -> HttpResponse:
    may_lead = request.may(May.LEAD)
    is_open = not drawing.is_voided and is_open_for(request, drawing)
    shown = drawing_shown(drawing, may_lead=may_lead)
    picture = pictures_for(request.season, may_lead=may_lead).get(pk=drawing.picture_id)
    waiting = [one for one in shown.squares if one.waits]
    context = {
        "shown": shown,
        "to_check": waiting[0] if waiting and is_open and may_lead else None,
        "picture": picture,
        "whole_file": file_of(picture, request.season, may_lead=may_lead),
        "over": photographs_under(drawing, may_lead=may_lead),
        "inked": drawing.inked.filter(voided_at=None).select_related("season"),
        "may_record": is_open and request.may(May.RECORD),
        "may_lead": is_open and may_lead,
        "gets_original": request.may(May.RECORD),
        "may_turn": is_open and request.may(May.RECORD) and not drawing.picture.placements.exists(),
        "history": history_of(drawing) if request.may(May.RECORD) else [],
        "void_form": ReasonForm(auto_id="void_%s"),
        **more,
    }
    return render(request, "drawings/page.html", context, status=status)


def drawing_here(request: PageRequest, drawing_id: UUID, *, standing: bool = False) -> Drawing:
    seen = drawings_for(request.season, may_lead=request.may(May.LEAD))
    found: Drawing = get_object_or_404(
        seen.filter(voided_at=None) if standing else seen, pk=drawing_id
    )
    return found


def is_open_for(request: PageRequest, drawing: Drawing) -> bool:
    """Whether the season still takes changes of such a drawing."""
    phase = request.season.phase()
    return phase == Phase.OPEN or (
        phase == Phase.FIELDWORK_CLOSED and drawing.inked_from_id is not None
    )


def _takes_drawings(request: PageRequest) -> bool:
    return request.season.phase() != Phase.DEPOSITED


def _to_check(request: PageRequest) -> Any:
    if not request.may(May.LEAD) or request.season.phase() == Phase.DEPOSITED:
        return None
    return next_to_check(request.season, may_lead=True)
