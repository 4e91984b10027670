"""Which squares film may show: those that still want a drawing, the likeliest first."""

from dataclasses import dataclass
from uuid import UUID

from records.models import Dive, DiveTask, Season, TaskMethod
from records.queries.evidence import State
from records.queries.squares import SquareState, grids_of, states_of

A_FEW = 8


@dataclass(frozen=True)
class ToDraw:
    """`likely`: drawn on the dive that is meant, else said drawn by divers while nothing has come
    in; `all`: whatever wants a drawing, these first."""

    dive: Dive | None
    likely: list[SquareState]
    all: list[SquareState]
    is_of_dive: bool


def squares_to_draw(season: Season, dive: Dive | None) -> ToDraw:
    """A constant number of queries."""
    states = states_of(season, grids_of(season.site))
    drew: set[UUID | None] = set()
    if dive is not None:
        tasks = DiveTask.objects.standing().filter(dive=dive, method=TaskMethod.DRAWING)
        drew = set(tasks.values_list("square_id", flat=True))
    wanted = [one for one in states if one.drawing.is_missing]
    of_dive = [one for one in wanted if one.id in drew]
    open_ends = [one for one in wanted if one.drawing.state != State.WAITING and one.id not in drew]
    said = [one for one in open_ends if one.drawing.state == State.SAID_DONE]
    others = [one for one in open_ends if one.drawing.state != State.SAID_DONE]
    likely = (of_dive or said)[:A_FEW]
    return ToDraw(dive, likely, [*of_dive, *said, *others], is_of_dive=bool(of_dive))


def dive_meant(season: Season, dive: str, diver: str) -> Dive | None:
    """The dive that is chosen, else the last one on which the diver that is chosen drew."""
    dives = Dive.objects.standing().filter(season=season)
    if (key := _key(dive)) is not None:
        return dives.filter(pk=key).first()
    if (key := _key(diver)) is None:
        return None
    drew = dives.filter(members__diver=key, tasks__method=TaskMethod.DRAWING, tasks__voided_at=None)
    return drew.order_by("-left_surface_at").first()


def _key(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
