"""Where the one button of a square's page leads."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.urls import NoReverseMatch, reverse

from records.models import Season
from records.queries.square_missing import Step
from records.queries.square_page import SquarePage


@dataclass(frozen=True)
class Button:
    words: str
    url: str


def button_of(step: Step, page: SquarePage, season: Season) -> Button | None:
    """None where there is nothing to do, or no page yet on which to do it."""
    name, more, query = _door(step, page)
    if not name:
        return None
    try:
        url = reverse(name, kwargs={"season_code": season.code} | more)
    except NoReverseMatch:
        return None
    return Button(str(step.label), f"{url}?{urlencode(query)}" if query else url)


def _door(step: Step, page: SquarePage) -> tuple[str, dict[str, Any], dict[str, Any]]:
    """The page's name, what its address needs, and what it is told."""
    state = page.state
    match step:
        case Step.LOG_DIVE:
            stage = {"stage": state.stage.pk} if state.stage else {}
            return "dive_new", {}, {"square": state.label} | stage
        case Step.DECIDE if state.goal:
            return "goal", {"goal_id": state.goal.pk}, {}
        case Step.OPEN_STAGE:
            return "stages", {}, {"squares": state.label}
        case Step.BRING_IN_DRAWING:
            return "drawing_new", {}, {"squares": state.label}
    return "", {}, {}
