"""How well drawings agree with photographs: which comparisons count, and of which squares they say
that somebody should look again.

They are taken pair by pair, a drawing and a photograph of it. A square wants a second look where
*any* that counts is beyond the limit: another photograph that agrees does not make up for one that
does not, until that one is placed anew or left out, the two are compared once more, or the drawing
is sent back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import (
    Comparison,
    Drawing,
    DrawnSquare,
    FrameOnSquare,
    Photograph,
    Season,
    Square,
    Stage,
    Verdict,
)
from records.queries.checks import of_latest_check
from records.queries.compared import Compared, compared
from records.queries.pictures import pictures_for
from records.queries.underlays import drawn_over_it, photographs_under

Surface = tuple[UUID, UUID]  # a square and a stage
BEYOND = Q(rms_m__gt=F("drawn_square__drawing__season__disagreement_limit_mm") / 1000.0)


def that_hold() -> QuerySet[Comparison]:
    """Standing ones of drawings and photographs that stand and are placed as they were then."""
    made: QuerySet[Comparison] = Comparison.objects.standing().filter(
        drawn_square__voided_at=None,
        drawn_square__drawing__voided_at=None,
        frame__is_kept=True,
        frame__photograph__voided_at=None,
        drawing_placement=F("drawn_square__placement"),
        photo_placement=F("frame__placement"),
    )
    return made.order_by("made_at", "pk")


def that_count() -> QuerySet[Comparison]:
    """Those that hold and say whether a drawing agrees with a photograph, pair by pair.

    Of each pair the latest that can judge counts, and after it any that cannot (too few features,
    or all at one place, or the drawing was made on a print of that very photograph) but is beyond
    the season's limit: these may mark a square, they cannot lift the mark. What marks it stays
    until more features are compared, or it is voided.
    None of a drawing that was sent back: it is drawn again anyway.
    """
    same_two = that_hold().filter(drawn_square=OuterRef("drawn_square"), frame=OuterRef("frame"))
    later = Q(made_at__gt=OuterRef("made_at")) | Q(
        made_at=OuterRef("made_at"), pk__gt=OuterRef("pk")
    )
    overruled = Exists(same_two.filter(later, _can_judge()))
    return that_hold().filter(_can_judge() | BEYOND, ~overruled, ~Exists(_sent_back()))


def _can_judge() -> Q:
    return Q(can_judge=True) & ~drawn_over_it()


def _sent_back() -> QuerySet[DrawnSquare]:
    """The drawn square of a comparison, where its latest check wants it drawn again."""
    drawn: QuerySet[DrawnSquare] = DrawnSquare.objects.filter(pk=OuterRef("drawn_square"))
    return drawn.annotate(verdict=of_latest_check("verdict")).filter(verdict=Verdict.REDO)


def comparisons_seen(season: Season, *, may_lead: bool) -> QuerySet[Comparison]:
    """The void ones too, the latest first, each with what `standing_of` reads; none of pictures
    that are for leads only."""
    seen = pictures_for(season, may_lead=may_lead).values("pk")
    made: QuerySet[Comparison] = Comparison.objects.filter(
        drawn_square__drawing__season=season,
        drawn_square__drawing__picture__in=seen,
        frame__photograph__picture__in=seen,
    )
    return (
        made.select_related(
            "drawn_square__drawing__season",
            "drawn_square__square__grid",
            "drawn_square__stage",
            "frame__photograph__season",
            "made_by",
        )
        .annotate(
            counts=Exists(that_count().filter(pk=OuterRef("pk"))),
            is_sent_back=Exists(_sent_back()),
            is_over_it=drawn_over_it(),
        )
        .order_by("-made_at", "-pk")
    )


def rests_on(comparison: Comparison) -> bool:
    """Whether the second look at its square rests on it as well; of `comparisons_seen`."""
    return bool(comparison.counts and _is_beyond(comparison))  # type: ignore[attr-defined]


def _is_beyond(comparison: Comparison) -> bool:
    limit_mm: float = comparison.season.disagreement_limit_mm
    return comparison.rms_m > limit_mm / 1000.0


def standing_of(comparison: Comparison) -> str:
    """Whether it counts, and if not, why; of `comparisons_seen`."""
    drawn, frame = comparison.drawn_square, comparison.frame
    if comparison.is_voided:
        return _("void")
    if comparison.counts:  # type: ignore[attr-defined]
        return _("counts")
    if drawn.is_voided or drawn.drawing.is_voided:
        return _("drawing void")
    if not frame.is_kept or frame.photograph.is_voided:
        return _("photograph left out")
    if comparison.is_of_earlier_placement:
        return _("of an earlier placement")
    if comparison.is_sent_back:  # type: ignore[attr-defined]
        return _("drawing sent back")
    if comparison.is_over_it and not _is_beyond(comparison):  # type: ignore[attr-defined]
        return _("drawn over this photograph")
    if not comparison.can_judge and not _is_beyond(comparison):
        return _("too few features to judge")
    return _("a later one counts")


@dataclass(frozen=True)
class SquareAgreement:
    """What is known of a square in a stage. `shown`: the comparison that is told in full;
    `look`: those that the second look rests on, the worst first; `sentence`: all together;
    `over`: of the photographs that are shown, those on whose print this drawing was made."""

    shown: Compared | None
    shown_stands: str
    others: list[tuple[Comparison, str]]
    look: list[Comparison]
    sentence: str
    over: list[Photograph]


def agreement_on(
    made: list[Comparison],
    drawn: DrawnSquare | None,
    frames: list[FrameOnSquare],
    limit_mm: float,
    *,
    wants_look: bool,
) -> SquareAgreement:
    """Shown, of the drawing and the frames that are shown: what the second look rests on, else
    the latest that holds, else none.

    `wants_look`: by all comparisons, those of pictures too that the asker may not see."""
    frame_ids = {one.frame_id for one in frames}
    of_these = [
        one
        for one in made
        if drawn is not None
        and one.drawn_square_id == drawn.pk
        and one.frame_id in frame_ids
        and not one.is_voided
        and not one.is_of_earlier_placement
    ]
    counting = [one for one in made if one.counts]  # type: ignore[attr-defined]
    look = sorted((one for one in counting if rests_on(one)), key=lambda one: -one.rms_m)
    shown = next((one for one in [*look, *of_these] if one in of_these), None)
    return SquareAgreement(
        shown=compared(shown, drawn.square, limit_mm) if shown and drawn else None,
        shown_stands=standing_of(shown) if shown else "",
        others=[(one, standing_of(one)) for one in made if one != shown],
        look=look,
        sentence=_together(counting, look, limit_mm, wants_look),
        over=_made_over(drawn, frames),
    )


def _made_over(drawn: DrawnSquare | None, frames: list[FrameOnSquare]) -> list[Photograph]:
    if drawn is None or not frames:
        return []
    shown = {one.frame.photograph_id for one in frames}
    under = photographs_under(drawn.drawing, may_lead=True)
    return [one for one in under if one.pk in shown]


def _together(
    counting: Sequence[Comparison], look: Sequence[Comparison], limit_mm: float, wants_look: bool
) -> str:
    """Empty where no comparison counts."""
    values = {"n": len(counting), "look": len(look), "limit": f"{limit_mm:g}"}
    if look:
        words = ngettext(
            "Beyond the limit of %(limit)s mm: the %(n)s comparison that counts in this stage. The "
            "second look rests on:",
            "Beyond the limit of %(limit)s mm: %(look)s of %(n)s comparisons that count in this "
            "stage. The second look rests on:",
            len(counting),
        )
        return words % values
    if wants_look:
        return _("The second look rests on a comparison with a picture that only leads see.")
    if not counting:
        return ""
    words = ngettext(
        "%(n)s comparison counts in this stage, within the limit of %(limit)s mm.",
        "%(n)s comparisons count in this stage, all within the limit of %(limit)s mm.",
        len(counting),
    )
    return words % values


def worst_of(drawn: DrawnSquare) -> Compared | None:
    """Of the comparisons that count of one drawn square, the one that differs most."""
    made = that_count().filter(drawn_square=drawn).select_related("frame__photograph")
    made = made.annotate(is_over_it=drawn_over_it())
    worst = made.order_by("rms_m").last()
    limit_mm = drawn.drawing.season.disagreement_limit_mm
    return compared(worst, drawn.square, limit_mm) if worst else None


def disagreeing(season: Season | None, squares: QuerySet[Square]) -> dict[Surface, float]:
    """By square and stage: the largest root mean square offset, m, of the comparisons that count
    and are beyond their season's limit. With None in all seasons."""
    made = that_count().filter(BEYOND, drawn_square__square__in=squares)
    if season is not None:
        made = made.filter(drawn_square__drawing__season=season)
    rows = made.values_list("drawn_square__square", "drawn_square__stage", "rms_m")
    return {(square, stage): rms_m for square, stage, rms_m in rows.order_by("rms_m")}


@dataclass(frozen=True)
class SecondLook:
    """A square whose drawing and photograph differ too much, by the worst comparison of it."""

    comparison: Comparison
    square: Square

    @property
    def stage(self) -> Stage:
        return self.comparison.drawn_square.stage

    @property
    def drawing(self) -> Drawing:
        return self.comparison.drawn_square.drawing

    @property
    def photograph(self) -> Photograph:
        return self.comparison.frame.photograph

    @property
    def mm(self) -> int:
        return self.comparison.rms_mm


def second_looks(season: Season) -> list[SecondLook]:
    """A line a square and stage, the worst first."""
    squares = Square.objects.standing().filter(grid__site=season.site_id)
    beyond = that_count().filter(
        BEYOND, drawn_square__square__in=squares, drawn_square__drawing__season=season
    )
    beyond = beyond.select_related(
        "drawn_square__drawing__season", "drawn_square__stage", "frame__photograph__season"
    )
    worst: dict[Surface, Comparison] = {}
    for one in beyond.order_by("-rms_m", "pk"):
        worst.setdefault((one.drawn_square.square_id, one.drawn_square.stage_id), one)
    labelled = Square.objects.labelled().in_bulk([square for square, _stage in worst])
    return [SecondLook(one, labelled[square]) for (square, _stage), one in worst.items()]
