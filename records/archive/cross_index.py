"""The cross-index: all that exists for a square in one entry, by stage, and what is missing."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.archive.registers.base import Viewer
from records.models import (
    DiveTask,
    DrawnSquare,
    Extent,
    Find,
    FrameOnSquare,
    Grid,
    Photograph,
    Restriction,
    SheetSquare,
    Stage,
    Verdict,
)
from records.queries.agreement import comparisons_seen, rests_on, that_count
from records.queries.checks import of_latest_check
from records.queries.outlines import outlines_of
from records.queries.squares import SquareState, grids_of, stages_of, states_of

Surface = tuple[UUID, UUID | None]


@dataclass(frozen=True)
class Compared:
    """A comparison that counts: numbers of drawing and photograph, how far they differ."""

    drawing: int
    photograph: int
    mm: int
    wants_look: bool

    @property
    def words(self) -> str:
        said = {"drawing": self.drawing, "photo": self.photograph, "mm": self.mm}
        words = _("%(drawing)s with %(photo)s: %(mm)s mm") % said
        return _("%(words)s, second look") % {"words": words} if self.wants_look else words


@dataclass(frozen=True)
class Feature:
    """A traced feature by the letters of its kind and its label, which may be empty."""

    kind: str
    label: str


@dataclass(frozen=True)
class StageEntry:
    """One square in one stage: numbers of what exists, and the state by evidence in words."""

    stage: Stage | None
    state: SquareState | None
    dives: list[int] = field(default_factory=list)
    drawings: list[tuple[int, str]] = field(default_factory=list)
    photographs: list[int] = field(default_factory=list)
    finds: list[int] = field(default_factory=list)
    sheets: list[int] = field(default_factory=list)
    comparisons: list[Compared] = field(default_factory=list)
    features: list[Feature] = field(default_factory=list)

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
    def sheet_runs(self) -> str:
        return in_runs(self.sheets)

    @property
    def comparison_words(self) -> str:
        return "; ".join(one.words for one in self.comparisons)

    @property
    def feature_words(self) -> str:
        """Those with a label by name, the others of a kind counted: T keel; C × 5."""
        named = [f"{one.kind} {one.label}" for one in self.features if one.label]
        others = Counter(one.kind for one in self.features if not one.label)
        return "; ".join([*named, *(f"{kind} × {n}" for kind, n in sorted(others.items()))])

    @property
    def is_empty(self) -> bool:
        return not any(
            (
                self.dives,
                self.drawings,
                self.photographs,
                self.finds,
                self.sheets,
                self.comparisons,
                self.features,
            )
        )


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
                if (entry := _entry(one, stage, by_stage, held)) is not None
            ],
        )
        for one in states_of(season, grids)
    ]


def _entry(
    square: SquareState, stage: Stage | None, by_stage: Any, held: "_Held"
) -> StageEntry | None:
    state = by_stage[stage.pk].get(square.id) if stage else None
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
        self.sheets = self._sheets()
        self.comparisons = self._comparisons()
        self.features = self._features()

    def entry(
        self, square: SquareState, stage: Stage | None, state: SquareState | None
    ) -> StageEntry:
        stage_id = stage.pk if stage else None
        surface = (square.id, stage_id)
        return StageEntry(
            stage=stage,
            state=state,
            dives=sorted(set(self.dives[surface])),
            drawings=sorted(self.drawings[surface].items()),
            photographs=sorted(set(self.photographs[surface])),
            finds=sorted(self.finds[surface]),
            sheets=self.sheets[surface],
            comparisons=self.comparisons[surface],
            features=self.features[square.grid.pk, square.column, square.row, stage_id],
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
            .annotate(verdict=of_latest_check("verdict"))
        )
        for square, stage, n, verdict, extent in rows.values_list(
            "square_id", "stage_id", "drawing__n", "verdict", "extent"
        ):
            words = str(Verdict(verdict).label) if verdict else ""
            is_part = verdict == Verdict.ACCEPTED and extent == Extent.PART
            found[square, stage][n] = _("a part accepted") if is_part else words
        return found

    def _sheets(self) -> defaultdict[Surface, list[int]]:
        found: defaultdict[Surface, list[int]] = defaultdict(list)
        on = SheetSquare.objects.standing().filter(
            sheet__season=self.viewer.season, sheet__voided_at=None, square__grid__in=self.grids
        )
        for square, stage, n in on.values_list("square_id", "sheet__stage_id", "sheet__n"):
            found[square, stage].append(n)
        return found

    def _comparisons(self) -> defaultdict[Surface, list[Compared]]:
        found: defaultdict[Surface, list[Compared]] = defaultdict(list)
        made = comparisons_seen(self.viewer.season, may_lead=self.viewer.sees_restricted)
        made = made.filter(pk__in=that_count(), drawn_square__square__grid__in=self.grids)
        for one in made.order_by("made_at", "pk"):
            drawn, photograph = one.drawn_square, one.frame.photograph
            told = Compared(drawn.drawing.n, photograph.n, one.rms_mm, rests_on(one))
            found[drawn.square_id, drawn.stage_id].append(told)
        return found

    def _features(self) -> defaultdict[Any, list[Feature]]:
        """By grid, column, row and stage: on every square that it runs across."""
        found: defaultdict[Any, list[Feature]] = defaultdict(list)
        for one in outlines_of(self.viewer.season).filter(grid__in=self.grids):
            for column, row in one.squares_under:
                told = Feature(one.kind, one.label)
                found[one.grid_id, column, row, one.stage_id].append(told)
        return found
