"""What a drawn square is checked against: its photograph under it, its neighbours around it."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from records.intake.windows import GridWindow, PieceOf
from records.models import DrawingCheck, DrawnSquare, Season, Verdict
from records.queries.agreement import worst_of
from records.queries.changes import Change, changes_since
from records.queries.compared import Compared
from records.queries.drawings import drawn_squares
from records.queries.edges import Edges, edges_of
from records.queries.pictures import pictures_for
from records.queries.square_panes import frames_on, photo_pane
from records.queries.windows import why_undrawn
from records.refusals import Stale

MARGIN = 0.1  # of the square's side, so that its edge and corner marks are seen


@dataclass(frozen=True)
class Against:
    """`drawing` and `photographs` show the same part of the grid, pixel by pixel. `compared`: the
    worst comparison of the two that counts. `is_unseen`: the drawing is still being made."""

    drawing: GridWindow
    photographs: GridWindow | None
    compared: Compared | None
    edges: Edges
    is_unseen: bool


def checked_since(stale: Stale) -> list[Change]:
    """What others said of a drawn square, or changed on it, after the version that was seen."""
    row, version = stale.current, stale.seen_version
    seen = row.history.filter(version__lte=version).latest("version").history_date
    checks = row.checks.filter(made_at__gt=seen).select_related("made_by")
    told = [
        Change(_("checked by %(who)s") % {"who": one.made_by}, None, _verdict_told(one))
        for one in checks
    ]
    return [*told, *changes_since(row, version)]


def _verdict_told(check: DrawingCheck) -> str:
    parts = (check.get_verdict_display(), check.get_why_display(), check.words)
    return ", ".join(filter(None, parts))


def checked_against(season: Season, drawn: DrawnSquare, *, may_lead: bool) -> Against:
    """The photographs of the same square and stage, as the square's page would show them."""
    square, stage = drawn.square, drawn.stage
    side_m = square.grid.side_m
    window = GridWindow.of_square(
        drawn.placement, square, margin_m=MARGIN * side_m, mm_a_pixel=side_m
    )
    seen = pictures_for(season, may_lead=may_lead).values("pk")
    needed = season.coverage_needed_fraction
    pane = photo_pane(square, frames_on(square, stage, seen), "", needed)
    under = None
    if pane.shown:
        laid = [one.frame.placement_id for one in reversed(pane.shown)]
        pieces = tuple(PieceOf(key) for key in laid if key is not None)
        under = GridWindow(pieces, window.box, window.mm_a_pixel)
    edges = edges_of(season, square, stage, may_lead=may_lead, showing=drawn.pk)
    is_unseen = not window.is_made and not why_undrawn(window)
    return Against(window, under, worst_of(drawn), edges, is_unseen)


def how_many_wait(season: Season, *, may_lead: bool) -> int:
    waiting: Any = drawn_squares(season, may_lead=may_lead).filter(verdict=None)
    return int(waiting.count())


def how_many_sent_back(season: Season) -> int:
    """Those that nobody has drawn again since; for leads."""
    back: Any = drawn_squares(season, may_lead=True).filter(verdict=Verdict.REDO)
    return int(back.filter(is_followed=False).count())
