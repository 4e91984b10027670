"""A word on the squares as one leaves their field: are they there, what is wanted of them."""

from django.http import HttpResponse
from django.utils.translation import gettext as _

from records.permissions import May
from records.queries.square_words import squares_meant
from records.queries.squares import SquareState, grids_of, states_of
from records.refusals import Refused
from records.views.frame import PageRequest, season_page

TOLD = 3


@season_page(may=May.RECORD, place="shed")
def dive_squares(request: PageRequest) -> HttpResponse:
    """The text of the one field that came along; plain text, empty when nothing was typed."""
    typed = [
        str(text) for name, text in request.GET.items() if name.endswith(("squares", "square"))
    ]
    return HttpResponse(_told(request, " ".join(typed).strip()[:600]), content_type="text/plain")


def _told(request: PageRequest, typed: str) -> str:
    if not typed:
        return ""
    try:
        keys = [square.pk for square in squares_meant(request.site, typed)]
    except Refused as refusal:
        return refusal.words
    states = {one.id: one for one in states_of(request.season, grids_of(request.site))}
    squares = [states[key] for key in keys]
    closed = [square.label for square in squares if square.stage is None]
    if closed:
        return _("Not open in any stage: %(squares)s. Say in words where it was.") % {
            "squares": ", ".join(closed)
        }
    if len(squares) <= TOLD:
        return " ".join(_state(square) for square in squares)
    return _("%(count)s squares, %(first)s to %(last)s.") % {
        "count": len(squares),
        "first": squares[0].label,
        "last": squares[-1].label,
    }


def _state(square: SquareState) -> str:
    return _("%(words)s (%(stage)s).") % {"words": square.words, "stage": square.stage}
