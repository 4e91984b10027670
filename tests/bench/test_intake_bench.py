"""Intake against the least that must be done to the same files: read, hash, decode, derive.

The floor does it in two bare processes, without a database, a check or a flush to disk, and
derives from the picture it has just decoded. Both run here, one after the other, on the same
files; the goal is a ratio of 1.25. Run it on a quiet machine: the ratio of processor time, told
beside it, bears a busy one.
"""

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import psutil
import pytest

from records.models import PictureToMake, Role, StoredFile
from tests.bench.floor import floor
from tests.bench.large_frames import picture_of_twelve_megapixels
from tests.factory import make_member, make_season
from tests.processes import start

pytestmark = [pytest.mark.slow, pytest.mark.quiet, pytest.mark.django_db(transaction=True)]

CORES = 2
GOAL = 1.25
LOOSE = 2.0  # a busy machine; the printed ratio is what counts

ACCEPTOR = """
    from concurrent.futures import ThreadPoolExecutor
    from pathlib import Path
    from django.db import connection
    from records.acting import acting_as
    from records.intake.pictures import bring_in_picture
    from records.models import Account, Season

    folder, season, account = sys.argv[1:]
    season, account = Season.objects.get(pk=season), Account.objects.get(pk=account)

    def bring_in(place):
        with acting_as(account), place.open("rb") as file:
            bring_in_picture(season, file, place.name, size_bytes=place.stat().st_size)

    print("ready", flush=True)
    sys.stdin.readline()
    with ThreadPoolExecutor(4) as threads:  # as many as the shed serves with
        list(threads.map(bring_in, sorted(Path(folder).iterdir())))
    print("accepted", flush=True)
    sys.stdin.readline()
"""
WORKER = "from django.core.management import call_command; call_command('worker', 'quick')"


def twelve_megapixels(folder: Path, count: int) -> None:
    folder.mkdir()
    places = [folder / f"P{number:04d}.JPG" for number in range(count)]
    with ProcessPoolExecutor(CORES, mp_context=get_context("spawn")) as pool:
        list(pool.map(picture_of_twelve_megapixels, places, range(count)))


@dataclass(frozen=True)
class Cost:
    seconds: float
    cpu_s: float


def cost_of_floor(card: Path, out: Path) -> Cost:
    out.mkdir()
    places = sorted(card.iterdir())
    spent = os.times()
    with ProcessPoolExecutor(CORES, mp_context=get_context("spawn")) as pool:
        list(pool.map(abs, range(CORES)))  # awake before the clock starts
        began = time.perf_counter()
        list(pool.map(floor, places, [out] * len(places)))
        seconds = time.perf_counter() - began
    now = os.times()
    children = now.children_user + now.children_system
    return Cost(seconds, children - spent.children_user - spent.children_system)


class Family:
    """A process and its children: processor time, and the most private memory held at once."""

    def __init__(self, pid: int) -> None:
        self.process = psutil.Process(pid)
        self.peak_mb = 0.0
        self.spent: dict[int, float] = {}
        self.look()
        self.spent_before = sum(self.spent.values())

    def look(self) -> None:
        held = 0.0
        for one in [self.process, *self.process.children(recursive=True)]:
            try:
                times = one.cpu_times()
                self.spent[one.pid] = times.user + times.system
                held += one.memory_full_info().uss / 1e6
            except psutil.Error:
                continue
        self.peak_mb = max(self.peak_mb, held)

    @property
    def cpu_s(self) -> float:
        return sum(self.spent.values()) - self.spent_before


def intake(card: Path, count: int) -> tuple[Cost, float, float]:
    """Until the last derivative is there; and peak MB of acceptor and worker."""
    season = make_season()
    account = make_member(season.site, Role.CREW).account
    env = {"PICTURE_PROCESSES": str(CORES)}
    worker = start(WORKER, env=env)
    acceptor = start(ACCEPTOR, str(card), str(season.pk), str(account.pk), env=env)
    try:
        assert acceptor.stdout.readline() == "ready\n"
        time.sleep(5)  # the worker looks for work by now
        server, workers = Family(acceptor.pid), Family(worker.pid)
        began = time.perf_counter()
        acceptor.stdin.write("go\n")
        acceptor.stdin.flush()
        while StoredFile.objects.count() < count or PictureToMake.objects.exists():
            time.sleep(0.3)
            server.look()
            workers.look()
            assert time.perf_counter() - began < 900
        cost = Cost(time.perf_counter() - began, server.cpu_s + workers.cpu_s)
        return cost, server.peak_mb, workers.peak_mb
    finally:
        for process in (acceptor, worker):
            process.kill()
            process.wait()


@pytest.mark.parametrize("count", [60, pytest.param(240, marks=pytest.mark.by_hand)])
def test_intake_against_the_floor(tmp_path, count, capsys):
    twelve_megapixels(tmp_path / "card", count)

    least = cost_of_floor(tmp_path / "card", tmp_path / "floor")
    taken, server_mb, worker_mb = intake(tmp_path / "card", count)

    with capsys.disabled():
        sys.stdout.write(
            f"\nIntake of {count} pictures of 12 megapixels: {taken.seconds:.1f} s, floor "
            f"{least.seconds:.1f} s, ratio {taken.seconds / least.seconds:.2f} (goal {GOAL}); "
            f"processor time {taken.cpu_s:.1f} s, floor {least.cpu_s:.1f} s, ratio "
            f"{taken.cpu_s / least.cpu_s:.2f}; peak memory: accepting {server_mb:.0f} MB, worker "
            f"with its {CORES} processes {worker_mb:.0f} MB; load {os.getloadavg()[0]:.1f}\n"
        )
    assert taken.cpu_s / least.cpu_s < GOAL
    assert taken.seconds / least.seconds < LOOSE * GOAL
