"""Frames of a photo run laid onto its stations by anchors, rhythm and what the pictures share.

Between anchors (`survey.anchors`) the frames are counted; their times, and shifts measured between
pictures where there are any, tell frames taken again, stations passed over and strays. Where they
do not tell, the result says so of each frame that it concerns (`survey.station_chain`). By times
alone a frame that takes the place and the time of a missing one is not noticed.
"""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import pairwise

import numpy as np

from survey.anchors import (
    SURE,
    Anchor,
    AnchoredLaying,
    AnchorKind,
    Likeness,
    kind_of,
    rank,
    row_named,
)
from survey.errors import Unfit, gettext_noop
from survey.laying_doubts import Run, Stand, told
from survey.points import FloatArray
from survey.station_chain import BoolArray, Chain, Link, Places, likeliest_chain
from survey.stations import Shot, in_order

# Frames that must stand somewhere; and those of which the interval to the next is one of a row.
_PLACED = {
    AnchorKind.ROW_BEGINS,
    AnchorKind.ROW_ENDS,
    AnchorKind.AT_STATION,
    AnchorKind.AT_ONE_OF,
}
_MAY_STEP = {None, AnchorKind.AT_STATION, AnchorKind.AT_ONE_OF}


def lay_anchored(
    shots: Iterable[Shot],
    rows: Sequence[int],
    anchors: Mapping[str, Anchor],
    *,
    fill: Collection[int] | None = None,
    interval_s: float | None = None,
    likenesses: Iterable[Likeness] = (),
) -> AnchoredLaying | Unfit:
    """Frames in order of time onto the stations of a run.

    `rows`: stations of each row, ≥ 1; stations count from 0 over the run. `anchors`: frames' keys
    → what they say. `fill`: stations to which unanchored frames may go, all unless given; a row
    that an anchor names and that has none of them may be taken again whole. `interval_s`: the usual
    one between two stations, found from the times unless given. Unfit: anchors that go back along
    the run. Raises ValueError for a run without stations, an anchor beyond it or of an unknown
    frame, or an unknown frame in a likeness.
    """
    ordered = in_order(shots)
    keys = [shot.key for shot in ordered]
    _check(keys, rows, anchors)
    places = _places(rows, fill, anchors)
    backwards = _backwards(ordered, rows, anchors)
    if backwards is not None:
        return backwards
    walk = [shot for shot in ordered if kind_of(anchors, shot.key) is not AnchorKind.ASIDE]
    links = _links(walk, keys, likenesses)
    usual = interval_s or _usual(walk, anchors, links)
    allowed = np.array([_allowed(anchors.get(shot.key), places) for shot in walk])
    allowed = allowed.reshape(len(walk), len(places.station))
    placed = np.array([kind_of(anchors, shot.key) in _PLACED for shot in walk], dtype=np.bool_)
    chain = likeliest_chain(places, _in_intervals(walk, usual), allowed, placed, links)
    if chain is None:
        chain = Chain(np.full(len(walk), -1), np.zeros(len(walk)))
    chain.certainty[_lone(chain, places, links) & ~placed] *= SURE - 0.01
    stands = {
        shot.key: Stand(int(at), int(places.station[at]) if at >= 0 else -1, float(sure))
        for shot, at, sure in zip(walk, chain.place, chain.certainty, strict=True)
    }
    return told(ordered, stands, Run(rows, anchors, usual))


def _check(keys: Sequence[str], rows: Sequence[int], anchors: Mapping[str, Anchor]) -> None:
    if not rows or min(rows) < 1:
        raise ValueError(f"A run has rows of one station or more, not {list(rows)!r}.")
    for key, anchor in anchors.items():
        if key not in keys:
            raise ValueError(f"No frame {key!r} is laid here.")
        if anchor.kind is AnchorKind.AT_ONE_OF:
            if not anchor.among or not all(0 <= at < sum(rows) for at in anchor.among):
                raise ValueError(f"A run of rows {list(rows)!r} has no place for {anchor!r}.")
            continue
        limits = {AnchorKind.AT_STATION: sum(rows), AnchorKind.RUN_BOARD: 0, AnchorKind.ASIDE: 0}
        limit = limits.get(anchor.kind, len(rows))
        if limit and not 0 <= anchor.number < limit:
            raise ValueError(f"A run of rows {list(rows)!r} has no place for {anchor!r}.")


def _places(
    rows: Sequence[int], fill: Collection[int] | None, anchors: Mapping[str, Anchor]
) -> Places:
    named = {row_named(anchor, rows) for anchor in anchors.values()}
    held = {one.number for one in anchors.values() if one.kind is AnchorKind.AT_STATION}
    for one in anchors.values():
        if fill is not None and not set(one.among) & set(fill):
            held |= set(one.among)
    station, row, first = [], [], 0
    for number, count in enumerate(rows):
        every = list(range(first, first + count))
        kept = every if fill is None else [at for at in every if at in fill or at in held]
        if number in named and not kept:
            kept = every
        station += [-1, *kept, -1]
        row += [number] * (len(kept) + 2)
        first += count
    return Places(np.array(station), np.array(row))


def _backwards(
    ordered: Sequence[Shot], rows: Sequence[int], anchors: Mapping[str, Anchor]
) -> Unfit | None:
    before: tuple[float, str] | None = None
    for shot in ordered:
        at = rank(anchors[shot.key], rows) if shot.key in anchors else None
        if at is None:
            continue
        if before is not None and at < before[0]:
            sentence = gettext_noop(
                "By their boards and tags the frames go back along the run: %(later)s was taken "
                "after %(earlier)s but belongs before it. Leave out the tries that do not count, "
                "or lay these frames by hand."
            )
            return Unfit("anchors-go-back", sentence, {"later": shot.name, "earlier": before[1]})
        before = (at, shot.name)
    return None


def _allowed(anchor: Anchor | None, places: Places) -> BoolArray:
    if anchor is None:
        return places.is_station
    if anchor.kind is AnchorKind.AT_STATION:
        return np.asarray(places.station == anchor.number)
    if anchor.kind is AnchorKind.AT_ONE_OF:
        return np.asarray(np.isin(places.station, anchor.among))
    board = ~places.is_station
    if anchor.kind is AnchorKind.RUN_BOARD:
        return board
    board &= places.row == anchor.number
    first = np.flatnonzero(board)[0 if anchor.kind is AnchorKind.ROW_BEGINS else -1]
    return np.asarray(np.arange(len(board)) == first)


def _links(
    walk: Sequence[Shot], keys: Collection[str], likenesses: Iterable[Likeness]
) -> dict[tuple[int, int], Link]:
    index = {shot.key: n for n, shot in enumerate(walk)}
    links = {}
    for one in likenesses:
        for key in (one.before, one.after):
            if key not in keys:
                raise ValueError(f"No frame {key!r} is laid here.")
        i, j = index.get(one.before), index.get(one.after)
        if i is None or j is None or i == j:
            continue
        offset = one.offset_steps
        if i > j:
            i, j, offset = j, i, None if offset is None else -offset
        links[i, j] = Link(offset, one.sigma_steps)
    return links


def _usual(
    walk: Sequence[Shot], anchors: Mapping[str, Anchor], links: Mapping[tuple[int, int], Link]
) -> float | None:
    """The median interval: of neighbours one step apart by their pictures, else of all frames."""
    every, one_step = [], []
    for n, (one, other) in enumerate(pairwise(walk)):
        if one.taken_s is None or other.taken_s is None:
            continue
        if {kind_of(anchors, one.key), kind_of(anchors, other.key)} - _MAY_STEP:
            continue
        every.append(other.taken_s - one.taken_s)
        link = links.get((n, n + 1))
        if link and link.offset_steps is not None and abs(link.offset_steps - 1.0) < 0.4:
            one_step.append(every[-1])
    intervals = one_step if len(one_step) >= 3 else every
    usual = float(np.median(intervals)) if len(intervals) >= 3 else 0.0
    return usual if usual > 0.0 else None


def _in_intervals(walk: Sequence[Shot], usual_s: float | None) -> FloatArray:
    if usual_s is None:
        return np.full(len(walk), math.nan)
    taken = [math.nan if shot.taken_s is None else shot.taken_s for shot in walk]
    return np.array(taken) / usual_s


def _lone(chain: Chain, places: Places, links: Mapping[tuple[int, int], Link]) -> BoolArray:
    """(n,) frames that were compared with one a step away in their row, and share no
    ground with any of those: however well their times fit, they may be strays."""
    shares = np.zeros(len(chain.place), dtype=np.bool_)
    compared = shares.copy()
    for (i, j), link in links.items():
        one, other = chain.place[i], chain.place[j]
        if min(one, other) < 0 or places.row[one] != places.row[other]:
            continue
        if min(places.station[one], places.station[other]) < 0:
            continue
        if abs(int(places.station[other] - places.station[one])) > 1:
            continue
        compared[[i, j]] = True
        shares[[i, j]] |= link.offset_steps is not None
    return np.asarray(compared & ~shares)
