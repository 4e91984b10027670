"""Photo runs of a season, and which of their stations have a frame."""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from records.models import Card, CardState, Frame, PhotoRun, Season
from records.queries.run_map import Stands


@dataclass(frozen=True)
class RunShown:
    run: PhotoRun
    stations: int
    with_frame: int
    gaps: list[str]
    cards: list[Card]

    @property
    def arriving(self) -> list[Card]:
        return [card for card in self.cards if card.state == CardState.ARRIVING]

    @property
    def is_whole(self) -> bool:
        return self.with_frame == self.stations


def runs_with_rows(season: Season) -> QuerySet[PhotoRun]:
    return (
        PhotoRun.objects.standing()
        .filter(season=season)
        .select_related("stage", "grid", "set_up")
        .prefetch_related("rows")
    )


def runs_of(season: Season) -> list[RunShown]:
    """A constant number of queries, whatever the number of runs."""
    runs = list(runs_with_rows(season))
    stands = _stations_with_frames(runs)
    cards: dict[Any, list[Card]] = defaultdict(list)
    for card in Card.objects.standing().filter(run__in=runs).select_related("dive__season"):
        cards[card.run_id].append(card)
    return [_shown(run, stands[run.pk], cards[run.pk]) for run in runs]


def run_shown(run: PhotoRun) -> RunShown:
    cards = Card.objects.standing().filter(run=run).select_related("dive__season", "made_by")
    return _shown(run, _stations_with_frames([run])[run.pk], list(cards))


def stands_on(run: PhotoRun) -> dict[int, Stands]:
    """By station, counted from 0: a frame, or none between those that have one."""
    places = _stations_with_frames([run])[run.pk]
    stands = dict.fromkeys(_gaps(places), Stands.GAP)
    return stands | dict.fromkeys(places, Stands.FRAME)


def _stations_with_frames(runs: list[PhotoRun]) -> dict[Any, set[int]]:
    places = {key: place for run in runs for key, place in run.places.items()}
    found: dict[Any, set[int]] = defaultdict(set)
    frames = Frame.objects.filter(card__run__in=runs, is_kept=True, photograph__voided_at=None)
    for run_id, row, station in frames.values_list("card__run_id", "row_id", "station"):
        if (row, station) in places:
            found[run_id].add(places[row, station])
    return found


def _shown(run: PhotoRun, places: set[int], cards: list[Card]) -> RunShown:
    gaps = [run.station_words(place) for place in _gaps(places)]
    return RunShown(run, len(run.stations), len(places), gaps, cards)


def _gaps(places: set[int]) -> list[int]:
    if not places:
        return []
    return [place for place in range(min(places), max(places)) if place not in places]
