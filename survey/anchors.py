"""What tells where the frames of a run stand, and what a proposal says of them.

An anchor is a frame that says where the run is: a row's board, the run's board, a square's tag
beside a station. A likeness is what two pictures share, measured elsewhere.
"""

import enum
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from survey.errors import Unfit
from survey.stations import Laid

# A frame less sure of its station than this is told; set on the same runs as the weights of
# `survey.station_chain`.
SURE = 0.97


class AnchorKind(enum.StrEnum):
    """What a frame says of where the run is; the value is its name in records."""

    RUN_BOARD = "run-board"
    ROW_BEGINS = "row-begins"
    ROW_ENDS = "row-ends"
    AT_STATION = "at-station"
    AT_ONE_OF = "at-one-of"
    ASIDE = "aside"


@dataclass(frozen=True)
class Anchor:
    """A frame that tells where the run is.

    RUN_BOARD: before, after or between rows, on no station. ROW_BEGINS, ROW_ENDS: `number` is the
    row, from 0; on no station. AT_STATION: `number` is the station over the run, from 0, on which
    the frame stands; AT_ONE_OF: on one of the stations `among`. ASIDE: a colour card or slate, on
    no station.
    """

    kind: AnchorKind
    number: int = -1
    among: tuple[int, ...] = ()


@dataclass(frozen=True)
class Likeness:
    """What two pictures share: the second shows ground `offset_steps` further along the row, in
    steps of the row; None where no common ground was found. `sigma_steps`: standard deviation."""

    before: str
    after: str
    offset_steps: float | None
    sigma_steps: float = 0.15


@dataclass(frozen=True)
class Doubt:
    """What is odd, in words. About the frame `key`, or a station or row (from 0) without one."""

    told: Unfit
    key: str | None = None
    station: int | None = None
    row: int | None = None


@dataclass(frozen=True)
class AnchoredLaying:
    """The proposal: `laid`, the likeliest; `doubts` with their reasons, frames first, in order.

    `certainty`: key → chance, between 0 and 1, that the frame is rightly on its station or rightly
    on none, as far as anchors hold and times and pictures behave as they mostly do. `interval_s`:
    the usual one; None where no times tell it. `anchored_rows`: those with an anchor, → whether
    both their ends have one.
    """

    laid: Laid
    doubts: tuple[Doubt, ...] = ()
    certainty: Mapping[str, float] = field(default_factory=dict)
    interval_s: float | None = None
    anchored_rows: Mapping[int, bool] = field(default_factory=dict)

    @property
    def held(self) -> Laid:
        """Only the frames that are sure of their station; all others are spare, in order."""
        on = {key: at for key, at in self.laid.on.items() if self.certainty[key] >= SURE}
        unsure = tuple(key for key in self.laid.on if key not in on)
        return Laid(self.laid.stations, on, (*self.laid.spare, *unsure))

    def doubts_of(self, key: str) -> tuple[Doubt, ...]:
        """What is odd about one frame."""
        return tuple(doubt for doubt in self.doubts if doubt.key == key)


def row_of(station: int, rows: Sequence[int]) -> int:
    """The row, from 0, of a station over the run; `rows`: stations of each row."""
    return int(np.searchsorted(np.cumsum(rows), station, side="right"))


def row_named(anchor: Anchor, rows: Sequence[int]) -> int | None:
    """The row that an anchor names; None for a run's board, a frame aside, and stations of several
    rows."""
    if anchor.kind is AnchorKind.AT_ONE_OF:
        named = {row_of(station, rows) for station in anchor.among}
        return named.pop() if len(named) == 1 else None
    if anchor.kind is AnchorKind.AT_STATION:
        return row_of(anchor.number, rows)
    return anchor.number if anchor.kind in (AnchorKind.ROW_BEGINS, AnchorKind.ROW_ENDS) else None


def rank(anchor: Anchor, rows: Sequence[int]) -> float | None:
    """Where along the run an anchor stands, counted in stations; None where it does not say."""
    if anchor.kind is AnchorKind.AT_STATION:
        return float(anchor.number)
    if anchor.kind is AnchorKind.ROW_BEGINS:
        return sum(rows[: anchor.number]) - 0.25
    if anchor.kind is AnchorKind.ROW_ENDS:
        return sum(rows[: anchor.number + 1]) - 0.75
    return None


def kind_of(anchors: Mapping[str, Anchor], key: str) -> AnchorKind | None:
    """What the frame `key` is an anchor of; None for a frame that is none."""
    return anchors[key].kind if key in anchors else None
