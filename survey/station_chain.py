"""Which frame stands on which place of a run: the likeliest chain, and how sure each link is.

A run is a line of places: its stations in order, and before and after each row a place where a
board may be photographed. Frames in order of time walk along it: a frame stands on the place of
the frame before (taken again), on a later one (passing over those between), or on none (a stray).
The weight of a chain is the product of

- for each frame on none, `STRAY`; for each station passed over, `PASSED`; for one taken again,
  `AGAIN`;
- within a row, for d steps after Δt: with τ = Δt ÷ usual interval, a log-normal density of τ
  about d (about `AGAIN_AFTER` for d = 0) with a long tail, since divers pause;
- within a row, for d steps and a shift s (in steps) measured between the two pictures: a normal
  density about d, over its density where nothing is known; for no common ground found, its chance.

Sums over all chains by the forward–backward recursion, the likeliest by Viterbi's: L. Rabiner,
"A tutorial on hidden Markov models", *Proceedings of the IEEE* 77 (1989), from memory, here with
frames on none passed over between two links. The weights are judgements, set on the simulated
runs of seeds 1 to 50 of the tests.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from survey.points import FloatArray, IntArray

BoolArray = npt.NDArray[np.bool_]

STRAY = 0.015
PASSED = 0.02
AGAIN = 0.04
AGAIN_AFTER = 0.35
ENDS_EARLY = 0.05

# Frames on none that may lie between two links; before the first and after the last, any number.
MOST_STRAYS = 12
# Chains this much less likely than the best so far (natural logarithm) are not followed.
_BEAM = 35.0
# Between two links at most so many places are passed over, unless an anchor says where it stands.
_MOST_PASSED = 30
_NEVER = -np.inf


@dataclass(frozen=True)
class Link:
    """A shift measured between two pictures, in steps along the row; None where no common ground
    was found. `sigma_steps`: its standard deviation."""

    offset_steps: float | None
    sigma_steps: float


@dataclass(frozen=True, eq=False)
class Places:
    """The line of places. `station` (p,): number over the run, −1 for a board's place; `row` (p,).

    Boards' places stand before and after the stations of their row.
    """

    station: IntArray
    row: IntArray

    @property
    def is_station(self) -> BoolArray:
        """(p,) whether a place is a station."""
        return self.station >= 0


@dataclass(frozen=True, eq=False)
class Chain:
    """The likeliest chain: `place` (n,) of each frame, −1 for none; and of each frame how sure it
    is that it is the last on its place or, with −1, on none: `certainty` (n,), 0 … 1."""

    place: IntArray
    certainty: FloatArray


def likeliest_chain(
    places: Places,
    after: FloatArray,
    allowed: BoolArray,
    placed: BoolArray,
    links: Mapping[tuple[int, int], Link],
) -> Chain | None:
    """The likeliest chain of n frames over p places; None where no chain is possible.

    `after` (n,): times in usual intervals from any moment, NaN where unknown; `allowed` (n, p):
    where a frame may stand; `placed` (n,): frames that must stand somewhere; `links`: (i, j),
    i < j → what their pictures say.
    """
    work = _Work(places, after, allowed, placed, links)
    if not len(after) or not work.forward():
        return None
    work.backward()
    return work.chain()


class _Work:
    """Forward sums and best chains, then backward sums, in logarithms."""

    def __init__(
        self,
        places: Places,
        after: FloatArray,
        allowed: BoolArray,
        placed: BoolArray,
        links: Mapping[tuple[int, int], Link],
    ) -> None:
        self.places, self.after, self.placed, self.links = places, after, placed, links
        self.frames, self.count = allowed.shape
        self.may = np.where(allowed, 0.0, _NEVER)
        self.prior, self.step = _between(places)
        self.open_step = int(self.step.max())
        # What strays cost up to each frame, theirs and their pictures'.
        alone = [_stray_link(links.get((n, n + 1))) for n in range(self.frames - 1)]
        self.apart = np.concatenate([[0.0], np.cumsum(alone)])
        self.strays_before = np.concatenate(
            [[0.0], np.cumsum(np.where(placed, _NEVER, math.log(STRAY)))]
        )
        number = places.is_station.astype(np.int64)
        passed = np.cumsum(number) - number
        self.begin = passed * math.log(PASSED)
        left = number.sum() - passed - number
        self.end = np.where(left > 0, math.log(ENDS_EARLY), 0.0)
        self.sums = np.full((self.frames, self.count), _NEVER)
        self.best = np.full((self.frames, self.count), _NEVER)
        self.came: dict[tuple[int, int], tuple[int, int]] = {}

    def strays(self, first: int, last: int) -> float:
        """Frames `first` … `last` − 1 on none."""
        if self.placed[first:last].any():
            return _NEVER
        return (last - first) * math.log(STRAY)

    def joints(self, j: int) -> Sequence[tuple[int, float]]:
        """Frames that may come before j in the chain, and what the strays between cost."""
        found = []
        for i in range(j - 1, max(-1, j - 2 - MOST_STRAYS), -1):
            cost = self.strays(i + 1, j)
            if i + 1 < j:
                cost += self.apart[j] - self.apart[i]
            if cost > _NEVER:
                found.append((i, cost))
        return found

    def onto(self, j: int, of: IntArray) -> IntArray:
        """The places on which frame j may stand after one on any of `of`."""
        if not len(of):
            return of
        last = self.count if self.placed[j] else int(of.max()) + _MOST_PASSED + 1
        may = self.may[j, of.min() : last] > _NEVER
        return np.asarray(np.flatnonzero(may) + of.min())

    def weights(self, i: int, j: int, of: IntArray, onto: IntArray) -> FloatArray:
        """(len(of), len(onto)): from frame i on the places `of` to frame j on the places `onto`."""
        steps = np.arange(self.open_step)
        table = np.append(
            _log_time(steps, self.after[j] - self.after[i])
            + _log_link(steps, self.links.get((i, j))),
            _log_time_open(self.after[j] - self.after[i]) + _stray_link(self.links.get((i, j))),
        )
        pairs = np.ix_(of, onto)
        return np.asarray(self.prior[pairs] + table[self.step[pairs]])

    def followed(self, i: int) -> IntArray:
        top = self.sums[i].max(initial=_NEVER)
        return np.flatnonzero(self.sums[i] > max(top - _BEAM, -1e300))

    def forward(self) -> bool:
        for j in range(self.frames):
            start = self.strays(0, j) + self.apart[j] + self.begin + self.may[j]
            self.sums[j] = self.best[j] = start
            for i, cost in self.joints(j):
                of = self.followed(i)
                onto = self.onto(j, of)
                if not len(onto):
                    continue
                moves = self.weights(i, j, of, onto) + cost
                arrived = _log_sum(self.sums[i][of, None] + moves)
                self.sums[j, onto] = np.logaddexp(self.sums[j, onto], arrived)
                tried = self.best[i][of, None] + moves
                source, top = tried.argmax(axis=0), tried.max(axis=0)
                for n in np.flatnonzero(top > self.best[j, onto]):
                    self.best[j, onto[n]] = top[n]
                    self.came[j, int(onto[n])] = (i, int(of[source[n]]))
        self.close = np.array([self.closing(i) for i in range(self.frames)])
        self.total = float(_log_sum((self.sums + self.close).reshape(-1)))
        return self.total > _NEVER

    def closing(self, i: int) -> FloatArray:
        """What follows when frame i is the last of the chain."""
        rest = self.strays(i + 1, self.frames) + self.apart[-1] - self.apart[i]
        return np.asarray(self.end + rest)

    def backward(self) -> None:
        self.later = self.close.copy()
        self.onward = self.close.copy()  # the next link on another place
        for j in range(self.frames - 1, -1, -1):
            for i, cost in self.joints(j):
                of = self.followed(i)
                onto = self.onto(j, of)
                if not len(onto):
                    continue
                moves = self.weights(i, j, of, onto) + cost + self.later[j, onto]
                self.later[i][of] = np.logaddexp(self.later[i][of], _log_sum(moves.T))
                moves[of[:, None] == onto[None, :]] = _NEVER
                self.onward[i][of] = np.logaddexp(self.onward[i][of], _log_sum(moves.T))

    def chain(self) -> Chain:
        place = np.full(self.frames, -1)
        at: tuple[int, int] | None
        i, p = np.unravel_index(int((self.best + self.close).argmax()), self.best.shape)
        at = (int(i), int(p))
        while at is not None:
            place[at[0]] = at[1]
            at = self.came.get(at)
        somewhere = np.exp(np.minimum(_log_sum((self.sums + self.later).T) - self.total, 0.0))
        last = np.exp(np.minimum(self.sums + self.onward - self.total, 0.0))
        certainty = np.where(
            place >= 0, last[np.arange(self.frames), place], np.clip(1.0 - somewhere, 0.0, 1.0)
        )
        again = [n for n in range(self.frames) if place[n] >= 0 and place[n] in place[n + 1 :]]
        for n in again:  # as sure as it stands there at all, last or not
            certainty[n] = np.exp(min(0.0, (self.sums + self.later)[n, place[n]] - self.total))
        return Chain(place, certainty)


def _between(places: Places) -> tuple[FloatArray, IntArray]:
    """From place to place (p, p): the chance of passing over what lies between, and the steps.

    Steps of places in one row; one more than the longest for all others.
    """
    is_station = places.is_station
    number = is_station.astype(np.int64)
    before = np.cumsum(number) - number
    passed: FloatArray = (before[None, :] - (before + number)[:, None]).astype(np.float64)
    weight = math.log(1.0 - AGAIN - PASSED) + passed * math.log(PASSED)
    onward = np.subtract.outer(np.arange(len(before)), np.arange(len(before))) < 0
    prior: FloatArray = np.where(onward, weight, _NEVER)
    np.fill_diagonal(prior, math.log(AGAIN))
    step = places.station[None, :] - places.station[:, None]
    same_row = (places.row[None, :] == places.row[:, None]) & is_station & is_station[:, None]
    usable = same_row & (step >= 0)
    other = int(step[usable].max(initial=0)) + 1
    return prior, np.where(usable, step, other)


def _log_time(steps: IntArray, after: float) -> FloatArray:
    """The density of an interval (in usual ones) for so many steps."""
    if math.isnan(after):
        return np.zeros(len(steps))
    tau = max(after, 0.03)
    about = np.where(steps > 0, steps, AGAIN_AFTER)
    spread = np.where(steps > 0, 0.22, 0.5)
    z = (math.log(tau) - np.log(about)) / spread
    core = np.exp(-(z**2) / 2) / (math.sqrt(2 * math.pi) * spread * tau)
    return np.asarray(np.log(0.9 * core + 0.1 * _tail(steps, tau)))


def _tail(steps: IntArray, tau: float) -> FloatArray:
    """A pause may make any interval longer, up to some forty usual ones; hardly ever shorter."""
    longer = np.where(tau > np.where(steps > 0, 0.9 * steps, AGAIN_AFTER), 1.0, 0.02)
    return np.asarray(longer / (math.log(40.0) * tau))


def _log_time_open(after: float) -> float:
    """The density of an interval between rows, or between a board and a station: any."""
    return 0.0 if math.isnan(after) else -math.log(math.log(400.0) * max(after, 0.03))


def _log_link(steps: IntArray, link: Link | None) -> FloatArray:
    """How much likelier a measured shift is for so many steps than where nothing is known."""
    if link is None:
        return np.zeros(len(steps))
    unseen = np.select([steps == 0, steps == 1], [0.03, 0.2], 0.95)
    if link.offset_steps is None:
        return np.asarray(np.log(unseen / 0.5))
    z = (link.offset_steps - steps) / link.sigma_steps
    core = np.exp(-(z**2) / 2) / (math.sqrt(2 * math.pi) * link.sigma_steps)
    return np.asarray(np.log((1.0 - unseen) * (0.97 * core + 0.03 / 5.0) / (0.5 / 5.0)))


def _stray_link(link: Link | None) -> float:
    """Likewise for two pictures that do not follow each other along a row."""
    if link is None:
        return 0.0
    return math.log(0.9 / 0.5) if link.offset_steps is None else math.log(0.1 / 0.5)


def _log_sum(logs: FloatArray) -> FloatArray:
    """The logarithm of the sum over the first axis."""
    return np.asarray(np.logaddexp.reduce(logs, axis=0, initial=_NEVER))
