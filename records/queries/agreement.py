"""How well drawings agree with photographs: of one square in full, of many where they do not."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import Comparison, DrawnSquare, FrameOnSquare, Season, Square, Stage
from records.queries.pictures import pictures_for
from records.refusals import in_words

Surface = tuple[UUID, UUID]  # a square and a stage
BEYOND = Q(rms_m__gt=F("drawn_square__drawing__season__disagreement_limit_mm") / 1000.0)


def comparisons_seen(season: Season, *, may_lead: bool) -> QuerySet[Comparison]:
    """The void ones too, the latest first; none of pictures that are for leads only."""
    seen = pictures_for(season, may_lead=may_lead).values("pk")
    made: QuerySet[Comparison] = Comparison.objects.filter(
        drawn_square__drawing__season=season,
        drawn_square__drawing__picture__in=seen,
        frame__photograph__picture__in=seen,
    )
    return made.select_related(
        "drawn_square__drawing__season",
        "drawn_square__square__grid",
        "drawn_square__stage",
        "frame__photograph__season",
        "made_by",
    ).order_by("-made_at", "-pk")


@dataclass(frozen=True)
class SquareAgreement:
    """What is known of a square in a stage: the comparison that is shown in full, the others."""

    shown: "Compared | None"
    others: list[Comparison]


def agreement_on(
    made: list[Comparison], drawn: DrawnSquare | None, frames: list[FrameOnSquare], limit_mm: float
) -> SquareAgreement:
    """Shown: the latest that holds of the drawing and the frames that are shown, else none."""
    frame_ids = {one.frame_id for one in frames}
    shown = next(
        (
            one
            for one in made
            if drawn is not None
            and one.drawn_square_id == drawn.pk
            and one.frame_id in frame_ids
            and not one.is_voided
            and not one.is_of_earlier_placement
        ),
        None,
    )
    full = compared(shown, drawn.square, limit_mm) if shown and drawn else None
    return SquareAgreement(full, [one for one in made if one != shown])


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
    or all at one place) but is beyond the season's limit: a few features may mark a square, they
    cannot lift the mark. What marks it stays until more features are compared, or it is voided.
    """
    same_two = that_hold().filter(drawn_square=OuterRef("drawn_square"), frame=OuterRef("frame"))
    later = Q(made_at__gt=OuterRef("made_at")) | Q(
        made_at=OuterRef("made_at"), pk__gt=OuterRef("pk")
    )
    overruled = Exists(same_two.filter(later, can_judge=True))
    return that_hold().filter(Q(can_judge=True) | BEYOND, ~overruled)


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
    """A square whose drawing and photograph differ too much."""

    square: Square
    stage: Stage
    rms_m: float

    @property
    def mm(self) -> int:
        return round(self.rms_m * 1000)


def second_looks(season: Season) -> list[SecondLook]:
    """The worst first."""
    found = disagreeing(season, Square.objects.standing().filter(grid__site=season.site_id))
    squares = Square.objects.labelled().in_bulk([square for square, _stage in found])
    stages = Stage.objects.in_bulk([stage for _square, stage in found])
    looks = [SecondLook(squares[at[0]], stages[at[1]], rms_m) for at, rms_m in found.items()]
    return sorted(looks, key=lambda one: -one.rms_m)


@dataclass(frozen=True)
class FeatureRow:
    """One feature of a comparison: offsets in its square, m, and how far off, mm."""

    n: int
    drawn: str
    seen: str
    dx_mm: str
    dy_mm: str
    off_mm: str
    left_mm: str


@dataclass(frozen=True)
class Compared:
    """A comparison as the page tells it."""

    comparison: Comparison
    sentence: str
    mean: str
    rms_mm: str
    fit: str
    rows: list[FeatureRow]


def compared(comparison: Comparison, square: Square, limit_mm: float) -> Compared:
    found = comparison.agreement
    told = comparison.judged(limit_mm)
    mean_x, mean_y = (one * 1000 for one in found.mean_m.tolist())
    return Compared(
        comparison=comparison,
        sentence=in_words(told),
        mean=_("x %(x)s mm, y %(y)s mm") % {"x": _signed(mean_x), "y": _signed(mean_y)},
        rms_mm=f"{found.rms_m * 1000:.1f}",
        fit=_fit(comparison),
        rows=list(_rows(comparison, square)),
    )


def _fit(comparison: Comparison) -> str:
    best, why_not = comparison.best, comparison.why_no_best
    if why_not is not None or best is None:
        return in_words(why_not) if why_not else ""
    named = [in_words(one) for one in comparison.causes]
    words = ngettext(
        "After the best shift, turn and scale the %(n)s feature still lies %(left)s mm apart "
        "(root mean square over %(freedom)s degrees of freedom).",
        "After the best shift, turn and scale the %(n)s features still lie %(left)s mm apart "
        "(root mean square over %(freedom)s degrees of freedom).",
        len(best.residuals_m),
    ) % {
        "left": f"{best.left_m * 1000:.1f}",
        "n": len(best.residuals_m),
        "freedom": best.degrees_of_freedom,
    }
    if not named:
        return words + " " + _("None of the three is more than chance.")
    return words + " " + _("To fit, the drawing is %(how)s.") % {"how": ", ".join(named)}


def _rows(comparison: Comparison, square: Square) -> Iterable[FeatureRow]:
    found, best = comparison.agreement, comparison.best
    side_m = square.grid.side_m
    x_0, y_0 = square.column * side_m, square.row * side_m
    for i, (x_d, y_d, x_p, y_p) in enumerate(comparison.points_m):
        dx, dy = (found.offsets_m[i] * 1000).tolist()
        left = ""
        if best is not None:
            v_x, v_y = best.residuals_m[i].tolist()
            left = f"{(v_x**2 + v_y**2) ** 0.5 * 1000:.1f}"
        yield FeatureRow(
            n=i + 1,
            drawn=f"{x_d - x_0:.3f} / {y_d - y_0:.3f}",
            seen=f"{x_p - x_0:.3f} / {y_p - y_0:.3f}",
            dx_mm=_signed(dx),
            dy_mm=_signed(dy),
            off_mm=f"{found.distances_m[i] * 1000:.1f}",
            left_mm=left,
        )


def _signed(mm: float) -> str:
    return f"{mm:+.1f}".replace("-", "\u2212")
