"""The lead's queue: drawn squares checked one after the other."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.forms.drawings import FAINT, STRENGTHS, UNDER, CheckForm
from records.forms.saving import submit
from records.forms.squares import ReasonForm
from records.models import DrawnSquare, RedoReason, Verdict
from records.permissions import May
from records.queries.checking import (
    checked_against,
    checked_since,
    how_many_sent_back,
    how_many_wait,
)
from records.queries.drawing_marks import fit_words
from records.queries.drawings import SquareShown, drawn_squares, next_to_check
from records.queries.flatness import paper_under
from records.queries.pictures import pictures_for
from records.queries.underlays import photographs_under
from records.verbs.drawn_squares import check_drawn_square, void_drawn_square
from records.views.drawing_acts import drawn_here
from records.views.drawing_list import is_open_for
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page

NONE = "none"  # the enter key in a field: the page stays as it is set
LATER = "later"  # the next one comes, this one goes on waiting


@season_page(may=May.LEAD, place="pictures")
def drawing_queue(request: PageRequest) -> HttpResponse:
    """The drawn square that has waited longest; where none waits, the page says so."""
    waiting = next_to_check(request.season, may_lead=True)
    if waiting is not None and is_open_for(request, waiting.drawing):
        return see_other(_url(request, waiting))
    context = {"waiting": waiting, "sent_back": how_many_sent_back(request.season)}
    return render(request, "drawings/none_waits.html", context)


@season_page("GET", "HEAD", "POST", may=May.LEAD, place="pictures")
def drawing_check(request: PageRequest, drawn_id: UUID) -> HttpResponse:
    drawn = drawn_here(request, drawn_id)
    if request.method != "POST":
        return _page(request, drawn, CheckForm(initial={"version": drawn.version}))
    form, said = CheckForm(request.POST), request.POST.get("verdict")
    if said == NONE:
        return _page(request, drawn, form)
    if said == LATER:
        return _to_next(request, drawn)
    accepts = said == Verdict.ACCEPTED or "extent" in request.POST
    check, status = submit(
        form,
        lambda said: check_drawn_square(
            drawn,
            Verdict.ACCEPTED if accepts else Verdict.REDO,
            "" if accepts else said["why"],
            said["words"],
            said["id"],
            seen_version=said["version"],
            extent=said["extent"],
            frame_lies=said["frame_lies"],
        ),
        changed=checked_since,
    )
    if check is None:
        return _page(request, drawn, form, status)
    return _on(request, drawn, check)


def _on(request: PageRequest, drawn: DrawnSquare, check: Any) -> HttpResponse:
    """To the next one that waits, or to the list when none does."""
    accepted = check.verdict == Verdict.ACCEPTED
    words = _("%(square)s is accepted.") if accepted else _("%(square)s is sent back.")
    left = how_many_wait(request.season, may_lead=True)
    more = ngettext("%(n)s more waits.", "%(n)s more wait.", left) % {"n": left}
    told = words % {"square": drawn.square}
    say_saved(request, check, f"{told} {more}" if left else f"{told} {_('No other waits.')}")
    return _to_next(request, drawn)


def _to_next(request: PageRequest, drawn: DrawnSquare) -> HttpResponse:
    following = next_to_check(request.season, may_lead=True, after=drawn.pk)
    if following is None:
        return see_other(reverse("drawing_queue", args=[request.season.code]))
    return see_other(_url(request, following))


def _url(request: PageRequest, drawn: DrawnSquare) -> str:
    """With the photograph under the next one as strong as it was under this one."""
    url, under = reverse("drawing_check", args=[request.season.code, drawn.pk]), _under(request)
    return f"{url}?under={under}" if under != FAINT else url


def _under(request: PageRequest) -> str:
    asked = str((request.POST or request.GET).get("under", ""))
    return asked if asked in UNDER else FAINT


def _page(
    request: PageRequest, drawn: Any, form: CheckForm, status: int = 200, **more: Any
) -> HttpResponse:
    season, square = request.season, drawn.square
    of_same = drawn_squares(season, may_lead=True).filter(square=square, stage=drawn.stage)
    context = {
        "drawn": drawn,
        "shown": (shown := SquareShown.of(drawn)),
        "outlines": [shown],
        "form": form,
        "printed_over": (under := photographs_under(drawn.drawing, may_lead=True)),
        "over_numbers": ", ".join(str(one.n) for one in under),
        "against": checked_against(season, drawn, may_lead=True),
        "strengths": [(one, STRENGTHS[one], one == _under(request)) for one in UNDER],
        "picture": pictures_for(season, may_lead=True).get(pk=drawn.drawing.picture_id),
        "fit": fit_words(drawn.placement),
        "paper": paper_under(drawn),
        "checks": drawn.checks.select_related("made_by").order_by("-made_at"),
        "others": [SquareShown.of(one) for one in of_same if one.pk != drawn.pk],
        "reasons": [one for one in RedoReason if one != RedoReason.OTHER],
        "is_last": next_to_check(season, may_lead=True, after=drawn.pk) is None,
        "waiting": how_many_wait(season, may_lead=True) - (drawn.verdict is None),
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
