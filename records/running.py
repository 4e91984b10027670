"""The processes beside the server: started, watched, started again, and ended with it.

A companion holds the reading end of a pipe whose writing end only the server has. When the
server goes, in whichever way and on whichever system, the pipe closes and the companion ends.
"""

import logging
import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from django.conf import settings
from django.utils.translation import gettext as _

log = logging.getLogger(__name__)

LOOK_EVERY_S = 0.5
STEADY_AFTER_S = 60.0  # one that ran this long is started again at once
LONGEST_PAUSE_S = 60.0
TO_FINISH_S = 5.0  # for the task in hand, before a companion is ended


@dataclass
class Companion:
    """One `manage.py` command that runs beside the server."""

    name: str
    arguments: list[str]
    tries: int | None = None  # None: for ever; else it is done when it ends well
    process: subprocess.Popen[bytes] | None = None
    started_at_s: float = 0.0
    falls: int = 0
    due_at_s: float = 0.0
    done: bool = False

    def start(self) -> None:
        self.started_at_s = time.monotonic()
        self.process = subprocess.Popen(  # noqa: S603 (our own command, no shell)
            [sys.executable, str(settings.BASE_DIR / "manage.py"), *self.arguments],
            stdin=subprocess.PIPE,
            env={**os.environ, "LOG_NAME": self.name},
            # Out of reach of the terminal's Ctrl-C: the server ends it in order.
            start_new_session=True,
            creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
        )

    def tend(self, say: Callable[[str], None]) -> None:
        """Start it when it is due; when it fell, decide when it is due again."""
        now_s = time.monotonic()
        if self.process is None:
            if not self.done and now_s >= self.due_at_s:
                self.start()
            return
        code = self.process.poll()
        if code is None:
            return
        self._close()
        self.falls = 0 if now_s - self.started_at_s >= STEADY_AFTER_S else self.falls + 1
        self.done = self.tries is not None and (code == 0 or self.falls >= self.tries)
        if self.done and code == 0:
            return
        self.due_at_s = now_s + min(LONGEST_PAUSE_S, 2.0**self.falls - 1)
        log.warning("%s ended with code %s", self.name, code)
        say(self._fallen())

    def _fallen(self) -> str:
        words = (
            _("%(name)s ended before it was done. It is tried again at the next start.")
            if self.done
            else _("%(name)s ended unexpectedly and is being started again.")
        )
        return words % {"name": self.name}

    def _close(self) -> None:
        if self.process is not None and self.process.stdin is not None:
            self.process.stdin.close()
        self.process = None

    def end(self, by_s: float) -> None:
        """End it: the task in hand has until `by_s` on the monotonic clock."""
        if self.process is None:
            return
        try:
            self.process.wait(max(0.0, by_s - time.monotonic()))
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self.process = None


@dataclass
class Companions:
    """All companions of one server, tended by a thread of their own."""

    of: list[Companion]
    say: Callable[[str], None]
    _ending: threading.Event = field(default_factory=threading.Event)
    _thread: threading.Thread | None = None

    def start(self) -> None:
        self._thread = threading.Thread(target=self._tend_all, name="companions", daemon=True)
        self._thread.start()

    def _tend_all(self) -> None:
        while not self._ending.is_set():
            for companion in self.of:
                companion.tend(self.say)
            self._ending.wait(LOOK_EVERY_S)

    def end(self) -> None:
        self._ending.set()
        if self._thread is not None:
            self._thread.join()
        for companion in self.of:
            if companion.process is not None and companion.process.stdin is not None:
                companion.process.stdin.close()
        by_s = time.monotonic() + TO_FINISH_S + 1
        for companion in self.of:
            companion.end(by_s)


def workers() -> list[Companion]:
    """Short work and long work have a worker each, so that neither waits for the other."""
    return [
        Companion(f"{queue}-worker", ["worker", queue, "--end-with-parent"])
        for queue in ("quick", "long")
    ]


def demo_loader() -> Companion:
    """The demo season comes in beside the server; cut short, it is finished at the next start."""
    return Companion("demo", ["load_demo", "--end-with-parent"], tries=3)


def end_with_parent() -> None:
    """End this process once the pipe on its standard input closes."""
    pipe = os.dup(0)
    # Nothing this process starts may hold, or wait for, the same pipe.
    nothing = os.open(os.devnull, os.O_RDONLY)
    os.dup2(nothing, 0)
    os.close(nothing)
    threading.Thread(target=_end_after, args=(pipe,), name="end-with-parent", daemon=True).start()


def end_with_pool() -> None:
    """End this process of a pool when the process that made the pool is gone, even if killed."""
    maker = multiprocessing.parent_process()

    def wait() -> None:
        if maker is not None:
            maker.join()
            os._exit(1)

    threading.Thread(target=wait, name="end-with-pool", daemon=True).start()


def _end_after(pipe: int) -> None:
    while os.read(pipe, 1):
        pass
    signal.raise_signal(signal.SIGINT)
    time.sleep(TO_FINISH_S)
    os._exit(1)  # what was in hand is begun again at the next start
