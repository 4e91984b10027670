"""The squares of a drawing: placed by their corners, marked anew, checked by the lead."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _

from records.models import (
    Drawing,
    DrawingCheck,
    DrawnSquare,
    Placement,
    Square,
    SquareGoal,
    Stage,
    Verdict,
)
from records.permissions import May
from records.refusals import Refused
from records.verbs.drawings import standing_drawing
from records.verbs.extents import say_extent, say_frame
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    as_made_before,
    current,
    demand_standing,
    made_before,
    save_in_words,
    verb,
    void,
)
from records.verbs.placing import MarkEntry, placed_by_marks
from survey.grid import corners

Point = tuple[float, float]


@dataclass(frozen=True)
class Crossing:
    """A crossing of strings seen at (u, v) px; x, y count in m from the square's corner
    nearest −x −y."""

    u_px: float
    v_px: float
    x_m: float
    y_m: float


@dataclass(frozen=True)
class SquareMarks:
    """Where a square lies on the upright picture, px.

    `corners`: u, v of its four corners: nearest −x −y, +x −y, +x +y, −x +y. Crossings of the
    frame's strings are free to be marked; with one or more the placement has a residual.
    """

    corners: Sequence[Point]
    crossings: Sequence[Crossing] = ()


@verb(May.RECORD, UNTIL_DEPOSITED)
def place_drawn_square(
    drawing: Drawing,
    square: Square,
    stage: Stage,
    extent: str,
    marks: SquareMarks,
    id: UUID | None = None,
) -> DrawnSquare:
    """Say which square a part of the sheet shows, and where; it then waits for a check."""
    id = id or uuid4()
    said = {"drawing": drawing, "square": square, "stage": stage, "extent": extent}
    if (known := as_made_before(DrawnSquare, id, **said)) is not None:
        return known
    row = standing_drawing(drawing)
    demand_open_surface(row, square, stage)
    _demand_once(row, square, stage)
    placement = _placed(row, square, marks)
    return save_in_words(DrawnSquare(id=id, placement=placement, **said))


@verb(May.RECORD, UNTIL_DEPOSITED)
def remark_square(
    drawn: DrawnSquare,
    extent: str,
    marks: SquareMarks,
    seen_version: int | None,
) -> DrawnSquare:
    """Mark it anew: a new placement, for which earlier checks no longer count.

    What was said of its extent is not taken back: with an empty one it stays.
    """
    row = _standing_square(drawn, seen_version)
    row.placement = _placed(row.drawing, row.square, marks)
    row.extent = extent or row.extent
    return save_in_words(row)


@verb(May.LEAD, UNTIL_DEPOSITED)
def void_drawn_square(drawn: DrawnSquare, reason: str) -> DrawnSquare:
    row = _standing_square(drawn)
    void(row, reason)
    return row


@verb(May.LEAD, UNTIL_DEPOSITED)
def check_drawn_square(
    drawn: DrawnSquare,
    verdict: str,
    why: str = "",
    words: str = "",
    id: UUID | None = None,
    *,
    seen_version: int | None = None,
    extent: str = "",
    frame_lies: str = "",
) -> DrawingCheck:
    """Accept it or send it back and say why; the latest check of what is marked now counts.
    The drawn square's version rises, so that no second lead decides over a first one unseen.

    `extent`, `frame_lies`: where nobody has said yet. None is accepted without its extent.
    """
    id = id or uuid4()
    if (known := made_before(DrawingCheck, id)) is not None:
        return known
    row = _standing_square(drawn, seen_version)
    if verdict == Verdict.ACCEPTED and why:
        raise ValueError(f"an accepted square is not sent back for {why!r}")
    if verdict == Verdict.REDO and not why:
        raise Refused(_("Say why the drawing goes back."), field="why")
    say_frame(row.drawing, frame_lies)
    say_extent(row, extent)
    if verdict == Verdict.ACCEPTED and not row.extent:
        raise Refused(
            _("Say how much of %(square)s is drawn: the whole square, or a part of it.")
            % {"square": row.square}
        )
    check = DrawingCheck(id=id, drawn_square=row, verdict=verdict, why=why, words=words.strip())
    save_in_words(check)
    save_in_words(row)
    return check


def _standing_square(drawn: DrawnSquare, seen_version: int | None = None) -> DrawnSquare:
    """Locked after its drawing, as every verb does."""
    drawing = standing_drawing(drawn.drawing)
    row = current(DrawnSquare, drawn.pk, seen_version)
    demand_standing(row)
    row.drawing = drawing
    return row


def demand_open_surface(drawing: Drawing, square: Square, stage: Stage) -> None:
    """The square stands and the stage is open for it; part of a guarded verb."""
    if square.site != drawing.season.site or square.is_voided:
        raise Refused(_("This square is not on the site's grids any more."), field="square")
    if stage.season_id != drawing.season_id or stage.is_voided:
        raise Refused(_("This stage is void or of another season."), field="stage")
    if not SquareGoal.objects.standing().filter(stage=stage, square=square).exists():
        raise Refused(
            _("The stage “%(stage)s” is not open for %(square)s. Ask a lead to open it.")
            % {"stage": stage, "square": square},
            field="stage",
        )


def _demand_once(drawing: Drawing, square: Square, stage: Stage) -> None:
    there = DrawnSquare.objects.standing().filter(drawing=drawing, square=square, stage=stage)
    if there.exists():
        raise Refused(
            _("%(square)s is marked on this drawing already. Mark it anew instead.")
            % {"square": square},
            field="square",
        )


def _placed(drawing: Drawing, square: Square, marks: SquareMarks) -> Placement:
    entries = _entries(square, marks)
    size = drawing.picture.upright_size_px or (0, 0)
    for entry in entries:
        if not (-0.5 <= entry.u_px <= size[0] - 0.5 and -0.5 <= entry.v_px <= size[1] - 0.5):
            raise Refused(
                _("A mark lies outside the picture. Mark each corner on the sheet."), field="marks"
            )
    return placed_by_marks(drawing.picture, square.grid, entries)


def _entries(square: Square, marks: SquareMarks) -> list[MarkEntry]:
    if len(marks.corners) != 4:
        raise Refused(_("Mark all four corners of the square."), field="marks")
    side_m = square.grid.side_m
    places = corners(square.grid.frame, square.column, square.row)
    x_0, y_0 = places[0].tolist()
    entries = [
        MarkEntry(u, v, x, y, _offset(x - x_0, y - y_0))
        for (u, v), (x, y) in zip(marks.corners, places.tolist(), strict=True)
    ]
    for one in marks.crossings:
        if not (0 <= one.x_m <= side_m and 0 <= one.y_m <= side_m):
            raise Refused(_("A crossing lies within its square."), field="marks")
        label = _offset(one.x_m, one.y_m)
        entries.append(MarkEntry(one.u_px, one.v_px, x_0 + one.x_m, y_0 + one.y_m, label))
    return entries


def _offset(x_m: float, y_m: float) -> str:
    """How a mark is called: its offsets in the square, m."""
    return f"{round(x_m, 3):g} / {round(y_m, 3):g}"
