"""From evidence to the state of a square: pure, so that every state is tested from a table.

A diver's word, a goal or an exception never makes a square drawn or photographed. Only an
accepted drawing said to be of the whole square, or footprints that cover enough of it, do.
"""

from dataclasses import dataclass

from django.db.models import TextChoices
from django.utils.formats import localize
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.models import Method, Outcome

COVERED_WITHIN = 1e-9  # a share computed in floating point


class State(TextChoices):
    NOT_WANTED = "not_wanted", gettext_lazy("not wanted")
    WANTED = "wanted", gettext_lazy("wanted")
    SAID_DONE = "said_done", gettext_lazy("said done by divers")
    BEGUN = "begun", gettext_lazy("begun")
    WAITING = "waiting", gettext_lazy("waiting for a check")
    SENT_BACK = "sent_back", gettext_lazy("sent back")
    DONE = "done", gettext_lazy("done")
    EXCEPTION = "exception", gettext_lazy("exception")


@dataclass(frozen=True)
class Said:
    """The divers' latest word on one square, stage and method."""

    outcome: str
    dive: int


@dataclass(frozen=True)
class Excepted:
    """Accepted by the lead: not recorded by this method, and why."""

    kind: str
    reason: str


@dataclass(frozen=True)
class Drawn:
    """One standing drawing of the square and its latest check; `accepted` None: unchecked.

    `whole`: only where somebody has said so. `n`: the drawing's number.
    """

    whole: bool
    accepted: bool | None = None
    sent_back_for: str = ""
    n: int = 0


@dataclass(frozen=True)
class Evidence:
    """All that is known of one method on one square in one stage.

    `drawn` in the order made, for drawings; the covered and the needed fraction, 0 to 1, and
    whether frames wait to be accepted, for photographs.
    """

    wanted: bool = False
    said: Said | None = None
    exception: Excepted | None = None
    drawn: tuple[Drawn, ...] = ()
    covered_fraction: float = 0.0
    needed_fraction: float = 1.0
    frames_wait: bool = False

    @property
    def unchecked(self) -> tuple[int, ...]:
        """The numbers of the drawings that wait for a check."""
        return tuple(one.n for one in self.drawn if one.accepted is None)

    @property
    def waits(self) -> bool:
        return self.frames_wait or bool(self.unchecked)


def state_of(evidence: Evidence) -> State:
    if _is_done(evidence):
        return State.DONE
    if evidence.exception:
        return State.EXCEPTION
    if evidence.waits:
        return State.WAITING
    if evidence.drawn:
        return State.BEGUN if evidence.drawn[-1].accepted else State.SENT_BACK
    if evidence.covered_fraction > 0:
        return State.BEGUN
    if not evidence.wanted:
        return State.NOT_WANTED
    said_done = evidence.said is not None and evidence.said.outcome == Outcome.DONE
    return State.SAID_DONE if said_done else State.WANTED


def _is_done(evidence: Evidence) -> bool:
    if any(one.whole and one.accepted for one in evidence.drawn):
        return True
    covered = evidence.covered_fraction
    return covered > 0 and covered >= evidence.needed_fraction - COVERED_WITHIN


@dataclass(frozen=True)
class MethodState:
    """A method's state on a square, with the evidence that it was read from."""

    method: Method
    evidence: Evidence
    state: State

    @classmethod
    def read(cls, method: Method, evidence: Evidence) -> "MethodState":
        return cls(method, evidence, state_of(evidence))

    @property
    def is_missing(self) -> bool:
        return self.evidence.wanted and self.state not in (State.DONE, State.EXCEPTION)

    @property
    def waits(self) -> bool:
        """Something of it waits for somebody to look, whatever else stands or is excepted."""
        return self.evidence.waits

    @property
    def asks_the_lead(self) -> bool:
        """Divers could not do it, and nobody has decided whether that is accepted."""
        said = self.evidence.said
        return (
            self.is_missing
            and said is not None
            and said.outcome in (Outcome.NOTHING_VISIBLE, Outcome.NOT_REACHED)
        )

    @property
    def exception_words(self) -> str:
        """Why the square is not recorded by this method; empty where evidence or wish differ."""
        exception = self.evidence.exception
        return exception.kind if exception and self.state == State.EXCEPTION else ""

    @property
    def words(self) -> str:
        """How it stands, and what waits beside that."""
        if not self.waits:
            return self.words_but_waiting
        if self.state == State.WAITING:
            return self.waiting_words
        return _("%(stands)s, %(waits)s") % {
            "stands": self.words_but_waiting,
            "waits": self.waiting_words,
        }

    @property
    def waiting_words(self) -> str:
        if self.method != Method.DRAWING:
            return str(PHOTOGRAPH_WORDS[State.WAITING])
        unchecked = self.evidence.unchecked
        return ngettext(
            "drawing %(numbers)s waits for a check",
            "drawings %(numbers)s wait for a check",
            len(unchecked),
        ) % {"numbers": ", ".join(map(str, unchecked))}

    @property
    def words_but_waiting(self) -> str:
        words = DRAWING_WORDS if self.method == Method.DRAWING else PHOTOGRAPH_WORDS
        evidence = self.evidence
        return str(words[self.state]) % {
            "why": evidence.exception.kind if evidence.exception else "",
            "percent": whole_percent(evidence.covered_fraction),
            "fault": evidence.drawn[-1].sent_back_for if evidence.drawn else "",
        }

    @property
    def divers_words(self) -> str:
        """What the divers said, where it is more than the state tells; else empty."""
        said = self.evidence.said
        if said is None or not self.is_missing or self.state == State.SAID_DONE:
            return ""
        return _("divers: %(outcome)s (dive %(dive)s)") % {
            "outcome": Outcome(said.outcome).label,
            "dive": said.dive,
        }


def whole_percent(fraction: float) -> str:
    """Rounded down, so that no share is told as reached before it is (a hair of arithmetic is
    forgiven); a sliver is not told as 0."""
    percent = int(fraction * 100 + 1e-6)
    return localize(percent) if percent or fraction <= 0 else _("under 1")


DRAWING_WORDS = {
    State.NOT_WANTED: gettext_lazy("no drawing wanted"),
    State.WANTED: gettext_lazy("drawing wanted"),
    State.SAID_DONE: gettext_lazy("drawing wanted, said done by divers"),
    State.BEGUN: gettext_lazy("drawing begun"),
    State.WAITING: gettext_lazy("drawing waits for a check"),
    State.SENT_BACK: gettext_lazy("drawing sent back: %(fault)s"),
    State.DONE: gettext_lazy("drawn"),
    State.EXCEPTION: gettext_lazy("no drawing (%(why)s)"),
}
PHOTOGRAPH_WORDS = {
    State.NOT_WANTED: gettext_lazy("no photographs wanted"),
    State.WANTED: gettext_lazy("photographs wanted"),
    State.SAID_DONE: gettext_lazy("photographs wanted, said done by divers"),
    State.BEGUN: gettext_lazy("photographed %(percent)s %%"),
    State.WAITING: gettext_lazy("photographs wait to be accepted"),
    State.SENT_BACK: gettext_lazy("photographs sent back"),
    State.DONE: gettext_lazy("photographed"),
    State.EXCEPTION: gettext_lazy("no photographs (%(why)s)"),
}
