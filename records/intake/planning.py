"""A photo run thought out before it is made: its rows, its work, and what speaks against it."""

import math
from dataclasses import dataclass
from functools import cached_property

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import Dive, Grid, PhotoRun, RunRow, Season, Square, Stage, TowerSetUp
from records.refusals import Refused, in_words
from records.verbs.tower import RowEntry
from survey import placement as placing
from survey.camera import against_visibility
from survey.errors import Unfit
from survey.hovering import Keeping, hovering_pass
from survey.run_plan import (
    Along,
    Area,
    Asked,
    BaseFootprint,
    RunPlan,
    Work,
    base_footprint,
    plan_rows,
    work_of,
)
from survey.told import Told, Weight

GRAIN_M = 0.01
"""Rails are read to a centimetre."""

FIRST_BOARDS, BOARDS_A_ROW = 3, 3
"""Run board, colour card, square tag; a row's two boards, and the tag again at its end."""

AT_MOST_ROWS, AT_MOST_FRAMES = 60, 1500


@dataclass(frozen=True)
class Wanted:
    """What a person asks for: box is x_min, y_min, x_max, y_max on the grid, m."""

    season: Season
    stage: Stage
    grid: Grid
    set_up: TowerSetUp
    box: tuple[float, float, float, float]
    forward_percent: float
    side_percent: float
    along: str
    there_and_back: bool
    turn_deg: float
    seconds_a_frame: float
    minutes_a_dive: float
    height_error_m: float | None = None
    place_error_m: float = 0.0
    tilt_deg: float = 0.0


@dataclass(frozen=True)
class Remark:
    words: str
    weight: str


@dataclass(frozen=True)
class PlannedRun:
    wanted: Wanted
    plan: RunPlan
    work: Work

    @property
    def rows(self) -> tuple[RowEntry, ...]:
        return tuple(RowEntry(**vars(row)) for row in self.plan.rows)

    @cached_property
    def run(self) -> PhotoRun:
        """The run as it would be, for drawing it; it is not kept."""
        wanted = self.wanted
        run = PhotoRun(
            season=wanted.season, stage=wanted.stage, grid=wanted.grid, set_up=wanted.set_up
        )
        run.in_order = [
            RunRow(run=run, order=order, **vars(row)) for order, row in enumerate(self.rows, 1)
        ]
        return run

    @property
    def forward_percent(self) -> int | None:
        return _percent(self.plan.forward_overlap)

    @property
    def side_percent(self) -> int | None:
        return _percent(self.plan.side_overlap)

    @property
    def answer(self) -> str:
        """What it takes, in two sentences."""
        frames, rows, dives = self.plan.frames, len(self.plan.rows), self.work.dives
        minutes = math.ceil(round(self.work.minutes, 6))
        return _(
            "%(frames)s in %(rows)s. With boards and square tags %(shots)d shots, "
            "%(minutes)s: %(dives)s."
        ) % {
            "frames": ngettext("%(n)d frame", "%(n)d frames", frames) % {"n": frames},
            "rows": ngettext("%(n)d row", "%(n)d rows", rows) % {"n": rows},
            "shots": self.work.shots,
            "minutes": ngettext("%(n)d minute", "%(n)d minutes", minutes) % {"n": minutes},
            "dives": ngettext("%(n)d dive", "%(n)d dives", dives) % {"n": dives},
        }

    @property
    def cost(self) -> str:
        """What the forward overlap costs, in one sentence."""
        overlap = self.plan.forward_overlap
        if overlap is None:
            return ""
        once = self.plan.seen_once_fraction
        if once < 0.005:
            return _(
                "Every point along a row is seen at least twice, so heights can be had, and one "
                "lost frame leaves no gap."
            )
        words = _(
            "The middle %(once)s %% of each frame along a row is seen once only: no heights "
            "there, and one lost frame leaves a gap of %(gap)s m. Where heights are wanted, "
            "take 60 %%."
        )
        gap_m = round(self.plan.gap_of_a_lost_frame_m, 2)
        if self.is_turned:
            words = _(
                "%(once)s %% of each frame along a row is seen once only: no heights there, and "
                "one lost frame leaves a gap of %(gap)s m in the middle of its row. Where heights "
                "are wanted, take 60 %%."
            )
        if not gap_m:
            words = _(
                "%(once)s %% of each frame along a row is seen once only: no heights there. Where "
                "heights are wanted, take 60 %%."
            )
        return words % {"once": round(100 * once), "gap": formats.localize(gap_m)}

    @property
    def is_turned(self) -> bool:
        """By other than quarters, so that its pictures lie askew under the rows."""
        return self.wanted.turn_deg % 90 != 0

    @cached_property
    def remarks(self) -> list[Remark]:
        """What speaks for or against it, the weightiest first."""
        wanted = self.wanted
        told = []
        if not Square.objects.in_box(wanted.grid, wanted.box).exists():
            words = _("No square of %(grid)s lies under this area.") % {"grid": wanted.grid}
            told.append(Remark(words, Weight.WARN))
        if (seen := _latest_visibility(wanted.season)) is not None:
            dive, visibility_m = seen
            water = _remark(against_visibility(wanted.set_up.height_m, visibility_m))
            words = _("%(words)s Visibility as noted on dive %(n)d.")
            told.append(Remark(words % {"words": water.words, "n": dive.n}, water.weight))
        if wanted.height_error_m is not None:
            told.append(_remark(self._hovering(wanted.height_error_m)))
        return sorted(told, key=lambda one: one.weight != Weight.WARN)

    def _hovering(self, height_error_m: float) -> Told:
        wanted = self.wanted
        keeping = Keeping(height_error_m, wanted.place_error_m, wanted.tilt_deg)
        along_m = self.plan.footprint_along_m
        planned = self.forward_percent
        overlap = (wanted.forward_percent if planned is None else planned) / 100
        return hovering_pass(wanted.set_up.height_m, along_m, overlap, keeping).told


def planned_run(wanted: Wanted) -> PlannedRun:
    """Rows that cover the box, and what they take; Refused in words where nothing does."""
    covers = what_it_covers(wanted.set_up)
    asked = Asked(
        forward_overlap=wanted.forward_percent / 100,
        side_overlap=wanted.side_percent / 100,
        along=Along(wanted.along),
        serpentine=wanted.there_and_back,
        turn_deg=wanted.turn_deg,
        grain_m=GRAIN_M,
    )
    plan = plan_rows(Area(*wanted.box), covers, asked)
    if isinstance(plan, Unfit):
        raise Refused(in_words(plan))
    if len(plan.rows) > AT_MOST_ROWS:
        raise Refused(
            _("That makes %(rows)d rows; a run holds %(most)d. Plan it in parts.")
            % {"rows": len(plan.rows), "most": AT_MOST_ROWS}
        )
    if plan.frames > AT_MOST_FRAMES:
        raise Refused(
            _("That makes %(frames)d frames; a run is at most %(most)d. Plan it in parts.")
            % {"frames": plan.frames, "most": AT_MOST_FRAMES}
        )
    boards = FIRST_BOARDS + BOARDS_A_ROW * len(plan.rows)
    work = work_of(plan, wanted.seconds_a_frame, wanted.minutes_a_dive, boards)
    if isinstance(work, Unfit):
        raise Refused(in_words(work), field="minutes_a_dive")
    _demand_a_pass_that_is_told(wanted)
    return PlannedRun(wanted, plan, work)


def _demand_a_pass_that_is_told(wanted: Wanted) -> None:
    if wanted.height_error_m is None:
        return
    if wanted.turn_deg % 90:
        raise Refused(
            _(
                "What a hovering diver leaves of the overlap is told for a camera that is turned "
                "by quarters only. Give a turn of 0° or 90°, or leave this empty."
            ),
            field="height_error_m",
        )
    if wanted.height_error_m >= wanted.set_up.height_m:
        raise Refused(
            _("The height may not vary by as much as the height itself."), field="height_error_m"
        )


def what_it_covers(set_up: TowerSetUp) -> BaseFootprint:
    """The upright rectangle that each of its pictures covers on the base; Refused in words."""
    placed = set_up.placement
    outline = placing.covered_outline(placed.as_value, placed.width_px, placed.height_px)
    covers = base_footprint(outline)
    if isinstance(covers, Unfit):
        raise Refused(in_words(covers), field="set_up")
    return covers


def box_of_squares(grid: Grid, squares: list[tuple[int, int]]) -> tuple[float, float, float, float]:
    """The rectangle around squares, given by column and row: x_min, y_min, x_max, y_max, m."""
    columns, rows = zip(*squares, strict=True)
    side_m = grid.side_m
    return (
        min(columns) * side_m,
        min(rows) * side_m,
        (max(columns) + 1) * side_m,
        (max(rows) + 1) * side_m,
    )


def _latest_visibility(season: Season) -> tuple[Dive, float] | None:
    """The latest dive whose visibility is noted, and that."""
    noted = Dive.objects.standing().filter(season=season, visibility_m__isnull=False)
    dive = noted.order_by("-left_surface_at").first()
    return None if dive is None or dive.visibility_m is None else (dive, dive.visibility_m)


def _remark(told: Told) -> Remark:
    return Remark(in_words(told), told.weight)


def _percent(overlap: float | None) -> int | None:
    """Rounded down: what is told is surely there."""
    return None if overlap is None else int(100 * overlap + 1e-6)
