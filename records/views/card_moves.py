"""Moves on the contact sheet, and its acceptance."""

import datetime
from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from records.forms.cards import AcceptForm
from records.forms.saving import answers_in, save_or_explain
from records.models import Card
from records.permissions import May
from records.queries.sheet import Sheet
from records.refusals import Refused
from records.verbs.acceptance import accept_card
from records.verbs.cards import set_clock, set_clock_by_watch
from records.verbs.sheet import (
    lay_from,
    leave_out,
    leave_out_told,
    move_back,
    move_on,
    put_back,
    stand_on,
    undo,
)
from records.views.cards import card_here, card_url, desk_context, shown_sheet
from records.views.form_page import see_other
from records.views.frame import PageRequest, say_saved, season_page

Move = Callable[[Card, UUID, Any, str], Any]


def _place(said: Any) -> int:
    try:
        return int(said.get("place", ""))
    except ValueError as error:
        raise Refused(_("Choose a station."), field="place") from error


def _reason(said: Any) -> str:
    return str(said.get("typed", "")).strip() or str(said.get("reason", ""))


def _seconds(said: Any) -> float:
    try:
        return float(int(said.get("fast_by_s", "")))
    except ValueError as error:
        raise Refused(_("Type how many seconds the clock is fast.")) from error


def _reads(said: Any) -> datetime.time:
    try:
        return datetime.time.fromisoformat(said.get("reads", ""))
    except ValueError as error:
        raise Refused(_("Type what the watch reads, as 14:05:30."), field="reads") from error


MOVES: dict[str, Move] = {
    "on": lambda card, frame, _said, seen: move_on(card, frame, seen=seen),
    "back": lambda card, frame, _said, seen: move_back(card, frame, seen=seen),
    "stand": lambda card, frame, said, seen: stand_on(card, frame, _place(said), seen=seen),
    "leave": lambda card, frame, said, seen: leave_out(card, frame, _reason(said), seen=seen),
    "leave_close": lambda card, frame, said, seen: leave_out(
        card, frame, _reason(said), close_up=True, seen=seen
    ),
    "leave_told": lambda card, _frame, _said, seen: leave_out_told(card, seen=seen),
    "put_back": lambda card, frame, _said, seen: put_back(card, frame, seen=seen),
    "undo": lambda card, _frame, _said, seen: undo(card, seen=seen),
    "lay": lambda card, _frame, said, seen: lay_from(card, _place(said), seen=seen),
}
MOVES |= {
    "clock": lambda card, _frame, said, _seen: set_clock(card, _seconds(said)),
    "watch": lambda card, frame, said, _seen: set_clock_by_watch(card, frame, _reads(said)),
}
GOES_ON = {"leave", "leave_close", "put_back"}


@season_page("POST", may=May.RECORD, place="pictures")
def card_move(request: PageRequest, card_id: UUID) -> HttpResponse:
    """One move; answered by the desk alone where a script asks."""
    card = card_here(request, card_id)
    at = request.POST.get("frame", "")
    before = shown_sheet(card)
    try:
        _act(card, request.POST)
    except Refused as refusal:
        return _desk(request, shown_sheet(card), at, refusal)
    following = before.after(at) if request.POST.get("act") in GOES_ON else None
    at = following.key if following else at
    if request.headers.get("HX-Request"):
        return _desk(request, shown_sheet(card_here(request, card_id)), at, None)
    return see_other(f"{card_url(request, card)}?at={at}#card-panel")


def _act(card: Card, said: Any) -> None:
    act = MOVES.get(said.get("act", ""))
    try:
        frame = UUID(said.get("frame") or str(card.pk))
    except ValueError:
        act = None
    if act is None:
        raise Refused(_("This move is not known here. Reload the page."))
    act(card, frame, said, said.get("seen", ""))


def _desk(
    request: PageRequest, sheet: Sheet, at: str, refusal: Refused | None, form: Any = None
) -> HttpResponse:
    page = desk_context(request, sheet, at)
    page |= {"refusal": refusal, "form": form}
    alone = request.headers.get("HX-Request")
    template = "photos/_desk.html" if alone else "photos/card.html"
    return render(request, template, page, status=refusal.status if refusal else 200)


@season_page("POST", may=May.RECORD, place="pictures")
def card_accept(request: PageRequest, card_id: UUID) -> HttpResponse:
    card = card_here(request, card_id)
    form: Any = AcceptForm(request.POST)
    form.is_valid()
    answers = answers_in(request.POST)
    accepted, status = save_or_explain(
        form, lambda: accept_card(card, seen=request.POST.get("seen"), answers=answers)
    )
    if accepted is None:
        page = desk_context(request, shown_sheet(card_here(request, card_id)), "")
        return render(request, "photos/card.html", page | {"form": form}, status=status)
    say_saved(request, accepted, _("The card is accepted; its photographs have their numbers."))
    return see_other(card_url(request, accepted))
