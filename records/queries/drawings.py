"""Drawings as pages ask for them: each with its squares, and how these stand."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, QuerySet
from django.utils.translation import gettext as _

from records.models import (
    Drawing,
    DrawnSquare,
    Extent,
    RedoReason,
    Season,
    Square,
    Verdict,
)
from records.queries.checks import of_latest_check
from records.queries.drawing_marks import fit_words
from records.queries.pictures import pictures_for
from records.queries.square_words import squares_meant
from records.refusals import Refused

WAITING, SENT_BACK, UNMARKED = "waiting", "sent_back", "unmarked"


def drawings_for(season: Season, *, may_lead: bool) -> QuerySet[Drawing]:
    """The season's drawings, the void ones too; pictures of restricted finds are for leads."""
    seen = pictures_for(season, may_lead=may_lead)
    return Drawing.objects.filter(season=season, picture__in=seen.values("pk")).select_related(
        "season__site", "picture__file", "dive__season", "drawn_by", "inked_from__season", "made_by"
    )


def drawn_squares(season: Season, *, may_lead: bool) -> Any:
    """Standing drawn squares with their latest check, and whether a later sheet shows the same."""
    seen = drawings_for(season, may_lead=may_lead).filter(voided_at=None)
    standing = DrawnSquare.objects.standing().filter(drawing__voided_at=None)
    later = standing.filter(
        square=OuterRef("square"), stage=OuterRef("stage"), made_at__gt=OuterRef("made_at")
    )
    return (
        standing.filter(drawing__in=seen.values("pk"))
        .select_related("drawing__season", "stage", "placement")
        .prefetch_related(Prefetch("square", Square.objects.labelled()))
        .annotate(
            verdict=of_latest_check("verdict"),
            why=of_latest_check("why"),
            fault=of_latest_check("words"),
            is_followed=Exists(later),
        )
        .order_by("made_at", "pk")
    )


@dataclass(frozen=True)
class SquareShown:
    """One square of a sheet, and how it stands."""

    drawn: DrawnSquare
    label: str
    words: str
    waits: bool
    is_accepted: bool
    needs_redoing: bool

    @property
    def fit(self) -> str:
        return fit_words(self.drawn.placement)

    @classmethod
    def of(cls, drawn: Any) -> "SquareShown":
        accepted, redo = (drawn.verdict == one for one in (Verdict.ACCEPTED, Verdict.REDO))
        return cls(
            drawn=drawn,
            label=drawn.square.label,
            words=_words(drawn),
            waits=drawn.verdict is None,
            is_accepted=accepted,
            needs_redoing=redo and not drawn.is_followed,
        )


def _words(drawn: Any) -> str:
    if drawn.verdict is None:
        return _("waits for a check")
    if drawn.verdict == Verdict.ACCEPTED:
        return _("accepted: a part of it") if drawn.extent == Extent.PART else _("accepted")
    why = drawn.fault if drawn.why == RedoReason.OTHER else RedoReason(drawn.why).label
    if drawn.is_followed:
        return _("sent back: %(why)s; drawn again since") % {"why": why}
    return _("sent back: %(why)s") % {"why": why}


@dataclass(frozen=True)
class DrawingShown:
    """A drawing with its squares; `unmarked`: named when it came in, corners not marked yet."""

    drawing: Drawing
    squares: list[SquareShown] = field(default_factory=list)
    unmarked: list[str] = field(default_factory=list)

    @property
    def unsaid(self) -> list[str]:
        """Those that wait and of which nobody has said how much is drawn."""
        return [one.label for one in self.squares if one.waits and not one.drawn.extent]

    @property
    def stands(self) -> set[str]:
        """Under which of the page's questions it falls."""
        if self.drawing.is_voided:
            return set()
        said = {
            WAITING: any(one.waits for one in self.squares),
            SENT_BACK: any(one.needs_redoing for one in self.squares),
            UNMARKED: bool(self.unmarked),
        }
        return {key for key, is_so in said.items() if is_so}


def drawings_shown(season: Season, *, may_lead: bool) -> list[DrawingShown]:
    """All drawings of the season, the latest first."""
    drawings = drawings_for(season, may_lead=may_lead).order_by("-made_at", "-n")
    by_drawing: dict[UUID, list[SquareShown]] = {}
    for drawn in drawn_squares(season, may_lead=may_lead):
        by_drawing.setdefault(drawn.drawing_id, []).append(SquareShown.of(drawn))
    codes = set(season.site.grids.values_list("code", flat=True))
    return [shown_with(one, by_drawing.get(one.pk, []), codes) for one in drawings]


def shown_with(drawing: Drawing, squares: list[SquareShown], codes: set[str]) -> DrawingShown:
    marked = {one.label for one in squares}
    named = () if drawing.is_voided else _labels(drawing.squares_on_sheet, codes)
    return DrawingShown(drawing, squares, [one for one in named if one not in marked])


def drawing_shown(drawing: Drawing, *, may_lead: bool) -> DrawingShown:
    of_this = drawn_squares(drawing.season, may_lead=may_lead).filter(drawing=drawing)
    codes = set(drawing.season.site.grids.values_list("code", flat=True))
    return shown_with(drawing, [SquareShown.of(one) for one in of_this], codes)


def _labels(text: str, codes: set[str]) -> list[str]:
    """The labels that `told_squares` wrote: "bow K7 L7" is bow K7 and bow L7."""
    labels, code = [], ""
    for word in text.split():
        if word in codes:
            code = f"{word} "
        else:
            labels.append(f"{code}{word}")
    return labels


def next_to_mark(shown: DrawingShown) -> Square | None:
    """The first square named on the sheet whose corners nobody has marked."""
    for label in shown.unmarked:
        try:
            return squares_meant(shown.drawing.season.site, label)[0]
        except Refused:  # taken out of the grid since
            continue
    return None


def next_to_check(season: Season, *, may_lead: bool, after: UUID | None = None) -> Any:
    """The drawn square that has waited longest; with `after`, the one behind it in the queue."""
    waiting = list(drawn_squares(season, may_lead=may_lead).filter(verdict=None))
    keys = [one.pk for one in waiting]
    behind = keys.index(after) + 1 if after in keys else 0
    rest = [*waiting[behind:], *waiting[:behind]]
    return next((one for one in rest if one.pk != after), None)


def count_of(shown: Iterable[DrawingShown], stand: str) -> int:
    """How many sheets."""
    return sum(stand in one.stands for one in shown)


def squares_waiting(shown: Iterable[DrawingShown]) -> int:
    """How many drawn squares wait for a check: a sheet may hold several, each checked alone."""
    return sum(square.waits for one in shown if not one.drawing.is_voided for square in one.squares)
