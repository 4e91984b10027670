"""Comparisons of drawing and photograph: kept from a square's page, looked at, made void."""

from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _

from records.forms.comparisons import ComparisonForm
from records.forms.saving import submit
from records.forms.squares import ReasonForm
from records.models import Comparison, DrawnSquare, Frame
from records.permissions import May
from records.queries.agreement import comparisons_seen, rests_on, standing_of
from records.queries.compared import compared
from records.queries.pictures import pictures_for
from records.verbs.comparisons import compare, void_comparison
from records.views.drawing_acts import drawn_here
from records.views.fieldwork import may_until_deposited
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page


@season_page("POST", may=May.RECORD, place="plan")
def comparison_new(request: PageRequest, drawn_id: UUID) -> HttpResponse:
    drawn = drawn_here(request, drawn_id)
    seen = pictures_for(request.season, may_lead=request.may(May.LEAD)).values("pk")
    frames = Frame.objects.filter(photograph__season=request.season, photograph__picture__in=seen)
    form = ComparisonForm(frames, request.POST)
    made, status = submit(
        form,
        lambda said: compare(drawn, said["frame"], form.placed, said["points"], said["id"]),
    )
    if made is None:
        context = {"form": form, "drawn": drawn, "back_url": _square_url(drawn)}
        return render(request, "squares/comparison_refused.html", context, status=status)
    say_saved(request, made, _("The comparison is kept."))
    return see_other(_square_url(drawn, made) + "#agreement")


@season_page(place="plan")
def comparison(request: PageRequest, comparison_id: UUID) -> HttpResponse:
    return _page(request, _here(request, comparison_id))


@season_page("POST", may=May.LEAD, place="plan")
def comparison_void(request: PageRequest, comparison_id: UUID) -> HttpResponse:
    row, form = _here(request, comparison_id), ReasonForm(request.POST)
    voided, status = submit(form, lambda said: void_comparison(row, said["reason"]))
    if voided is None:
        return _page(request, row, form, status)
    say_saved(request, voided, _("The comparison is void."))
    return see_other(_square_url(row.drawn_square, row) + "#agreement")


def _here(request: PageRequest, comparison_id: UUID) -> Comparison:
    seen = comparisons_seen(request.season, may_lead=request.may(May.LEAD))
    found: Comparison = get_object_or_404(seen, pk=comparison_id)
    return found


def _page(
    request: PageRequest, row: Comparison, form: ReasonForm | None = None, status: int = 200
) -> HttpResponse:
    square = row.drawn_square.square
    context = {
        "shown": compared(row, square, request.season.disagreement_limit_mm),
        "stands": standing_of(row),
        "rests": rests_on(row),
        "over": [row.frame.photograph],
        "square": square,
        "form": form or ReasonForm(),
        "back_url": _square_url(row.drawn_square, row),
        "may_void": may_until_deposited(request, May.LEAD) and not row.is_voided,
    }
    return render(request, "squares/comparison.html", context, status=status)


def _square_url(drawn: DrawnSquare, made: Comparison | None = None) -> str:
    """The square's page with this drawing, and the photograph that it was compared with."""
    square = drawn.square
    place = [drawn.season.code, square.grid.code, square.place]
    asked = {"stage": drawn.stage.order, "drawing": drawn.drawing.n}
    if made is not None:
        asked["frame"] = made.frame.photograph.n
    return f"{reverse('square', args=place)}?{urlencode(asked)}"
