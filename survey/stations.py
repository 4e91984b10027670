"""Frames of a photo run in the order they were taken, laid onto its stations in order.

Stations are counted from 0 over the whole run: row after row, in each row in its direction. A
frame is known by a key. What a person then mends (one station on, one back, two exchanged) is a
new `Laid`; nothing here decides which frame is good.
"""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from survey.errors import Unfit, gettext_noop

_DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True)
class Shot:
    """A photograph as it came: its file's name, and when it was taken on the camera's clock, in
    seconds from any fixed moment; None where the file does not say."""

    key: str
    name: str
    taken_s: float | None = None


@dataclass(frozen=True)
class Laid:
    """Which frame stands on which station: `on`, key → station; `spare` frames stand on none.

    Raises ValueError where two frames share a station, one is named twice, or a station is not
    in 0 … `stations` − 1.
    """

    stations: int
    on: Mapping[str, int] = field(default_factory=dict)
    spare: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        places = list(self.on.values())
        if len(set(places)) != len(places):
            raise ValueError(f"Two frames stand on one station: {dict(self.on)!r}.")
        if not all(0 <= place < self.stations for place in places):
            raise ValueError(f"A run of {self.stations!r} stations has none of {places!r}.")
        if len({*self.on, *self.spare}) != len(self.on) + len(self.spare):
            raise ValueError(f"A frame is laid twice: {dict(self.on)!r}, {self.spare!r}.")

    @property
    def by_station(self) -> dict[int, str]:
        """Station → key, in the order of the stations."""
        return dict(sorted((place, key) for key, place in self.on.items()))

    @property
    def gaps(self) -> tuple[int, ...]:
        """Stations without a frame between the first and the last that have one."""
        taken = set(self.on.values())
        if not taken:
            return ()
        return tuple(place for place in range(min(taken), max(taken)) if place not in taken)


def in_order(shots: Iterable[Shot]) -> list[Shot]:
    """The shots in the order they were taken.

    By time, of one time by name; names count their digits as numbers (2 before 10). A shot that
    does not say its time comes after the last timed shot whose name stands before its own.
    """
    every = list(shots)
    timed = sorted(
        (shot for shot in every if shot.taken_s is not None),
        key=lambda shot: (shot.taken_s, _as_read(shot.name), shot.key),
    )
    untimed = sorted(
        (shot for shot in every if shot.taken_s is None),
        key=lambda shot: (_as_read(shot.name), shot.key),
    )
    names = [_as_read(shot.name) for shot in timed]
    after: dict[int, list[Shot]] = {}
    for shot in untimed:
        before = [n for n, name in enumerate(names) if name < _as_read(shot.name)]
        after.setdefault(before[-1] if before else -1, []).append(shot)
    ordered = after.get(-1, [])
    for n, shot in enumerate(timed):
        ordered = [*ordered, shot, *after.get(n, [])]
    return ordered


def stations_to_fill(stations: int, taken: Collection[int]) -> list[int]:
    """Onto which stations a further card of a run is laid, in order.

    Those after the last that has a frame; where none is left, those in between that have none;
    where every station has one, all from the first. `taken`: stations that have frames of other
    cards. Raises ValueError for a run without stations.
    """
    if stations < 1:
        raise ValueError(f"A run has at least one station, not {stations!r}.")
    ahead = list(range(max(taken, default=-1) + 1, stations))
    between = [place for place in range(stations) if place not in taken]
    return ahead or between or list(range(stations))


def propose(shots: Iterable[Shot], stations: int, fill: Sequence[int]) -> Laid:
    """Frames in order of time onto the stations `fill` in order; what is left over is spare.

    It skips nothing by itself: a frame taken twice or a station passed over shows at the end, as
    a spare frame or as stations that have none, and a person says where it happened.
    """
    keys = [shot.key for shot in in_order(shots)]
    on = dict(zip(keys, fill, strict=False))
    return Laid(stations, on, tuple(keys[len(on) :]))


def moved_on(laid: Laid, place: int) -> Laid:
    """All frames from station `place` one station on, which leaves it empty.

    A frame pushed off the last station becomes the first spare one.
    """
    moved = {key: at + (at >= place) for key, at in laid.on.items()}
    off = tuple(key for key, at in moved.items() if at == laid.stations)
    on = {key: at for key, at in moved.items() if at < laid.stations}
    return replace(laid, on=on, spare=(*off, *laid.spare))


def moved_back(laid: Laid, place: int) -> Laid | Unfit:
    """All frames from station `place` one station back, onto one that must be empty.

    Where the last station is left free by it, the first spare frame comes onto it, so that this
    undoes `moved_on` on a run that is full from there. Raises ValueError beyond the run's end.
    """
    if place > laid.stations:
        raise ValueError(f"A run of {laid.stations!r} stations has no station {place!r}.")
    if place < 1:
        return Unfit("first-station", gettext_noop("There is no station before the first."))
    if place - 1 in laid.on.values():
        return Unfit(
            "station-taken", gettext_noop("A frame stands on the station before; move it first.")
        )
    on = {key: at - (at >= place) for key, at in laid.on.items()}
    last = laid.stations - 1
    spare = laid.spare
    if spare and (last in laid.on.values() or place == laid.stations):
        on[spare[0]], spare = last, spare[1:]
    return replace(laid, on=on, spare=spare)


def stood_on(laid: Laid, key: str, place: int) -> Laid:
    """One frame onto station `place`; a frame that stands there takes its place in exchange.

    Raises ValueError for an unknown frame.
    """
    on, spare = dict(laid.on), list(laid.spare)
    there = laid.by_station.get(place)
    if there == key:
        return laid
    if key in on:
        on[key], was = place, on[key]
        if there is not None:
            on[there] = was
    else:
        at = _spare_index(laid, key)
        on[key] = place
        if there is not None:
            del on[there]
            spare[at] = there
        else:
            del spare[at]
    return replace(laid, on=on, spare=tuple(spare))


def taken_out(laid: Laid, key: str, *, close_up: bool = False) -> Laid:
    """Without one frame. Its station stays empty, or all after it move one station back.

    Raises ValueError for an unknown frame.
    """
    if key not in laid.on:
        _spare_index(laid, key)
        return replace(laid, spare=tuple(one for one in laid.spare if one != key))
    without = replace(laid, on={one: at for one, at in laid.on.items() if one != key})
    if not close_up:
        return without
    closed = moved_back(without, laid.on[key] + 1)
    assert isinstance(closed, Laid)  # the station before was just emptied
    return closed


def put_in(laid: Laid, key: str, place: int | None) -> Laid:
    """One frame more: onto station `place` if that is empty, else to the spare ones."""
    if place is None or not 0 <= place < laid.stations or place in laid.on.values():
        return replace(laid, spare=(*laid.spare, key))
    return replace(laid, on={**laid.on, key: place})


def _spare_index(laid: Laid, key: str) -> int:
    if key not in laid.spare:
        raise ValueError(f"No frame {key!r} is laid here.")
    return laid.spare.index(key)


def _as_read(name: str) -> tuple[tuple[str, int], ...]:
    """Letters folded, digits as numbers: IMG_2 before IMG_10."""
    parts = [*_DIGITS.split(name.casefold()), "0"]
    return tuple((text, int(digits)) for text, digits in zip(parts[::2], parts[1::2], strict=True))
