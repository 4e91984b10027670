"""What was done about a square in a stage, in the order in which it was done, by whom and when."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from typing import Any
from uuid import UUID

from django.db.models import Prefetch
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import (
    IN_THE_WATER,
    Comparison,
    Dive,
    DiveMember,
    Diver,
    DiveTask,
    Drawing,
    DrawingCheck,
    DrawnSquare,
    Find,
    FrameOnSquare,
    Membership,
    Photograph,
    PhotoKind,
    RedoReason,
    Season,
    SquareException,
    SquareGoal,
    Verdict,
)
from records.queries.agreement import standing_of
from records.queries.evidence import whole_percent
from records.queries.extents import extents_said
from records.queries.squares import SquareState


@dataclass(frozen=True)
class Event:
    """What was done, and the records that it is about."""

    at: datetime.datetime
    words: str
    who: str
    note: str = ""
    dive: Dive | None = None
    drawing: Drawing | None = None
    photograph: Photograph | None = None
    find: Find | None = None
    is_void: bool = False


class Names:
    """Who made a record, by name, and who dived, by initials; to readers nobody is named."""

    def __init__(self, season: Season, *, are_seen: bool) -> None:
        members = Membership.objects.filter(site=season.site_id).select_related("account")
        self.are_seen = are_seen
        self.of: dict[UUID, str] = (
            {one.account_id: one.account.name for one in members} if are_seen else {}
        )

    def by(self, record: Any) -> str:
        return self.of.get(record.made_by_id, "")

    def of_account(self, key: UUID | None) -> str:
        return self.of.get(key, "") if key else ""

    def divers(self, *divers: Diver | None) -> str:
        """The initials of those that there are."""
        return ", ".join(one.initials for one in divers if one is not None and self.are_seen)


@dataclass(frozen=True)
class Evidence:
    """What the log is told from; `checks` of the `drawn`."""

    state: SquareState
    drawn: list[DrawnSquare]
    frames: list[FrameOnSquare]
    tasks: list[DiveTask]
    checks: list[DrawingCheck]
    exceptions: list[SquareException]
    photographs: list[Photograph]
    finds: list[Find]
    comparisons: list[Comparison]


def tasks_on(state: SquareState, season: Season) -> list[DiveTask]:
    wet = DiveMember.objects.filter(role__in=IN_THE_WATER).select_related("diver")
    return list(
        DiveTask.objects.standing()
        .filter(square=state.id, stage=state.stage, dive__season=season, dive__voided_at=None)
        .select_related("dive__season")
        .prefetch_related(Prefetch("dive__members", wet, to_attr="wet"))
        .order_by("dive__left_surface_at", "made_at")
    )


def checks_of(drawn: list[DrawnSquare]) -> list[DrawingCheck]:
    checks = DrawingCheck.objects.standing().filter(drawn_square__in=drawn)
    return list(checks.select_related("drawn_square__drawing"))


def exceptions_of(goal: SquareGoal | None) -> list[SquareException]:
    return list(SquareException.objects.filter(goal=goal)) if goal else []


def photographs_of(state: SquareState, season: Season, seen: Any) -> list[Photograph]:
    """Single ones that name the square; frames are told by their card."""
    return list(
        Photograph.objects.standing()
        .filter(square=state.id, season=season, picture__in=seen)
        .filter(stage__in=[state.stage] if state.stage else [])
        .exclude(kind=PhotoKind.FRAME)
        .select_related("picture__file", "dive__season", "photographer", "season")
    )


def log_of(evidence: Evidence, names: Names) -> list[Event]:
    """The oldest first."""
    told = [
        *_goal(evidence.state.goal, names),
        *_tasks(evidence.tasks, names),
        *_drawn(evidence.drawn, names),
        *_checks(evidence.checks, names),
        *_compared(evidence.comparisons, names),
        *_exceptions(evidence.exceptions, names),
        *_cards(evidence.frames, names),
        *_placed(evidence.frames, names),
        *_photographs(evidence.photographs, names),
        *_finds(evidence.finds, names),
    ]
    return sorted(told, key=attrgetter("at"))


def _goal(goal: SquareGoal | None, names: Names) -> Iterator[Event]:
    if goal is None:
        return
    words = {
        (True, True): _("A drawing and photographs are wanted"),
        (True, False): _("A drawing is wanted"),
        (False, True): _("Photographs are wanted"),
        (False, False): _("Nothing is wanted any more"),
    }
    yield Event(goal.made_at, words[goal.drawing_wanted, goal.photographs_wanted], names.by(goal))


def _tasks(tasks: Iterable[Any], names: Names) -> Iterator[Event]:
    for task in tasks:
        said = {"method": task.get_method_display(), "outcome": task.get_outcome_display()}
        words = _("%(method)s: %(outcome)s") % said
        if task.minutes:
            minutes = _("%(n)s min") % {"n": task.minutes}
            words = f"{words}, {minutes}"
        team = names.divers(*(member.diver for member in task.dive.wet))
        yield Event(task.dive.left_surface_at, words, team, dive=task.dive)


def _drawn(drawn: list[DrawnSquare], names: Names) -> Iterator[Event]:
    said = extents_said(drawn)
    for one in drawn:
        drawing, n = one.drawing, {"n": one.drawing.n}
        first, *later = said[one.pk]
        words = _("Drawing %(n)s came in, %(extent)s") if first.now else _("Drawing %(n)s came in")
        by = names.divers(drawing.drawn_by)
        note = _("drawn by %(initials)s") % {"initials": by} if by else ""
        told: dict[str, Any] = {
            "dive": drawing.dive,
            "drawing": drawing,
            "is_void": one.is_voided or drawing.is_voided,
        }
        yield Event(one.made_at, words % (n | {"extent": first.now}), names.by(one), note, **told)
        for change in later:
            words = _("Said of drawing %(n)s: %(extent)s") % (n | {"extent": change.now})
            yield Event(change.at, words, names.of_account(change.by), **told)


def _checks(checks: Iterable[DrawingCheck], names: Names) -> Iterator[Event]:
    for check in checks:
        said = {"n": check.drawn_square.drawing.n}
        if check.verdict == Verdict.ACCEPTED:
            yield Event(check.made_at, _("Drawing %(n)s accepted") % said, names.by(check))
            continue
        words = _("Drawing %(n)s sent back") % said
        why = check.words or str(RedoReason(check.why).label)
        yield Event(check.made_at, words, names.by(check), why)


def _compared(comparisons: Iterable[Comparison], names: Names) -> Iterator[Event]:
    for one in comparisons:
        said = {
            "drawing": one.drawn_square.drawing.n,
            "photo": one.frame.photograph.n,
            "mm": one.rms_mm,
        }
        words = _("Drawing %(drawing)s compared with photograph %(photo)s: %(mm)s mm apart") % said
        note = "" if one.is_voided or one.counts else standing_of(one)  # type: ignore[attr-defined]
        yield Event(one.made_at, words, names.by(one), note, is_void=one.is_voided)


def _exceptions(exceptions: Iterable[SquareException], names: Names) -> Iterator[Event]:
    for one in exceptions:
        said = {"method": one.get_method_display(), "kind": one.get_kind_display()}
        words = _("Exception accepted, %(method)s: %(kind)s") % said
        yield Event(one.made_at, words, names.by(one), one.reason, is_void=one.is_voided)


def _cards(frames: Iterable[FrameOnSquare], names: Names) -> Iterator[Event]:
    """The tower frames of one card together."""
    card_of = attrgetter("frame.card_id")
    of_cards = [one for one in frames if one.frame.card_id is not None]
    in_order = sorted(of_cards, key=lambda one: (str(card_of(one)), one.frame.photograph.n))
    for _card, group in groupby(in_order, card_of):
        on_square = list(group)
        numbers = [str(one.frame.photograph.n) for one in on_square]
        words = ngettext(
            "%(n)s frame accepted that touches the square",
            "%(n)s frames accepted that touch the square",
            len(on_square),
        ) % {"n": len(on_square)}
        first = min(on_square, key=attrgetter("frame.made_at")).frame
        note = _("photographs %(numbers)s") % {"numbers": ", ".join(numbers)}
        yield Event(first.made_at, words, names.by(first), note, first.photograph.dive)


def _placed(frames: Iterable[FrameOnSquare], names: Names) -> Iterator[Event]:
    """Photographs that are no tower frames, placed by known points."""
    for one in frames:
        if one.frame.card_id is None:
            photograph = one.frame.photograph
            said = {"n": photograph.n, "share": whole_percent(one.fraction)}
            words = _("Photograph %(n)s placed by known points: it covers %(share)s %%") % said
            yield Event(one.made_at, words, names.by(one), "", photograph.dive)


def _photographs(photographs: Iterable[Photograph], names: Names) -> Iterator[Event]:
    for one in photographs:
        said = {"n": one.n, "kind": one.get_kind_display()}
        words = _("Photograph %(n)s, %(kind)s") % said
        who = names.divers(one.photographer) or names.by(one)
        yield Event(one.made_at, words, who, one.subject, one.dive, photograph=one)


def _finds(finds: Iterable[Any], names: Names) -> Iterator[Event]:
    for find in finds:
        said = {
            "n": find.n,
            "name": find.object_name,
            "whereabouts": find.get_whereabouts_display(),
        }
        words = _("Find %(n)s, %(name)s, %(whereabouts)s") % said
        note = "" if find.fix else _("without a position yet")
        who = names.divers(find.found_by) or names.by(find)
        yield Event(find.made_at, words, who, note, find=find)
