"""The cross-index: all that exists for a square in one entry, by stage, and what is missing."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Subquery

from records.archive.registers.base import Viewer
from records.models import (
    DiveTask,
    DrawnSquare,
    Find,
    FrameOnSquare,
    Grid,
    Photograph,
    Restriction,
    Stage,
    Verdict,
)
from records.queries.sources import latest_check
from records.queries.squares import SquareState, grids_of, stages_of, states_of

Surface = tuple[UUID, UUID | None]


@dataclass(frozen=True)
class StageEntry:
    """One square in one stage: numbers of what exists, and the state by evidence in words."""

    stage: Stage | None
    state: SquareState | None
    dives: list[int] = field(default_factory=list)
    drawings: list[tuple[int, str]] = field(default_factory=list)
    photographs: list[int] = field(default_factory=list)
    finds: list[int] = field(default_factory=list)

    @property
    def photograph_runs(self) -> str:
        return in_runs(self.photographs)

    @property
    def dive_runs(self) -> str:
        return in_runs(self.dives)

    @property
    def find_runs(self) -> str:
        return in_runs(self.finds)

    @property
    def is_empty(self) -> bool:
        return not (self.dives or self.drawings or self.photographs or self.finds)


@dataclass(frozen=True)
class SquareEntry:
    id: UUID
    grid: Grid
    label: str
    stages: list[StageEntry]


def in_runs(numbers: Iterable[int]) -> str:
    """Numbers as a person writes them: 3, 7–9, 12."""
    runs: list[list[int]] = []
    for n in sorted(set(numbers)):
        if runs and n == runs[-1][1] + 1:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in runs)


def cross_index(viewer: Viewer) -> list[SquareEntry]:
    """Every square of the site's grids, by grid, column and row.

    The number of queries depends on the number of stages only.
    """
    season = viewer.season
    grids = grids_of(season.site)
    stages = stages_of(season)
    held = _Held(viewer, grids)
    by_stage = {stage.pk: {s.id: s for s in states_of(season, grids, stage)} for stage in stages}
    return [
        SquareEntry(
            id=one.id,
            grid=one.grid,
            label=one.label,
            stages=[
                entry
                for stage in (*stages, None)
                if (entry := _entry(one.id, stage, by_stage, held)) is not None
            ],
        )
        for one in states_of(season, grids)
    ]


def _entry(square: UUID, stage: Stage | None, by_stage: Any, held: "_Held") -> StageEntry | None:
    state = by_stage[stage.pk].get(square) if stage else None
    entry = held.entry(square, stage, state)
    if entry.is_empty and (state is None or state.goal is None):
        return None
    return entry


class _Held:
    """The numbers of all that exists, by square and stage; one query a kind."""

    def __init__(self, viewer: Viewer, grids: list[Grid]) -> None:
        self.viewer, self.grids = viewer, grids
        self.dives = self._gather(
            DiveTask.objects.standing().filter(dive__season=viewer.season, dive__voided_at=None),
            "dive__n",
        )
        self.finds = self._gather(self._finds(), "n")
        self.photographs = self._photographs()
        self.drawings = self._drawings()

    def entry(self, square: UUID, stage: Stage | None, state: SquareState | None) -> StageEntry:
        surface = (square, stage.pk if stage else None)
        return StageEntry(
            stage=stage,
            state=state,
            dives=sorted(set(self.dives[surface])),
            drawings=sorted(self.drawings[surface].items()),
            photographs=sorted(set(self.photographs[surface])),
            finds=sorted(self.finds[surface]),
        )

    def _gather(self, rows: Any, number: str) -> defaultdict[Surface, list[int]]:
        found: defaultdict[Surface, list[int]] = defaultdict(list)
        rows = rows.filter(square__grid__in=self.grids).order_by()
        for square, stage, n in rows.values_list("square_id", "stage_id", number):
            found[square, stage].append(n)
        return found

    def _finds(self) -> Any:
        finds = Find.objects.standing().filter(season=self.viewer.season)
        return finds if self.viewer.sees_restricted else finds.filter(restriction=Restriction.NONE)

    def _photographs(self) -> defaultdict[Surface, list[int]]:
        single = Photograph.objects.standing().filter(season=self.viewer.season)
        if not self.viewer.sees_restricted:
            hidden = {Restriction.HUMAN_REMAINS, Restriction.ORDNANCE}
            single = single.exclude(picture__finds__find__restriction__in=hidden)
        found = self._gather(single, "n")
        frames = FrameOnSquare.objects.filter(
            frame__photograph__in=single,
            frame__is_kept=True,
            square__grid__in=self.grids,
        )
        for square, stage, n in frames.values_list(
            "square_id", "frame__photograph__stage_id", "frame__photograph__n"
        ):
            found[square, stage].append(n)
        return found

    def _drawings(self) -> defaultdict[Surface, dict[int, str]]:
        found: defaultdict[Surface, dict[int, str]] = defaultdict(dict)
        rows = (
            DrawnSquare.objects.standing()
            .filter(
                drawing__season=self.viewer.season,
                drawing__voided_at=None,
                square__grid__in=self.grids,
            )
            .annotate(verdict=Subquery(latest_check().values("verdict")[:1]))
        )
        for square, stage, n, verdict in rows.values_list(
            "square_id", "stage_id", "drawing__n", "verdict"
        ):
            found[square, stage][n] = str(Verdict(verdict).label) if verdict else ""
        return found
