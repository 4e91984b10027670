"""The verdict on a run, in words: may the rails move, and if not, what is shot again and why."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.utils.formats import localize
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.intake.run_verdict import (
    HoleFound,
    LookedAt,
    Opinion,
    RunVerdict,
    still_looked_at,
    verdict_of,
)
from records.models import PhotoRun, Square
from records.queries.square_missing import area_words, where_words

MOST_SQUARES = 2
SquareHoles = tuple[Square, tuple[HoleFound, ...]]


@dataclass(frozen=True)
class VerdictShown:
    """`sentence` is the answer; `notes` what a lead would ask next; `again` stations from 0."""

    is_good: bool
    is_waiting: bool
    sentence: str
    notes: list[str]
    again: tuple[int, ...]
    holes_m: list[list[tuple[float, float]]]


def run_verdict(run: PhotoRun, opinion: Opinion | None = None) -> VerdictShown | None:
    """None before any frame of the run is kept."""
    verdict = verdict_of(run, opinion)
    return None if verdict is None else shown(verdict, still_looked_at(run))


def shown(verdict: RunVerdict, looking: LookedAt | None = None) -> VerdictShown:
    return VerdictShown(
        is_good=verdict.is_good and not looking,
        is_waiting=bool(looking),
        sentence=_waiting(looking) if verdict.is_good and looking else _sentence(verdict),
        notes=[*_others(verdict), *_scope(verdict), *_spared(verdict)],
        again=verdict.found.again,
        holes_m=[one.outline.tolist() for _square, holes in verdict.holes for one in holes],
    )


def _waiting(looking: LookedAt) -> str:
    if not looking.pictures:
        return _("Wait: frames are being compared. By their stations nothing is open.")
    words = ngettext(
        "Wait: %(n)s picture is still being looked at. By their stations nothing is open.",
        "Wait: %(n)s pictures are still being looked at. By their stations nothing is open.",
        looking.pictures,
    )
    return words % {"n": localize(looking.pictures)}


def _sentence(verdict: RunVerdict) -> str:
    if not verdict.is_good:
        return _to_do(verdict)
    if verdict.ahead:
        words = _("Good so far. Still to be photographed: %(stations)s.")
        return words % {"stations": stations_words(verdict.run, verdict.ahead)}
    return _("Good: the rails can move.")


def stations_words(run: PhotoRun, places: Iterable[int]) -> str:
    """Row 1, stations 12 and 14; row 2, station 3."""
    by_row: dict[int, list[int]] = {}
    for place in places:
        row, station = run.stations[place]
        by_row.setdefault(row.order, []).append(station)
    return "; ".join(
        ngettext(
            "row %(row)s, station %(stations)s", "row %(row)s, stations %(stations)s", len(stations)
        )
        % {"row": localize(row), "stations": get_text_list(_stretches(stations), _("and"))}
        for row, stations in by_row.items()
    )


def _stretches(stations: list[int]) -> list[str]:
    """3, 5 to 9: three and more in a row are told by their ends."""
    told = []
    for _shift, group in groupby(enumerate(stations), lambda one: one[1] - one[0]):
        run = [localize(station) for _index, station in group]
        ends = _("%(first)s to %(last)s") % {"first": run[0], "last": run[-1]}
        told += [ends] if len(run) > 2 else run
    return told


def _to_do(verdict: RunVerdict) -> str:
    said = {
        "stations": stations_words(verdict.run, verdict.found.again),
        "holes": _holes(verdict),
    }
    return _("Do not move the rails. Shoot again: %(stations)s. %(holes)s.") % said


def _holes(verdict: RunVerdict) -> str:
    """All where they are few, else the largest: an answer is read in one look."""
    first, rest = _in_turn(verdict)
    told = [_in_square(square, holes, _bearing_deg(verdict)) for square, holes in first]
    if rest:
        words = ngettext("%(n)s more square is short", "%(n)s more squares are short", len(rest))
        told.append(words % {"n": localize(len(rest))})
    return "; ".join(told)


def _in_turn(verdict: RunVerdict) -> tuple[list[SquareHoles], list[SquareHoles]]:
    """The squares that the answer names, and the others."""
    if len(verdict.holes) <= MOST_SQUARES + 1:
        return verdict.holes, []
    largest = sorted(verdict.holes, key=lambda one: -sum(hole.area_m2 for hole in one[1]))
    first = largest[:MOST_SQUARES]
    return first, [one for one in verdict.holes if one not in first]


def _bearing_deg(verdict: RunVerdict) -> float | None:
    grid = verdict.run.grid
    return None if grid.is_upright else grid.bearing_deg


def _in_square(square: Square, holes: Sequence[HoleFound], bearing_deg: float | None) -> str:
    areas = [one.area_m2 for one in holes]
    largest = holes[0]
    said = {
        "square": square.label,
        "area": area_words(largest.area_m2),
        "where": where_words(largest.where, bearing_deg),
        "all": area_words(sum(areas)),
        "n": localize(len(areas)),
    }
    words = ngettext(
        "%(square)s has a hole of %(area)s %(where)s",
        "%(square)s has %(n)s holes of %(all)s in all, the largest (%(area)s) %(where)s",
        len(areas),
    )
    return words % said


def _others(verdict: RunVerdict) -> list[str]:
    _first, rest = _in_turn(verdict)
    if not rest:
        return []
    told = [_in_square(square, holes, _bearing_deg(verdict)) for square, holes in rest]
    return [_("Short as well: %(holes)s.") % {"holes": "; ".join(told)}]


def _scope(verdict: RunVerdict) -> list[str]:
    """What the verdict speaks of, so that nobody takes it for more."""
    needed = {"percent": localize(_percent(verdict.run.season.coverage_needed_fraction))}
    if verdict.are_wanted:
        words = _(
            "It speaks of the squares whose photographs are wanted, as far as the run's stations "
            "reach; %(percent)s %% of each must be shown."
        )
    else:
        words = _(
            "No photographs are wanted of squares under this run, so it speaks of all of them, as "
            "far as the stations reach; %(percent)s %% of each must be shown."
        )
    return [words % needed]


def _percent(fraction: float) -> float | int:
    percent = round(fraction * 100, 1)
    return int(percent) if percent.is_integer() else percent


def _spared(verdict: RunVerdict) -> list[str]:
    if not verdict.found.spared:
        return []
    words = _("No good frame stands on %(stations)s; frames beside show that ground.")
    return [words % {"stations": stations_words(verdict.run, verdict.found.spared)}]
