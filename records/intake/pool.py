"""The processes that look at pictures. A child imports this before Django is set up."""

import ctypes
import multiprocessing
import os
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import TypeVar

from django.conf import settings

from records import running

Given = TypeVar("Given")
Found = TypeVar("Found")

IDLE_S = 60.0
"""So long processes stay awake for the next job, and hold their memory."""

FEW = 40
"""So few things are done sooner than processes are awake."""


class Processes:
    """A pool that can be renewed when a picture brought one of its processes down.

    They start with the first thing that is handed to them. With none (0), whatever is handed out
    is done here and now.
    """

    def __init__(self, count: int) -> None:
        self.count = count
        self._pool: ProcessPoolExecutor | None = None
        self._in_use = threading.RLock()
        self._rest: threading.Timer | None = None

    @contextmanager
    def in_use(self) -> Iterator["Processes"]:
        """None falls asleep meanwhile; afterwards they do, unless they are used again."""
        with self._in_use:
            if self._rest is not None:
                self._rest.cancel()
            try:
                yield self
            finally:
                self._rest = threading.Timer(IDLE_S, self._fall_asleep)
                self._rest.daemon = True
                self._rest.start()

    def _fall_asleep(self) -> None:
        if self._in_use.acquire(blocking=False):
            try:
                self._end()
            finally:
                self._in_use.release()

    def close(self) -> None:
        if self._rest is not None:
            self._rest.cancel()
        self._end()

    def _end(self) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None

    def renew(self) -> None:
        """Fresh processes, the same on every system: none inherits a database connection."""
        self._end()
        threads = max(1, (os.cpu_count() or 1) // self.count)
        self._pool = ProcessPoolExecutor(
            self.count,
            mp_context=multiprocessing.get_context("spawn"),
            initializer=_begin,
            initargs=(threads,),
        )

    def submit(self, act: Callable[[Given], Found], given: Given) -> "Future[Found]":
        """Raises BrokenProcessPool where a process went down: what is under way is lost, too."""
        if self.count:
            if self._pool is None:
                self.renew()
            assert self._pool is not None
            return self._pool.submit(act, given)
        done: Future[Found] = Future()
        try:
            found = act(given)
        except Exception as error:
            done.set_exception(error)
        else:
            done.set_result(found)
        return done

    def spread(
        self, act: Callable[[Given], Found], given: Iterable[Given], count: int
    ) -> Iterator[Found]:
        """`act` of each, in their order; `count`: how many they are. A few at a time are handed
        out, so that little is held and who stops in between loses little. A process that goes
        down takes nothing with it."""
        if not self.count or (self._pool is None and count <= FEW):
            yield from map(act, given)
            return
        ahead: deque[tuple[Given, Future[Found]]] = deque()
        try:
            for one in given:
                ahead.append((one, self._handed_out(act, one)))
                if len(ahead) > 2 * self.count:
                    yield _taken_back(act, *ahead.popleft())
            while ahead:
                yield _taken_back(act, *ahead.popleft())
        finally:
            for _one, future in ahead:
                future.cancel()

    def _handed_out(self, act: Callable[[Given], Found], one: Given) -> "Future[Found]":
        try:
            return self.submit(act, one)
        except BrokenProcessPool:
            self.renew()
            return self.submit(act, one)


def _taken_back(act: Callable[[Given], Found], one: Given, future: "Future[Found]") -> Found:
    try:
        return future.result()
    except BrokenProcessPool:
        return act(one)


_kept: list[Processes] = []


@contextmanager
def kept() -> Iterator[None]:
    """As long as a worker works its processes outlive the job they were started for."""
    mine = Processes(settings.PICTURE_PROCESSES)
    _kept.append(mine)
    try:
        yield
    finally:
        _kept.remove(mine)
        mine.close()


@contextmanager
def processes() -> Iterator[Processes]:
    """Those that are kept, or else some for this while."""
    if _kept:
        with _kept[-1].in_use() as pool:
            yield pool
        return
    pool = Processes(settings.PICTURE_PROCESSES)
    try:
        yield pool
    finally:
        pool.close()


def _begin(threads: int) -> None:
    running.end_with_pool()
    if hasattr(os, "nice"):
        os.nice(5)  # whoever waits for an answer goes first
    # As many threads as there are cores in each process would only stand in each other's way.
    # Read when OpenCV and NumPy's OpenBLAS are loaded, so it is said before.
    for name in ("OPENCV_FOR_THREADS_NUM", "OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, str(threads))
    _hold_on_to_memory()
    import django

    django.setup()


def _hold_on_to_memory() -> None:
    """Up to 128 MB of what a picture leaves free serve the next one.

    glibc gives it back to the system after each large array and gets it again page by page, up to
    a third of a frame's processor time. M_TRIM_THRESHOLD and M_MMAP_THRESHOLD as in malloc.h; see
    mallopt(3). Other systems' libraries have nothing of the kind.
    """
    if sys.platform == "linux":
        mallopt = getattr(ctypes.CDLL(None), "mallopt", None)
        for name, value in ((-1, 128 << 20), (-3, 32 << 20)):
            if mallopt is not None:
                mallopt(name, value)
