"""From the page of a square to its neighbours, and to the same square in other stages."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from records.models import Season
from records.queries.square_page import Asked, SquarePage
from records.queries.squares import SquareState
from records.views.square_choice import query_of


@dataclass(frozen=True)
class Way:
    """To a neighbour: the key that leads there, its words, its address or nothing."""

    key: str
    arrow: str
    words: str
    label: str
    url: str


def ways_from(page: SquarePage, season: Season, asked: Asked) -> list[Way]:
    there = query_of(asked, drawing=None, frame="")
    near = page.neighbours
    told = (
        ("ArrowLeft", "←", _("left"), near.left),
        ("ArrowUp", "↑", _("up"), near.up),
        ("ArrowDown", "↓", _("down"), near.down),
        ("ArrowRight", "→", _("right"), near.right),
    )
    code = page.square.grid.code
    return [
        Way(
            key,
            arrow,
            words,
            label or "",
            reverse("square", args=[season.code, code, label]) + there if label else "",
        )
        for key, arrow, words, label in told
    ]


@dataclass(frozen=True)
class Surface:
    """A stage of this or another season of the same square, and how it stands there."""

    state: SquareState
    url: str
    is_shown: bool
    is_elsewhere: bool


def surface_links(page: SquarePage, season: Season, asked: Asked) -> list[Surface]:
    """The latest first."""
    links = []
    for state in reversed(page.surfaces):
        if state.stage is None:
            continue
        of = state.stage.season
        query = query_of(asked, stage=state.stage, drawing=None, frame="")
        place = [of.code, page.square.grid.code, state.place]
        links.append(
            Surface(
                state,
                reverse("square", args=place) + query,
                state.stage == page.state.stage,
                of != season,
            )
        )
    return links
