"""The lead's check of a drawn square, and its edges against the neighbours."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.drawings import CheckForm
from records.forms.saving import submit
from records.forms.squares import ReasonForm
from records.intake.windows import GridWindow
from records.models import DrawnSquare, RedoReason, Square, Stage, Verdict
from records.permissions import May
from records.queries.drawing_marks import fit_words
from records.queries.drawings import SquareShown, drawn_squares, next_to_check
from records.queries.edges import edges_of
from records.queries.pictures import pictures_for
from records.queries.square_words import present_stages
from records.verbs.drawn_squares import check_drawn_square, void_drawn_square
from records.views.drawing_acts import drawn_here
from records.views.drawing_list import is_open_for
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page

MARGIN = 0.1  # of the square's side, so that its edge and corner marks are seen


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def drawing_check(request: PageRequest, drawn_id: UUID) -> HttpResponse:
    drawn = drawn_here(request, drawn_id)
    if request.method != "POST":
        return _page(request, drawn, CheckForm(initial={"version": drawn.version}))
    accepts = request.POST.get("verdict") == Verdict.ACCEPTED
    form = CheckForm(request.POST)
    check, status = submit(
        form,
        lambda said: check_drawn_square(
            drawn,
            Verdict.ACCEPTED if accepts else Verdict.REDO,
            "" if accepts else said["why"],
            said["words"],
            said["id"],
            seen_version=said["version"],
        ),
    )
    if check is None:
        return _page(request, drawn, form, status)
    return _on(request, drawn, check)


def _on(request: PageRequest, drawn: DrawnSquare, check: Any) -> HttpResponse:
    """To the next one that waits, or to the list when none does."""
    accepted = check.verdict == Verdict.ACCEPTED
    words = _("%(square)s is accepted.") if accepted else _("%(square)s is sent back.")
    left = drawn_squares(request.season, may_lead=True).filter(verdict=None).count()
    more = ngettext("%(n)s more waits.", "%(n)s more wait.", left) % {"n": left}
    told = words % {"square": drawn.square}
    say_saved(request, check, f"{told} {more}" if left else f"{told} {_('No other waits.')}")
    following = next_to_check(request.season, may_lead=True, after=drawn.pk)
    if following is None:
        return see_other(reverse("drawings", args=[request.season.code]))
    return see_other(reverse("drawing_check", args=[request.season.code, following.pk]))


def _page(
    request: PageRequest, drawn: DrawnSquare, form: CheckForm, status: int = 200, **more: Any
) -> HttpResponse:
    square, side_m = drawn.square, drawn.square.grid.side_m
    of_same = drawn_squares(request.season, may_lead=True).filter(square=square, stage=drawn.stage)
    context = {
        "drawn": drawn,
        "shown": (shown := SquareShown.of(drawn)),
        "outlines": [shown],
        "form": form,
        "window": GridWindow.of_square(
            drawn.placement, square, margin_m=MARGIN * side_m, mm_a_pixel=side_m
        ),
        "picture": pictures_for(request.season, may_lead=True).get(pk=drawn.drawing.picture_id),
        "fit": fit_words(drawn.placement),
        "checks": drawn.checks.select_related("made_by").order_by("-made_at"),
        "others": [SquareShown.of(one) for one in of_same if one.pk != drawn.pk],
        "reasons": [one for one in RedoReason if one != RedoReason.OTHER],
        "following": next_to_check(request.season, may_lead=True, after=drawn.pk),
        "is_open": is_open_for(request, drawn.drawing),
        "void_form": ReasonForm(auto_id="void_%s"),
        **more,
    }
    return render(request, "drawings/check.html", context, status=status)


@season_page("POST", may=May.LEAD, place="pictures")
def drawn_square_void(request: PageRequest, drawn_id: UUID) -> HttpResponse:
    """Take a square off its drawing: it was marked by mistake."""
    drawn, form = drawn_here(request, drawn_id), ReasonForm(request.POST, auto_id="void_%s")
    voided, status = submit(form, lambda said: void_drawn_square(drawn, said["reason"]))
    if voided is None:
        check_form = CheckForm(initial={"version": drawn.version})
        return _page(request, drawn, check_form, status, void_form=form)
    words = _("%(square)s is taken off drawing %(n)s.")
    say_saved(request, voided, words % {"square": drawn.square, "n": drawn.drawing.n})
    return see_other(reverse("drawing", args=[request.season.code, drawn.drawing_id]))


@season_page(may=May.SEE, place="plan")
def square_edges(request: PageRequest, square_id: UUID) -> HttpResponse:
    """The drawings of a square and its neighbours, laid together."""
    of_site = Square.objects.standing().filter(grid__site=request.site).labelled()
    square = get_object_or_404(of_site, pk=square_id)
    stages = Stage.objects.standing().filter(season=request.season)
    order = request.GET.get("stage", "")
    present = present_stages(request.season, [square]).get(square.pk)
    stage = stages.filter(order=order).first() if order.isdecimal() else present or stages.last()
    if stage is None:
        raise Http404
    context = {
        "edges": edges_of(request.season, square, stage, may_lead=request.may(May.LEAD)),
        "stages": stages.order_by("order"),
        "may_check": request.may(May.LEAD),
    }
    return render(request, "drawings/edges.html", context)
