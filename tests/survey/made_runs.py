"""Simulated runs of known truth: a diver walks a tower along rows and makes mistakes.

Nothing here knows how frames are laid. Times are whole seconds of a clock that is wrong.
"""

from dataclasses import dataclass, field

import numpy as np

CLOCK_FAST_S = 420.0


@dataclass
class Taken:
    """A frame: `station` over the run or None; `says`, what a board in it says."""

    key: str
    name: str
    taken_s: float
    station: int | None = None
    says: tuple | None = None
    kept: bool = True  # False: taken again after it


@dataclass
class Made:
    """A run that was taken: stations a row, frames in order, and what happened."""

    rows: list
    frames: list
    usual_s: float
    alike: list = field(default_factory=list)  # (key, key, offset in steps or None)
    passed: list = field(default_factory=list)
    left_s: float = 0.0
    reached_s: float = 0.0


class _Diver:
    def __init__(self, seed, tags):
        self.random = np.random.default_rng(seed)
        self.tags = tags
        self.usual = self.random.uniform(5.0, 16.0)
        self.now = 1_000_000.0 + self.random.uniform(0, 1)
        self.frames, self.passed, self.number = [], [], 0

    def wait(self, usual):
        """So many usual intervals, with jitter, and a pause now and then."""
        self.now += usual * self.usual * np.exp(self.random.normal(0, 0.15))
        if self.random.random() < 0.05:
            self.now += self.random.exponential(2.0) * self.usual

    def shoot(self, station=None, says=None):
        self.number += 1
        seconds = float(np.floor(self.now + CLOCK_FAST_S))
        name = f"IMG_{self.number:04d}.JPG"
        self.frames.append(Taken(f"k{self.number:03d}", name, seconds, station, says))

    def board(self, *says):
        self.now += self.random.uniform(5, 40)
        self.shoot(says=says)
        self.now += self.random.uniform(3, 40)

    def stand(self, station, has_tag):
        says = ("at-station", station) if has_tag else None
        self.shoot(station, says)
        while self.random.random() < 0.05:  # not pleased: once more
            self.now += self.usual * self.random.uniform(0.15, 0.6)
            self.frames[-1].kept = False
            self.shoot(station, says)

    def row(self, number, first, count):
        self.board("row-begins", number)
        steps = 1.0
        for at in range(count):
            has_tag = self.tags and at in (0, count - 1)
            if self.random.random() < 0.03 and not has_tag:
                self.passed.append(first + at)
                steps += self.random.uniform(0.7, 1.0)
                continue
            if at:
                self.stray_on_the_way(steps)
            self.stand(first + at, has_tag)
            steps = 1.0
        self.board("row-ends", number)

    def stray_on_the_way(self, steps):
        if self.random.random() < 0.03:
            part = self.random.uniform(0.2, 0.8)
            self.now += self.usual * part * steps
            self.shoot()
            self.now += self.usual * (1 - part) * steps
        else:
            self.wait(steps)


def made_run(seed, *, tags=True):
    """A run of three or four rows, a board before and after each. `tags`: the first and the last
    station of a row lie by a square whose tag is legible in the frame, and are not passed over."""
    diver = _Diver(seed, tags)
    random = diver.random
    rows = [int(n) for n in random.integers(8, 15, int(random.integers(3, 5)))]
    left = diver.now
    diver.now += random.uniform(60, 300)
    for _ in range(int(random.integers(0, 4))):  # on the way down
        diver.shoot()
        diver.now += random.uniform(5, 60)
    diver.board("run-board")
    diver.shoot(says=("aside",))  # the colour card
    first = 0
    for number, count in enumerate(rows):
        diver.row(number, first, count)
        first += count
    for _ in range(int(random.integers(0, 3))):  # a crab
        diver.now += random.uniform(5, 60)
        diver.shoot()
    made = Made(rows, diver.frames, diver.usual, passed=diver.passed)
    made.alike = _alike(made, random)
    made.left_s, made.reached_s = left, diver.now + random.uniform(60, 400)
    return made


def _alike(made, random):
    """Shifts seen between each frame and the next two, with noise, misses and false ones."""
    found, ends = [], np.cumsum(made.rows)
    for n, one in enumerate(made.frames):
        for other in made.frames[n + 1 : n + 3]:
            if random.random() < 0.05:
                continue  # too blurred to compare
            found.append((one.key, other.key, _seen(one, other, ends, random)))
    return found


def _seen(one, other, ends, random):
    if random.random() < 0.02:
        return float(random.uniform(-1, 2))
    if one.station is None or other.station is None:
        return None
    if np.searchsorted(ends, one.station, "right") != np.searchsorted(ends, other.station, "right"):
        return None
    steps = other.station - one.station
    if steps > 1 or (steps == 1 and random.random() < 0.1):
        return None
    return float(steps + random.normal(0, 0.1))
