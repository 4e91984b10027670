"""The two panes of a square: its drawings and its frames, each shown through its placement."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from records.intake.windows import GridWindow, PieceOf, box_of
from records.models import DrawnSquare, FrameOnSquare, RedoReason, Square, Stage, Verdict
from records.queries.checks import of_latest_check

MARGIN_OF_SIDE = 0.05  # of a square of 1 m: 5 cm of what lies round it
PX_A_SIDE = 1000
FINER = 2  # times as many pixels along a side, once somebody zooms in


def window_of(square: Square, placements: list[Any]) -> GridWindow | None:
    """The square with a little of what lies round it, the later placements over the earlier."""
    if not placements:
        return None
    side_m = square.grid.side_m
    box = box_of(square, side_m * MARGIN_OF_SIDE)
    pieces = tuple(PieceOf(one) for one in placements)
    return GridWindow(pieces, box, side_m * 1000 / PX_A_SIDE)


class Pane:
    window: GridWindow | None

    @property
    def fine(self) -> GridWindow | None:
        """The same window, finer."""
        if self.window is None:
            return None
        return replace(self.window, mm_a_pixel=self.window.mm_a_pixel / FINER)


@dataclass(frozen=True)
class DrawingPane(Pane):
    """`shown` is the one asked for, else the one that counts; `all` in the order made."""

    all: list[Any]
    shown: DrawnSquare | None
    window: GridWindow | None

    @property
    def sent_back_for(self) -> str:
        """Why the one shown is to be drawn again; empty where its latest check is another."""
        shown: Any = self.shown
        if shown is None or shown.verdict != Verdict.REDO:
            return ""
        return shown.fault or str(RedoReason(shown.why).label)

    @property
    def waiting(self) -> list[Any]:
        """Those that nobody has checked as they are marked now."""
        return [one for one in self.all if one.verdict is None]


def drawing_pane(square: Square, drawn: list[DrawnSquare], asked: int | None) -> DrawingPane:
    standing = [one for one in drawn if not one.is_voided and not one.drawing.is_voided]
    shown = next((one for one in standing if one.drawing.n == asked), _that_counts(standing))
    placements = [shown.placement_id] if shown else []
    return DrawingPane(standing, shown, window_of(square, placements))


def _that_counts(drawn: list[Any]) -> Any:
    """The latest accepted one of the whole square, else the latest."""
    whole = [one for one in drawn if one.verdict == Verdict.ACCEPTED and one.extent == "whole"]
    return (whole or drawn or [None])[-1]


def drawn_of(square: Square, stage: Stage, seen: Any) -> list[DrawnSquare]:
    """The void ones too, in the order made, each with its latest check. `seen`: pictures."""
    return list(
        DrawnSquare.objects.filter(square=square, stage=stage, drawing__picture__in=seen)
        .select_related("drawing__season", "drawing__dive__season", "drawing__drawn_by")
        .annotate(
            verdict=of_latest_check("verdict"),
            why=of_latest_check("why"),
            fault=of_latest_check("words"),
        )
        .order_by("made_at", "pk")
    )


@dataclass(frozen=True)
class PhotoPane(Pane):
    """`all`: the kept frames that touch the square, the one that shows most of it first.

    `shown`: one of them, or all laid together, the first uppermost.
    """

    all: list[FrameOnSquare]
    shown: list[FrameOnSquare]
    window: GridWindow | None

    @property
    def is_together(self) -> bool:
        return len(self.shown) > 1


def photo_pane(
    square: Square, frames: list[FrameOnSquare], asked: str, needed_fraction: float
) -> PhotoPane:
    """`asked`: a photograph's number, "all", or empty: then the best frame where it alone covers
    what is needed, else all."""
    best_first = sorted(frames, key=lambda one: _worse(square, one))
    one = [f for f in best_first if str(f.frame.photograph.n) == asked]
    if not one and asked != "all":
        one = [f for f in best_first[:1] if f.fraction >= needed_fraction]
    shown = one or best_first
    placements = [f.frame.placement_id for f in reversed(shown)]
    return PhotoPane(best_first, shown, window_of(square, placements))


def _worse(square: Square, on_square: FrameOnSquare) -> tuple[float, float, int]:
    """By the share of the square, among equals by how far off the tower stood."""
    frame, side_m = on_square.frame, square.grid.side_m
    away_m = math.inf
    if frame.row is not None and frame.station is not None:
        x_m, y_m = frame.row.station_at(frame.station)
        middle = (square.column + 0.5) * side_m, (square.row + 0.5) * side_m
        away_m = math.dist((x_m + frame.foot_x_m, y_m + frame.foot_y_m), middle)
    return (-round(on_square.fraction, 2), away_m, frame.photograph.n)


def frames_on(square: Square, stage: Stage, seen: Any) -> list[FrameOnSquare]:
    """The kept frames of the stage that touch the square. `seen`: pictures."""
    return frames_on_each([square], stage, seen)


def frames_on_each(squares: Iterable[Square], stage: Stage, seen: Any) -> list[FrameOnSquare]:
    """The same of several squares: a frame once for each that it touches."""
    return list(
        FrameOnSquare.objects.standing()
        .filter(
            square__in=list(squares),
            frame__is_kept=True,
            frame__photograph__stage=stage,
            frame__photograph__voided_at=None,
            frame__photograph__picture__in=seen,
        )
        .select_related(
            "frame__photograph__season",
            "frame__photograph__dive__season",
            "frame__placement",
            "frame__row",
        )
        .order_by("frame__photograph__n")
    )
