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
    words, is_doubt = _told(request, " ".join(typed).strip()[:600])
    answer = HttpResponse(words, content_type="text/plain")
    if is_doubt:
        answer.headers["X-Told"] = "doubt"  # leave.js shows it as a fault of the field
    return answer


def _told(request: PageRequest, typed: str) -> tuple[str, bool]:
    """What to say, and whether these squares would not be taken."""
    if not typed:
        return "", False
    try:
        keys = [square.pk for square in squares_meant(request.site, typed)]
    except Refused as refusal:
        return refusal.words, True
    states = {one.id: one for one in states_of(request.season, grids_of(request.site))}
    squares = [states[key] for key in keys]
    closed = [square.label for square in squares if square.stage is None]
    if closed:
        words = _("Not open in any stage: %(squares)s. Say in words where it was.")
        return words % {"squares": ", ".join(closed)}, True
    if len(squares) <= TOLD:
        return " ".join(_state(square) for square in squares), False
    return _("%(count)s squares, %(first)s to %(last)s.") % {
        "count": len(squares),
        "first": squares[0].label,
        "last": squares[-1].label,
    }, False


def _state(square: SquareState) -> str:
    return _("%(words)s (%(stage)s).") % {"words": square.words, "stage": square.stage}
