"""What a proposal says of frames, stations and rows: the reasons in words.

Sentences stand beside a frame, a station or a row, which they call "it" or "this".
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from survey.anchors import (
    SURE,
    Anchor,
    AnchoredLaying,
    AnchorKind,
    Doubt,
    kind_of,
    row_named,
    row_of,
)
from survey.errors import Unfit, gettext_noop
from survey.stations import Laid, Shot

_BOARDS = (AnchorKind.RUN_BOARD, AnchorKind.ROW_BEGINS, AnchorKind.ROW_ENDS)


@dataclass(frozen=True)
class Run:
    """What is known of the run: stations of each row, anchors by key, the usual interval in s."""

    rows: Sequence[int]
    anchors: Mapping[str, Anchor]
    usual_s: float | None


@dataclass(frozen=True)
class Stand:
    """Where a frame stands: its place in the line of places (−1: none), its station over the run
    (−1: none), and how sure that is, 0 … 1."""

    place: int
    station: int
    certainty: float


def told(ordered: Sequence[Shot], stands: Mapping[str, Stand], run: Run) -> AnchoredLaying:
    """The proposal with its doubts; `ordered`: the frames in order of time, `stands` by key.

    Frames aside have no stand. Of several frames on one station the last keeps it.
    """
    keeps = {stands[shot.key].station: shot for shot in ordered if shot.key in stands}
    on = {shot.key: station for station, shot in keeps.items() if station >= 0}
    spare = tuple(shot.key for shot in ordered if shot.key not in on)
    rows = _anchored_rows(ordered, run)
    doubts = (
        *_of_frames(ordered, stands, keeps, run),
        *_of_stations(ordered, stands, on, run),
        *_of_rows({row_of(station, run.rows) for station in on.values()}, rows),
    )
    certainty = {key: stand.certainty for key, stand in stands.items()}
    laid = Laid(sum(run.rows), on, spare)
    return AnchoredLaying(laid, doubts, certainty, run.usual_s, rows)


def _of_frames(
    ordered: Sequence[Shot], stands: Mapping[str, Stand], keeps: Mapping[int, Shot], run: Run
) -> Iterator[Doubt]:
    used = [n for n, shot in enumerate(ordered) if stands.get(shot.key, _NOWHERE).place >= 0]
    boards = [n for n in used if kind_of(run.anchors, ordered[n].key) in _BOARDS]
    for n, shot in enumerate(ordered):
        stand = stands.get(shot.key)
        if stand is None or kind_of(run.anchors, shot.key) in _BOARDS:
            continue
        if stand.place < 0:
            first = bool(boards) and n < boards[0] and n < used[0]
            yield Doubt(_stray(first, not used or n > used[-1]), shot.key)
        elif keeps[stand.station] is not shot:
            yield Doubt(_taken_again(shot, keeps[stand.station]), shot.key, stand.station)
        if stand.certainty < SURE:
            yield Doubt(_unsure(stand), shot.key, stand.station if stand.place >= 0 else None)


_NOWHERE = Stand(-1, -1, 0.0)


def _stray(before_board: bool, after_all: bool) -> Unfit:
    if before_board:
        return Unfit("before-board", gettext_noop("It was taken before the board of the run."))
    if after_all:
        sentence = gettext_noop("It was taken after the last frame that has a station.")
        return Unfit("after-end", sentence)
    sentence = gettext_noop("It is one too many here: it fits no station between its neighbours.")
    return Unfit("stray", sentence)


def _taken_again(shot: Shot, kept: Shot) -> Unfit:
    if shot.taken_s is None or kept.taken_s is None:
        sentence = gettext_noop("Its station was taken again: %(name)s stands there.")
        return Unfit("taken-again", sentence, {"name": kept.name})
    sentence = gettext_noop(
        "Its station was taken again %(seconds)s s later: %(name)s stands there."
    )
    seconds = f"{kept.taken_s - shot.taken_s:.0f}"
    return Unfit("taken-again", sentence, {"name": kept.name, "seconds": seconds})


def _unsure(stand: Stand) -> Unfit:
    if stand.place < 0:
        sentence = gettext_noop(
            "It is not sure that it belongs to no station: times and pictures do not tell."
        )
        return Unfit("unsure", sentence)
    sentence = gettext_noop(
        "It is not sure that it stands on this station: times and pictures do not tell a pause "
        "from a station passed over, or a stray frame from one of the run."
    )
    return Unfit("unsure", sentence)


def _of_stations(
    ordered: Sequence[Shot], stands: Mapping[str, Stand], on: Mapping[str, int], run: Run
) -> Iterator[Doubt]:
    """Stations without a frame between two that have one, or a board of their row."""
    placed = [shot for shot in ordered if stands.get(shot.key, _NOWHERE).place >= 0]
    for one, other in pairwise(placed):
        for station in range(*_between(one, other, on, run)):
            yield Doubt(_passed_over(one, other, on, run), station=station)


def _between(one: Shot, other: Shot, on: Mapping[str, int], run: Run) -> tuple[int, int]:
    """The first station after one frame, and that of the other or past the last before it."""
    anchor = run.anchors.get(one.key), run.anchors.get(other.key)
    begins, ends = (None if each is None else row_named(each, run.rows) for each in anchor)
    first = last = None
    if one.key in on:
        first = on[one.key] + 1
    elif begins is not None:
        first = sum(run.rows[: begins + (kind_of(run.anchors, one.key) is AnchorKind.ROW_ENDS)])
    if other.key in on:
        last = on[other.key]
    elif ends is not None:
        last = sum(run.rows[: ends + (kind_of(run.anchors, other.key) is AnchorKind.ROW_ENDS)])
    return (0, 0) if first is None or last is None else (first, last)


def _passed_over(one: Shot, other: Shot, on: Mapping[str, int], run: Run) -> Unfit:
    seconds = None
    if one.taken_s is not None and other.taken_s is not None:
        seconds = f"{other.taken_s - one.taken_s:.0f}"
    if seconds is None or run.usual_s is None or not {one.key, other.key} <= on.keys():
        return Unfit("passed-over", gettext_noop("No frame was taken of this station."))
    sentence = gettext_noop(
        "No frame was taken of this station: from %(one)s to %(other)s it took %(seconds)s s, "
        "usually a step takes %(usual)s s."
    )
    values = {"one": one.name, "other": other.name, "usual": f"{run.usual_s:.0f}"}
    return Unfit("passed-over", sentence, {**values, "seconds": seconds})


def _anchored_rows(ordered: Sequence[Shot], run: Run) -> dict[int, bool]:
    """Rows with an anchor → whether it holds both their ends."""
    begins, ends, inside = set(), set(), set()
    first = [shot.key for shot in ordered if shot.key in run.anchors][:1]
    for key, anchor in run.anchors.items():
        row = row_named(anchor, run.rows)
        if row is None:
            begins |= {0} if anchor.kind is AnchorKind.RUN_BOARD and [key] == first else set()
            continue
        inside.add(row)
        start, past = sum(run.rows[:row]), sum(run.rows[: row + 1])
        at = anchor.number if anchor.kind is AnchorKind.AT_STATION else -1
        if anchor.kind is AnchorKind.ROW_BEGINS or at == start:
            begins.add(row)
            ends.add(row - 1)
        if anchor.kind is AnchorKind.ROW_ENDS or at == past - 1:
            ends.add(row)
            begins.add(row + 1)
    rows = range(len(run.rows))
    return {row: row in begins & ends for row in rows if row in inside | begins | ends}


def _of_rows(rows: set[int], anchored: Mapping[int, bool]) -> Iterator[Doubt]:
    for row in sorted(rows):
        if row not in anchored:
            sentence = gettext_noop(
                "No board or tag says where this row is: it may be shifted as a whole."
            )
            yield Doubt(Unfit("row-not-anchored", sentence), row=row)
        elif not anchored[row]:
            sentence = gettext_noop(
                "Only one place of this row is held by a board or tag: from a station wrongly "
                "counted on, its frames may be shifted."
            )
            yield Doubt(Unfit("row-held-once", sentence), row=row)
