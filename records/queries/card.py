"""One square in one stage, close up: its state, who said what, and what was excepted."""

from dataclasses import dataclass

from records.models import Card, CardState, DiveTask, Season, SquareException, TaskMethod
from records.queries.squares import SquareState


@dataclass(frozen=True)
class SquareCard:
    state: SquareState
    tasks: list[DiveTask]
    exceptions: list[SquareException]


def card_of(season: Season, state: SquareState) -> SquareCard:
    """Divers' tasks and the lead's exceptions on the square in its stage, the latest first."""
    if state.stage is None:
        return SquareCard(state, [], [])
    tasks = (
        DiveTask.objects.standing()
        .filter(square=state.id, stage=state.stage, dive__voided_at=None, dive__season=season)
        .select_related("dive__season", "dive__day")
        .order_by("-dive__left_surface_at", "made_at")
    )
    return SquareCard(state, list(tasks), exceptions_of([state]))


def card_coming_in(state: SquareState) -> Card | None:
    """Of a dive that photographed the square; the latest begun."""
    cards = Card.objects.standing().filter(
        state=CardState.ARRIVING,
        dive__tasks__square=state.id,
        dive__tasks__stage=state.stage,
        dive__tasks__method=TaskMethod.PHOTOGRAPHS,
    )
    return cards.order_by("-made_at").first()


def exceptions_of(states: list[SquareState]) -> list[SquareException]:
    goals = [one.goal for one in states if one.goal and one.has_exception]
    if not goals:
        return []
    accepted = SquareException.objects.standing().filter(goal__in=goals)
    return list(
        accepted.select_related("goal__stage", "made_by").order_by(
            "goal__square__column", "goal__square__row", "method"
        )
    )
