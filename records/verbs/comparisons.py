"""Comparing a drawing with a photograph: features picked on both, kept as they were picked."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.intake.windows import box_of
from records.models import Comparison, Drawing, DrawnSquare, Frame, FrameOnSquare, Square
from records.permissions import May
from records.refusals import Conflict, Refused, in_words
from records.verbs.coverage import outline_of
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    as_made_before,
    current,
    demand_standing,
    save_in_words,
    verb,
    void,
)
from survey.agreement import agreement_of
from survey.coverage import lie_in
from survey.errors import Unfit

MOST_FEATURES = 100
BLANK_OF_SIDE = 0.01  # what is picked so near to the edge of a picture was picked on it
BEYOND_OF_SIDE = 0.1  # a feature may lie so far outside the square: both pictures show its rim


@dataclass(frozen=True)
class Feature:
    """The same thing by the drawing and by the photograph, m on the grid."""

    drawn_x_m: float
    drawn_y_m: float
    seen_x_m: float
    seen_y_m: float

    @property
    def row(self) -> list[float]:
        """To a tenth of a millimetre: nobody picks finer."""
        values = (self.drawn_x_m, self.drawn_y_m, self.seen_x_m, self.seen_y_m)
        return [round(one, 4) for one in values]


@dataclass(frozen=True)
class Placed:
    """By which placements the features were picked."""

    drawing: UUID
    photograph: UUID


@verb(May.RECORD, UNTIL_DEPOSITED)
def compare(
    drawn: DrawnSquare,
    frame: Frame,
    placed: Placed,
    features: Sequence[Feature],
    id: UUID | None = None,
) -> Comparison:
    """Keep what was picked. Refused in words across stages, and where either was placed anew."""
    id = id or uuid4()
    points = [one.row for one in features]
    said = {"drawn_square": drawn, "frame": frame, "points_m": points}
    if (known := as_made_before(Comparison, id, **said)) is not None:
        return known
    demand_standing(current(Drawing, drawn.drawing_id, None))
    of, photo = current(DrawnSquare, drawn.pk, None), current(Frame, frame.pk, None)
    demand_standing(of)
    _demand_same_surface(of, photo)
    if (placed.drawing, placed.photograph) != (of.placement_id, photo.placement_id):
        raise Conflict(
            _(
                "Drawing or photograph was placed anew while you picked, so the features lie "
                "elsewhere now. Nothing was kept. Open the square again and pick them anew."
            )
        )
    _demand_features(of.square, features)
    _demand_seen(photo, features, of.square.grid.side_m)
    found = agreement_of([p[:2] for p in points], [p[2:] for p in points])
    if isinstance(found, Unfit):
        raise Refused(in_words(found), field="points")
    made = Comparison(
        id=id,
        **said,
        drawing_placement=of.placement,
        photo_placement=photo.placement,
        rms_m=found.rms_m,
        can_judge=found.can_judge,
    )
    return save_in_words(made)


@verb(May.LEAD, UNTIL_DEPOSITED)
def void_comparison(comparison: Comparison, reason: str) -> Comparison:
    row = current(Comparison, comparison.pk, None)
    void(row, reason)
    return row


def _demand_same_surface(drawn: DrawnSquare, frame: Frame) -> None:
    """Once sand moves, a square is a new surface: drawing and photograph are of one stage."""
    photograph = frame.photograph
    if photograph.is_voided or not frame.is_kept:
        raise Refused(_("This photograph is void or left out. Choose another."), field="frame")
    if photograph.stage_id != drawn.stage_id:
        raise Refused(
            _(
                "The drawing is of the stage “%(drawn)s”, the photograph of “%(seen)s”. Only "
                "pictures of one stage can be compared: between stages the square has changed."
            )
            % {"drawn": drawn.stage, "seen": photograph.stage or _("no stage")},
            field="frame",
        )
    if not FrameOnSquare.objects.standing().filter(frame=frame, square=drawn.square).exists():
        raise Refused(_("This photograph does not show the square."), field="frame")


def _demand_features(square: Square, features: Sequence[Feature]) -> None:
    if len(features) > MOST_FEATURES:
        raise Refused(
            _("%(n)s features are too many; %(most)s are enough for any square.")
            % {"n": len(features), "most": MOST_FEATURES},
            field="points",
        )
    x_0, y_0, x_1, y_1 = box_of(square, square.grid.side_m * BEYOND_OF_SIDE)
    for at, one in enumerate(features, 1):
        inside = all(
            math.isfinite(x) and math.isfinite(y) and x_0 <= x <= x_1 and y_0 <= y <= y_1
            for x, y in ((one.drawn_x_m, one.drawn_y_m), (one.seen_x_m, one.seen_y_m))
        )
        if not inside:
            raise Refused(
                _("Feature %(n)s lies outside the square. Pick it anew.") % {"n": at},
                field="points",
            )


def _demand_seen(frame: Frame, features: Sequence[Feature], side_m: float) -> None:
    """A frame may cover a part of the square only; on the rest there is nothing to pick."""
    if frame.placement is None or not features:
        return
    slack_m = side_m * BLANK_OF_SIDE
    seen = lie_in(
        outline_of(frame.placement), [(one.seen_x_m, one.seen_y_m) for one in features], slack_m
    )
    blank = [str(n) for n, covered in enumerate(seen.tolist(), 1) if not covered]
    if blank:
        raise Refused(
            ngettext(
                "Feature %(n)s was picked where the photograph shows nothing. Pick it anew.",
                "Features %(n)s were picked where the photograph shows nothing. Pick them anew.",
                len(blank),
            )
            % {"n": ", ".join(blank)},
            field="points",
        )
