"""What a square still wants, and why: read from its evidence, in words.

Pure, so that each sentence is tested from a table.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.utils.formats import localize, number_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.models import Method, Outcome
from records.queries.evidence import MethodState, State, whole_percent
from records.queries.squares import SquareState


@dataclass(frozen=True)
class Hole:
    """A part of the square that no kept frame covers, and where (`survey.coverage.Where`)."""

    area_m2: float
    where: str


@dataclass(frozen=True)
class Known:
    """A square's state and what its page knows beside it.

    `drawn_on`, `photographed_on`: numbers of the dives from which drawings or cards of the square
    have come in. `bearing_deg`: of the grid, None where up on the page is no level direction.
    """

    state: SquareState
    holes: Sequence[Hole] = ()
    bearing_deg: float | None = None
    drawn_on: frozenset[int] = field(default_factory=frozenset)
    photographed_on: frozenset[int] = field(default_factory=frozenset)

    @property
    def awaited_drawing(self) -> int | None:
        """The dive on which divers say they drew, while no drawing of that dive has come in."""
        return _awaited(self.state.drawing, self.drawn_on)

    @property
    def awaited_photographs(self) -> int | None:
        return _awaited(self.state.photographs, self.photographed_on)


def _awaited(method: MethodState, come_in: frozenset[int]) -> int | None:
    said = method.evidence.said
    if said is None or said.outcome not in (Outcome.DONE, Outcome.PART):
        return None
    is_missing = method.is_missing and method.state != State.WAITING
    return said.dive if is_missing and said.dive not in come_in else None


def answer_of(known: Known) -> str:
    """What is missing and why; or that nothing is. A number stays on a line with its unit."""
    return _BEFORE_UNIT.sub("\u00a0", _answer(known))


_BEFORE_UNIT = re.compile(r"(?<=\d) (?=%|c?m²)")


def _answer(known: Known) -> str:
    state = known.state
    if state.stage is None:
        return _("No stage is open for this square in this season.")
    told = [
        words
        for method, words in (
            (state.drawing, _drawing_words(known)),
            (state.photographs, _photograph_words(known)),
        )
        if method.is_missing or method.waits
    ]
    if not state.missing:
        told.append(_nothing_words(state))
    return " ".join(told)


def _nothing_words(state: SquareState) -> str:
    """Nothing is missing, and what is there; or by whose decision not. What was told to wait
    is not told again."""
    by_itself = (State.WAITING, State.EXCEPTION)
    told = [one for one in state.methods if not (one.waits and one.state in by_itself)]
    there = ", ".join(one.words_but_waiting for one in told)
    if not state.is_wanted:
        words = _("Nothing is wanted of this square in this stage: %(there)s.")
    elif any(one.exception_words for one in told):
        words = _("Nothing more is wanted: %(there)s.")
    elif any(one.waits for one in state.methods):
        words = _("Nothing else is missing: %(there)s.")
    else:
        words = _("Nothing is missing: %(there)s.")
    return words % {"there": there} if there else ""


def _waiting_words(method: MethodState) -> str:
    """A sentence; with an exception, what that says, since the two contradict each other."""
    waits = (
        capfirst(method.waiting_words)
        if method.method == Method.DRAWING
        else _("A card is coming in; its frames are not accepted yet")
    )
    if not method.exception_words:
        return f"{waits}."
    return _("%(waits)s; the exception says: %(why)s.") % {
        "waits": waits,
        "why": method.exception_words,
    }


def _drawing_words(known: Known) -> str:
    method, dive = known.state.drawing, known.awaited_drawing
    said = {"dive": dive}
    if method.waits:
        return _waiting_words(method)
    match method.state:
        case State.SENT_BACK:
            fault = {"fault": method.evidence.drawn[-1].sent_back_for.rstrip(".")} | said
            if dive is None:
                return _("Drawing sent back: %(fault)s.") % fault
            return (
                _(
                    "Drawing sent back: %(fault)s. Divers say that they drew again on dive "
                    "%(dive)s; no new drawing has come in."
                )
                % fault
            )
        case State.BEGUN:
            if dive is None:
                return _("Only a part is drawn.")
            return (
                _(
                    "Only a part is drawn. Divers say that they went on on dive %(dive)s; no "
                    "drawing of it has come in."
                )
                % said
            )
    if dive is not None and _said(method) == Outcome.DONE:
        return _("Said drawn by divers on dive %(dive)s; no drawing has come in.") % said
    if dive is not None:
        return _("Said partly drawn by divers on dive %(dive)s; no drawing has come in.") % said
    return _unreached(method) or _("No drawing yet.")


def _photograph_words(known: Known) -> str:
    method, dive = known.state.photographs, known.awaited_photographs
    said = {"dive": dive}
    so_far = _so_far(known) if method.evidence.covered_fraction > 0 else ""
    if method.waits:
        words = _waiting_words(method)
        return f"{so_far} {words}" if so_far and method.is_missing else words
    if so_far:
        if dive is None:
            return so_far
        words = _("Divers say that they went on on dive %(dive)s; no card of it has come in.")
        return f"{so_far} {words % said}"
    if dive is not None and _said(method) == Outcome.DONE:
        return _("Said photographed by divers on dive %(dive)s; no card has come in.") % said
    if dive is not None:
        return _("Said partly photographed by divers on dive %(dive)s; no card has come in.") % said
    return _unreached(method) or _("No photographs yet.")


def _said(method: MethodState) -> str:
    return method.evidence.said.outcome if method.evidence.said else ""


def _unreached(method: MethodState) -> str:
    """Divers could not do it, and the lead has not yet said whether that stands."""
    if not method.asks_the_lead or method.evidence.said is None:
        return ""
    words = UNREACHED[method.method, Outcome(method.evidence.said.outcome)]
    return str(words) % {"dive": method.evidence.said.dive}


UNREACHED = {
    (Method.DRAWING, Outcome.NOTHING_VISIBLE): gettext_lazy(
        "Divers saw nothing to draw on dive %(dive)s; the lead decides whether that stands."
    ),
    (Method.DRAWING, Outcome.NOT_REACHED): gettext_lazy(
        "Not drawn: divers could not reach it on dive %(dive)s; the lead decides whether that "
        "stands."
    ),
    (Method.PHOTOGRAPHS, Outcome.NOTHING_VISIBLE): gettext_lazy(
        "Divers saw nothing to photograph on dive %(dive)s; the lead decides whether that stands."
    ),
    (Method.PHOTOGRAPHS, Outcome.NOT_REACHED): gettext_lazy(
        "Not photographed: divers could not reach it on dive %(dive)s; the lead decides whether "
        "that stands."
    ),
}


def _so_far(known: Known) -> str:
    """The share photographed, and the holes: how large, and where the largest lies."""
    covered = known.state.photographs.evidence.covered_fraction
    said = {"percent": whole_percent(covered)}
    if not known.holes:
        return _("Photographed %(percent)s %%, without a hole worth naming.") % said
    largest = max(known.holes, key=lambda one: one.area_m2)
    said |= {
        "area": area_words(largest.area_m2),
        "where": where_words(largest.where, known.bearing_deg),
        "all": area_words(sum(one.area_m2 for one in known.holes)),
        "n": localize(len(known.holes)),
    }
    return (
        ngettext(
            "Photographed %(percent)s %%: a hole of %(area)s %(where)s.",
            "Photographed %(percent)s %%: %(n)s holes of %(all)s in all, the largest "
            "(%(area)s) %(where)s.",
            len(known.holes),
        )
        % said
    )


def area_words(area_m2: float) -> str:
    """Two decimals of a square metre, and square centimetres below one hundredth."""
    if area_m2 < 0.01:
        return _("%(cm2)s cm²") % {"cm2": number_format(area_m2 * 10_000, 0)}
    return _("%(m2)s m²") % {"m2": number_format(area_m2, 2)}


WHERE = {
    "up": gettext_lazy("by the upper edge"),
    "down": gettext_lazy("by the lower edge"),
    "left": gettext_lazy("by the left edge"),
    "right": gettext_lazy("by the right edge"),
    "up-left": gettext_lazy("in the upper left corner"),
    "up-right": gettext_lazy("in the upper right corner"),
    "down-left": gettext_lazy("in the lower left corner"),
    "down-right": gettext_lazy("in the lower right corner"),
    "middle": gettext_lazy("in the middle"),
    "around": gettext_lazy("all round what is photographed"),
}
# Clockwise from up on the page, in eighths of a turn.
EIGHTHS = ("up", "up-right", "right", "down-right", "down", "down-left", "left", "up-left")
WINDS = (
    gettext_lazy("north"),
    gettext_lazy("north-east"),
    gettext_lazy("east"),
    gettext_lazy("south-east"),
    gettext_lazy("south"),
    gettext_lazy("south-west"),
    gettext_lazy("west"),
    gettext_lazy("north-west"),
)
CARDINAL_WITHIN_DEG = 22.5


def where_words(where: str, bearing_deg: float | None) -> str:
    """Where a hole lies as the page shows the square, +y up; and by the winds where the grid
    lies within 22.5° of a cardinal direction, so that people call its edges by them."""
    words = str(WHERE[where])
    wind = wind_of(where, bearing_deg)
    return _("%(where)s (%(wind)s)") % {"where": words, "wind": wind} if wind else words


def wind_of(where: str, bearing_deg: float | None) -> str:
    """Empty where the winds do not name the grid's edges. Up on the page looks along the bearing,
    which is counted clockwise from site north."""
    if bearing_deg is None or where not in EIGHTHS:
        return ""
    quarter = round(bearing_deg / 90.0)
    if abs(bearing_deg - quarter * 90.0) > CARDINAL_WITHIN_DEG:
        return ""
    return str(WINDS[(EIGHTHS.index(where) + 2 * quarter) % 8])
