"""Where the one button of a square's page leads."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from records.models import Season
from records.queries.card import card_coming_in
from records.queries.square_next import Step
from records.queries.square_page import SquarePage


@dataclass(frozen=True)
class Button:
    words: str
    url: str


def button_of(step: Step, page: SquarePage, season: Season) -> Button | None:
    """None where there is nothing to do."""
    name, more, query = _door(step, page)
    if not name:
        return None
    url = reverse(name, kwargs={"season_code": season.code} | more)
    return Button(str(step.label), f"{url}?{urlencode(query)}" if query else url)


def _door(step: Step, page: SquarePage) -> tuple[str, dict[str, Any], dict[str, Any]]:
    """The page's name, what its address needs, and what it is told."""
    state, label = page.state, page.state.label
    match step:
        case Step.CHECK_DRAWING:
            return "drawing_check", {"drawn_id": page.drawing.waiting[0].pk}, {}
        case Step.GO_ON_WITH_CARD:
            card = card_coming_in(state)
            return ("card", {"card_id": card.pk}, {}) if card else ("", {}, {})
        case Step.BRING_IN_DRAWING:
            return "drawing_new", {}, {"squares": label, "dive": page.known.awaited_drawing}
        case Step.BRING_IN_CARD:
            return "card_new", {}, {"dive": _dive(page, page.known.awaited_photographs)}
        case Step.DECIDE if state.goal:
            return "goal", {"goal_id": state.goal.pk}, {}
        case Step.LOG_DIVE:
            stage = {"stage": state.stage.pk} if state.stage else {}
            return "dive_new", {}, {"square": label} | stage
        case Step.OPEN_STAGE:
            return "stages", {}, {"squares": label}
    return "", {}, {}


def _dive(page: SquarePage, n: int | None) -> Any:
    return next(task.dive_id for task in page.evidence.tasks if task.dive.n == n)
