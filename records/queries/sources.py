"""Where the evidence of squares is read: one query a source, whatever the number of squares."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from records.models import (
    Card,
    CardState,
    DiveTask,
    DrawnSquare,
    ExceptionKind,
    Extent,
    Method,
    Outcome,
    RedoReason,
    Season,
    Square,
    SquareCoverage,
    SquareException,
    SquareGoal,
    Stage,
    TaskMethod,
    Verdict,
)
from records.queries.agreement import disagreeing
from records.queries.checks import latest_check
from records.queries.evidence import Drawn, Evidence, Excepted, MethodState, Said

Surface = tuple[UUID, UUID]  # a square and a stage
Squares = QuerySet[Square]
RECORDING = (TaskMethod.DRAWING, TaskMethod.PHOTOGRAPHS)


@dataclass(frozen=True)
class EvidenceBySquare:
    needed_fraction: float | None  # None: of several seasons, each stage its season's own
    said: dict[tuple[UUID, UUID, str], Said]
    cards_wait: set[Surface]
    exceptions: dict[tuple[UUID, str], Excepted]
    drawn: dict[Surface, tuple[Drawn, ...]]
    covered: dict[Surface, float]
    disagreeing: dict[Surface, float]

    def state(
        self, square_id: UUID, stage: Stage | None, goal: SquareGoal | None, method: Method
    ) -> MethodState:
        return MethodState.read(method, self._of(square_id, stage, goal, method))

    def differs_by_m(self, square_id: UUID, stage: Stage | None) -> float | None:
        """Drawing and photograph, where that is beyond the season's limit."""
        return self.disagreeing.get((square_id, stage.pk)) if stage else None

    def _of(
        self, square_id: UUID, stage: Stage | None, goal: SquareGoal | None, method: Method
    ) -> Evidence:
        if stage is None:
            return Evidence()
        surface = (square_id, stage.pk)
        by_drawing = method == Method.DRAWING
        return Evidence(
            wanted=goal is not None and wants(goal, method),
            said=self.said.get((*surface, method.value)),
            exception=self.exceptions.get((goal.pk, method.value)) if goal else None,
            drawn=self.drawn.get(surface, ()) if by_drawing else (),
            covered_fraction=0.0 if by_drawing else self.covered.get(surface, 0.0),
            needed_fraction=self.needed_fraction or stage.season.coverage_needed_fraction,
            frames_wait=not by_drawing and surface in self.cards_wait,
        )


def wants(goal: SquareGoal, method: Method) -> bool:
    return goal.drawing_wanted if method == Method.DRAWING else goal.photographs_wanted


def goals_of(season: Season, squares: Squares, stage: Stage | None) -> dict[UUID, SquareGoal]:
    """By square: its goal in the stage, or where none is given in the latest one open for it."""
    goals = SquareGoal.objects.standing().filter(
        stage__season=season, stage__voided_at=None, square__in=squares
    )
    if stage is not None:
        goals = goals.filter(stage=stage)
    return {goal.square_id: goal for goal in goals.select_related("stage").order_by("stage__order")}


def evidence_of(season: Season | None, squares: Squares) -> EvidenceBySquare:
    """What is known of the squares in a season; with None in all seasons of their site."""
    said, cards_wait = _said(season, squares)
    return EvidenceBySquare(
        needed_fraction=season.coverage_needed_fraction if season else None,
        said=said,
        cards_wait=cards_wait,
        exceptions=_exceptions(season, squares),
        drawn=_drawn(season, squares),
        covered=_covered(season, squares),
        disagreeing=disagreeing(season, squares),
    )


def _in(season: Season | None, path: str) -> dict[str, Season]:
    return {} if season is None else {path: season}


def _said(season: Season | None, squares: Squares) -> tuple[dict[Any, Said], set[Surface]]:
    """The latest task of a square, stage and method; and where a dive's card is being taken in.

    Who did not start has said nothing of the square, nor has a pair that is still down there.
    """
    arriving = Card.objects.standing().filter(dive=OuterRef("dive"), state=CardState.ARRIVING)
    tasks = (
        DiveTask.objects.standing()
        .filter(**_in(season, "dive__season"))
        .filter(dive__voided_at=None, method__in=RECORDING)
        .filter(square__in=squares)
        .exclude(outcome=Outcome.NOT_STARTED)
        .annotate(card_waits=Exists(arriving))
        .order_by("dive__left_surface_at", "made_at")
        .values_list("square_id", "stage_id", "method", "outcome", "dive__n", "card_waits")
    )
    said, cards_wait = {}, set()
    for square, stage, method, outcome, n, card_waits in tasks:
        said[square, stage, method] = Said(outcome, n)
        if card_waits and method == TaskMethod.PHOTOGRAPHS:
            cards_wait.add((square, stage))
    return said, cards_wait


def _exceptions(season: Season | None, squares: Squares) -> dict[tuple[UUID, str], Excepted]:
    accepted = SquareException.objects.standing().filter(
        goal__square__in=squares, **_in(season, "goal__stage__season")
    )
    return {
        (goal, method): Excepted(str(ExceptionKind(kind).label), reason)
        for goal, method, kind, reason in accepted.values_list(
            "goal_id", "method", "kind", "reason"
        )
    }


def _drawn(season: Season | None, squares: Squares) -> dict[Surface, tuple[Drawn, ...]]:
    latest = latest_check()
    drawings = (
        DrawnSquare.objects.standing()
        .filter(**_in(season, "drawing__season"))
        .filter(drawing__voided_at=None, square__in=squares)
        .annotate(
            verdict=Subquery(latest.values("verdict")[:1]),
            why=Subquery(latest.values("why")[:1]),
            fault=Subquery(latest.values("words")[:1]),
        )
        .order_by("made_at")
        .values_list("square_id", "stage_id", "drawing__n", "extent", "verdict", "why", "fault")
    )
    found: dict[Surface, list[Drawn]] = defaultdict(list)
    for square, stage, n, extent, verdict, why, fault in drawings:
        accepted = None if verdict is None else verdict == Verdict.ACCEPTED
        drawn = Drawn(extent == Extent.WHOLE, accepted, _fault(why, fault), n)
        found[square, stage].append(drawn)
    return {surface: tuple(drawn) for surface, drawn in found.items()}


def _fault(why: str | None, words: str | None) -> str:
    """The check's own words tell more than the reason that was ticked."""
    return words or (str(RedoReason(why).label) if why else "")


def _covered(season: Season | None, squares: Squares) -> dict[Surface, float]:
    coverages = SquareCoverage.objects.standing().filter(
        square__in=squares, **_in(season, "stage__season")
    )
    return {
        (square, stage): fraction
        for square, stage, fraction in coverages.values_list("square_id", "stage_id", "fraction")
    }
