"""One comparison as its page tells it: a sentence, what a shift, turn and scale leave, a table."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from records.models import Comparison, Square
from records.refusals import in_words


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
    is_askew: bool
    is_beyond: bool
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
        is_askew=told.code.startswith("askew"),
        is_beyond=found.rms_m * 1000 > limit_mm,
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
    words = _(
        "After the best shift, turn and scale the %(n)s features still lie %(left)s mm apart: the "
        "root of Σ(left then)² ÷ (%(n)s − 2), since the fit takes the freedom of two features."
    ) % {"left": f"{best.left_m * 1000:.1f}", "n": len(best.residuals_m)}
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
            drawn=_at(x_d - x_0, y_d - y_0),
            seen=_at(x_p - x_0, y_p - y_0),
            dx_mm=_signed(dx),
            dy_mm=_signed(dy),
            off_mm=f"{found.distances_m[i] * 1000:.1f}",
            left_mm=left,
        )


def _at(x_m: float, y_m: float) -> str:
    return f"{x_m:.3f}\u00a0/\u00a0{y_m:.3f}".replace("-", "\u2212")


def _signed(mm: float) -> str:
    return f"{mm:+.1f}".replace("-", "\u2212")
