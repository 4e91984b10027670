"""What is still missing: counted, said in a sentence, and picked out square by square."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.models import Season, SquareException, Stage
from records.queries.card import exceptions_of
from records.queries.evidence import State
from records.queries.squares import SquareState, grids_of, stages_of, states_of


@dataclass(frozen=True)
class Filter:
    """A question that picks squares out: its key in the address and its words."""

    key: str
    words: str | Promise
    picks: Callable[[SquareState], bool]


FILTERS = (
    Filter("drawing", gettext_lazy("want a drawing only"), lambda one: one.missing == "drawing"),
    Filter(
        "photographs",
        gettext_lazy("want photographs only"),
        lambda one: one.missing == "photographs",
    ),
    Filter("both", gettext_lazy("want both"), lambda one: one.missing == "both"),
    Filter("said", gettext_lazy("said done by divers"), lambda one: one.is_said_done),
    Filter("check", gettext_lazy("with a drawing to check"), lambda one: one.drawing.waits),
    Filter("lead", gettext_lazy("ask the lead"), lambda one: one.asks_the_lead),
    Filter("look", gettext_lazy("for a second look"), lambda one: bool(one.second_look)),
    Filter("exceptions", gettext_lazy("with an exception"), lambda one: one.has_exception),
    Filter("recorded", gettext_lazy("recorded"), lambda one: one.is_recorded),
)
FILTER_OF = {one.key: one for one in FILTERS}


@dataclass(frozen=True)
class Counts:
    """Of squares in which anything is wanted; `recorded` + the three that miss + `excepted` is
    `wanted`. `excepted`: nothing is missing, but not all of it is there by evidence. `to_check`:
    of all squares those of which a drawing waits for a check, recorded and excepted ones too."""

    wanted: int
    recorded: int
    drawing: int
    photographs: int
    both: int
    excepted: int
    every_square_both_ways: bool
    to_check: int = 0

    @property
    def missing(self) -> int:
        return self.drawing + self.photographs + self.both

    @property
    def sentence(self) -> str:
        if not self.to_check:
            return self._of_wishes()
        waits = ngettext(
            "%(n)s square has a drawing that waits for a check.",
            "%(n)s squares have a drawing that waits for a check.",
            self.to_check,
        )
        return f"{self._of_wishes()} {waits % {'n': self.to_check}}"

    def _of_wishes(self) -> str:
        if not self.wanted:
            return _("Nothing is wanted of these squares yet.")
        if not self.missing:
            return _("Nothing is missing: %(recorded)s.") % {"recorded": self._recorded()}
        parts = [self._recorded(), self._missing()]
        return _("%(recorded)s; %(missing)s.") % dict(
            zip(("recorded", "missing"), parts, strict=True)
        )

    def _recorded(self) -> str:
        values = {"n": self.recorded, "all": self.wanted, "excepted": self.excepted}
        if not self.recorded and not self.excepted:
            words = ngettext(
                "The %(all)s square is not recorded yet",
                "None of %(all)s squares is recorded yet",
                self.wanted,
            )
            return words % values
        if self.every_square_both_ways:
            words = ngettext(
                "%(n)s of %(all)s square is recorded both ways",
                "%(n)s of %(all)s squares are recorded both ways",
                self.wanted,
            )
        else:
            words = ngettext(
                "%(n)s of %(all)s square is recorded as wanted",
                "%(n)s of %(all)s squares are recorded as wanted",
                self.wanted,
            )
        if self.excepted:
            words += ngettext(
                ", %(excepted)s is excepted", ", %(excepted)s are excepted", self.excepted
            )
        return words % values

    def _missing(self) -> str:
        if self.drawing and self.photographs and self.both:
            return ngettext(
                "%(drawing)s wants a drawing, %(photographs)s photographs, %(both)s both",
                "%(drawing)s want a drawing, %(photographs)s photographs, %(both)s both",
                self.drawing,
            ) % {"drawing": self.drawing, "photographs": self.photographs, "both": self.both}
        words = [
            ngettext("%(n)s wants a drawing", "%(n)s want a drawing", self.drawing)
            % {"n": self.drawing},
            ngettext("%(n)s wants photographs", "%(n)s want photographs", self.photographs)
            % {"n": self.photographs},
            ngettext("%(n)s wants both", "%(n)s want both", self.both) % {"n": self.both},
        ]
        counts = (self.drawing, self.photographs, self.both)
        return ", ".join(one for one, n in zip(words, counts, strict=True) if n)


def count(states: list[SquareState]) -> Counts:
    wanted = [one for one in states if one.is_wanted]
    missing = Counter(one.missing for one in wanted)
    recorded = sum(one.is_recorded for one in wanted)
    return Counts(
        wanted=len(wanted),
        recorded=recorded,
        drawing=missing["drawing"],
        photographs=missing["photographs"],
        both=missing["both"],
        excepted=missing[""] - recorded,
        every_square_both_ways=all(
            method.evidence.wanted for one in wanted for method in one.methods
        ),
        to_check=sum(one.drawing.waits for one in states),
    )


@dataclass(frozen=True)
class Group:
    """Squares that want the same; of some there is more to tell."""

    words: str
    squares: list[SquareState]

    @property
    def said_drawn(self) -> list[SquareState]:
        return [one for one in self.squares if one.drawing.state == State.SAID_DONE]

    @property
    def said_photographed(self) -> list[SquareState]:
        return [one for one in self.squares if one.photographs.state == State.SAID_DONE]

    @property
    def with_remarks(self) -> list[SquareState]:
        plain = (State.WANTED, State.SAID_DONE, State.NOT_WANTED)
        return [
            one
            for one in self.squares
            if any(method.divers_words or method.state not in plain for method in one.methods)
        ]


@dataclass(frozen=True)
class Excepted:
    square: SquareState
    exception: SquareException


@dataclass(frozen=True)
class Report:
    """Squares by what they want; drawings to check, exceptions, and drawings that disagree, told
    apart."""

    groups: list[Group]
    to_check: list[SquareState]
    exceptions: list[Excepted]
    second_looks: list[SquareState]


def report_of(states: list[SquareState]) -> Report:
    words = {
        "drawing": _("Want a drawing only"),
        "photographs": _("Want photographs only"),
        "both": _("Want a drawing and photographs"),
    }
    by_goal = {one.goal.pk: one for one in states if one.goal}
    return Report(
        [Group(words[key], [one for one in states if one.missing == key]) for key in words],
        [one for one in states if one.drawing.waits],
        [Excepted(by_goal[one.goal_id], one) for one in exceptions_of(states)],
        [one for one in states if one.second_look],
    )


@dataclass(frozen=True)
class StageCounted:
    stage: Stage
    counts: Counts
    open_for: int


def stages_counted(season: Season) -> list[StageCounted]:
    """What each stage wants over all grids; a stage is open for the squares that have a goal."""
    grids = grids_of(season.site)
    counted = []
    for stage in stages_of(season):
        states = states_of(season, grids, stage)
        counted.append(
            StageCounted(stage, count(states), sum(one.goal is not None for one in states))
        )
    return counted
