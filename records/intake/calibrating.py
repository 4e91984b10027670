"""A set-up's lens from pictures of the printed board, or from the marks on its base: the door to
`survey.lens_calibration` and `survey.lens_marks`."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from django.utils import formats
from django.utils.translation import gettext as _

from records.intake.corners import BOARD, corners_of, why_not_looked_at
from records.models import BoardPicture, Lens, LensFrom, PlacedBy, Placement, TowerSetUp
from records.refusals import in_words
from survey.calibration_board import Board
from survey.errors import Unfit
from survey.lens import greatest_shift_px, half_diagonal_px
from survey.lens_calibration import FEWEST_CORNERS, Calibration, View, calibrate
from survey.lens_marks import MarkedLens, lens_from_marks
from survey.points import FloatArray, as_points


@dataclass(frozen=True)
class BoardSeen:
    """A picture of the board: `corners` found in it, None while it was not looked at; `off_px` of
    it by the lens that came of all."""

    row: BoardPicture
    corners: int | None
    words: str
    off_px: float | None = None

    @property
    def counts(self) -> bool:
        return self.corners is not None and self.corners >= FEWEST_CORNERS


@dataclass(frozen=True)
class LensFound:
    """A lens not kept yet, as a row's fields; `words` on it, `caution` what a reader must know."""

    fields: dict[str, Any]
    words: list[str]
    caution: str = ""


@dataclass(frozen=True)
class BoardTold:
    """`found` and its words; or why there is none, in `refused`."""

    pictures: list[BoardSeen]
    found: LensFound | None = None
    refused: str = ""
    seen_px: tuple[tuple[int, int], ...] = ()
    """Where corners of the board were seen, in all pictures that count."""

    @property
    def is_waiting(self) -> bool:
        return any(one.corners is None and not one.words for one in self.pictures)


def board_told(set_up: TowerSetUp) -> BoardTold:
    """What the pictures of the board that had part in no lens yet say."""
    rows = list(
        BoardPicture.objects.filter(set_up=set_up, lens=None, voided_at=None)
        .select_related("picture__file")
        .order_by("made_at")
    )
    pictures = [row.picture for row in rows]
    found, why_not = corners_of(pictures, BOARD), why_not_looked_at(pictures, BOARD)
    seen = [_seen(row, found.get(row.picture_id), why_not[row.picture_id]) for row in rows]
    views = [_view(found[one.row.picture_id]) for one in seen if one.counts]
    told = BoardTold(seen)
    if not rows or told.is_waiting:
        return told
    answer = calibrate(views, set_up.picture_width_px, set_up.picture_height_px)
    places = [(round(u), round(v)) for view in views for u, v in view.picture.tolist()]
    if isinstance(answer, Unfit):
        return BoardTold(seen, refused=in_words(answer), seen_px=tuple(places))
    found_lens = _of_board(answer, len(views))
    return BoardTold(_with_residuals(seen, answer), found_lens, seen_px=tuple(places))


def marks_told(set_up: TowerSetUp) -> LensFound | str:
    """What the marks of the base, as it was marked last, say of the lens; or why nothing."""
    version = set_up.placement
    if version.method != PlacedBy.MARKS:
        return _("The base is not marked yet. Mark it with points at several distances first.")
    marks = version.marks.order_by("made_at").values_list("u_px", "v_px", "x_m", "y_m")
    given = np.array(list(marks), dtype=np.float64)
    found = lens_from_marks(given[:, :2], given[:, 2:], version.width_px, version.height_px)
    if isinstance(found, Unfit):
        return in_words(found)
    return _of_marks(found, _reach(given[:, :2], version))


def _seen(row: BoardPicture, found: list[Any] | None, why_not: str) -> BoardSeen:
    if found is None:
        return BoardSeen(row, None, why_not)
    if not found:
        return BoardSeen(row, 0, _("No board is seen in it; it does not count."))
    words = _("%(count)d corners of the board were found.") % {"count": len(found)}
    if len(found) < FEWEST_CORNERS:
        words = _("Only %(count)d corners of the board were found; it does not count.") % {
            "count": len(found)
        }
    return BoardSeen(row, len(found), words)


def _view(found: Sequence[Sequence[float]]) -> View:
    numbers = [int(one[0]) for one in found]
    return View(Board().corners_mm()[numbers], as_points([one[1:] for one in found], (2,)))


def _with_residuals(seen: list[BoardSeen], answer: Calibration) -> list[BoardSeen]:
    off = iter(answer.view_rms_px)
    return [
        BoardSeen(one.row, one.corners, one.words, next(off) if one.counts else None)
        for one in seen
    ]


def _of_board(answer: Calibration, views: int) -> LensFound:
    values = {
        "count": views,
        "rms": _figure(answer.rms_px, 2),
        "withheld": _figure(answer.withheld_rms_px, 2),
        "reach": round(100 * answer.reach),
        "shift": _figure(abs(greatest_shift_px(answer.lens)), 1),
        "focal": round(answer.focal_px),
        "sigma": _figure(answer.focal_sigma_px, 1),
    }
    words = [
        _(
            "%(count)d pictures of the board agree within %(rms)s px (root mean square); pictures "
            "that had no part in the lens fit within %(withheld)s px."
        ),
        _("Corners of the board reach %(reach)s %% of the way from the middle to the corner."),
        _(
            "At the picture's corner the lens moves a point by %(shift)s px. Its focal length is "
            "%(focal)s ± %(sigma)s px."
        ),
    ]
    fields = {
        "distortion": asdict(answer.lens),
        "found_from": LensFrom.BOARD,
        "views": views,
        "rms_px": answer.rms_px,
        "withheld_rms_px": answer.withheld_rms_px,
        "reach_fraction": answer.reach,
    }
    caution = "" if answer.caution is None else in_words(answer.caution)
    return LensFound(fields, [one % values for one in words], caution)


def _of_marks(found: MarkedLens, reach: float) -> LensFound:
    values = {
        "count": len(found.residuals_px),
        "rms": _figure(found.rms_px, 2),
        "freedom": found.degrees_of_freedom,
        "shift": _figure(abs(greatest_shift_px(found.lens)), 1),
        "sigma": _figure(found.corner_sigma_px, 1),
        "reach": round(100 * reach),
    }
    words = [
        _(
            "%(count)d marks agree within %(rms)s px (root mean square, %(freedom)d degrees of "
            "freedom) once the lens is taken into account."
        ),
        _("The marks reach %(reach)s %% of the way from the middle to the corner."),
        _("At the picture's corner the lens moves a point by %(shift)s ± %(sigma)s px."),
    ]
    fields = {
        "distortion": asdict(found.lens),
        "found_from": LensFrom.MARKS,
        "views": 1,
        "rms_px": found.rms_px,
        "reach_fraction": reach,
    }
    caution = "" if found.caution is None else in_words(found.caution)
    return LensFound(fields, [one % values for one in words], caution)


def _reach(marks: FloatArray, version: Placement) -> float:
    middle = np.array([(version.width_px - 1) / 2, (version.height_px - 1) / 2])
    farthest = float(np.linalg.norm(marks - middle, axis=1).max())
    return farthest / half_diagonal_px(version.width_px, version.height_px)


def lens_words(lens: Lens) -> str:
    """How a kept lens was found, in a sentence."""
    values = {
        "from": lens.get_found_from_display(),
        "rms": _figure(lens.rms_px or 0.0, 2),
        "reach": round(100 * (lens.reach_fraction or 0.0)),
    }
    return (
        _("Found from %(from)s, within %(rms)s px, out to %(reach)s %% of the way to the corner.")
        % values
    )


def _figure(number: float, decimals: int) -> str:
    return str(formats.number_format(number, decimals))
