"""`manage.py shed` as a real process in a fresh folder: what it starts, minds and ends."""

import os
import re
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import psutil
import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError

from records import sharing
from records.management.commands import worker
from records.progress import ending
from tests.processes import wait_until

pytestmark = [
    pytest.mark.slow,  # a shed is started for it
    pytest.mark.skipif(sys.platform == "win32", reason="signals as POSIX has them"),
]

PATIENCE_S = 180  # a fresh folder on a machine that does much else


class Shed:
    """One running shed; its words are read from a file, so that no pipe can fill up."""

    def __init__(self, folder: Path, port: int, *options: str) -> None:
        self.url = f"http://127.0.0.1:{port}/"
        self.folder = folder
        self.spoken = folder.parent / f"spoken-{time.monotonic_ns()}.txt"
        env = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
        with self.spoken.open("wb") as spoken:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "shed", "--port", str(port), *options],
                cwd=settings.BASE_DIR,
                env=env | {"DATA_FOLDER": str(folder), "PYTHONUTF8": "1"},
                stdin=subprocess.DEVNULL,
                stdout=spoken,
                stderr=subprocess.STDOUT,
            )

    def words(self) -> str:
        return self.spoken.read_text(encoding="utf-8")

    def get(self, path: str) -> tuple[int, str]:
        try:
            with urllib.request.urlopen(self.url + path, timeout=30) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as answer:
            return answer.code, answer.read().decode()

    def until_ready(self) -> None:
        wait_until(
            lambda: "Ready after" in self.words() or self.process.poll() is not None, PATIENCE_S
        )
        assert self.process.poll() is None, self.words()
        wait_until(lambda: len(self.workers()) == 2)

    def end(self) -> None:
        minded = list(self.workers().values()) if self.process.poll() is None else []
        self.process.kill()
        self.process.wait()
        wait_until(lambda: all(gone(worker) for worker in minded))

    def workers(self) -> dict[str, psutil.Process]:
        """By queue."""
        found = {}
        for child in psutil.Process(self.process.pid).children():
            try:
                command = child.cmdline()
            except psutil.Error:
                continue
            if "worker" in command:
                found[command[command.index("worker") + 1]] = child
        return found


def gone(process: psutil.Process) -> bool:
    return not process.is_running() or process.status() == psutil.STATUS_ZOMBIE


@pytest.fixture(scope="module")
def port() -> int:
    with socket.socket() as asking:
        asking.bind(("127.0.0.1", 0))
        return asking.getsockname()[1]


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("shed") / "data"


@pytest.fixture(scope="module")
def shed(folder, port):
    """The first start, in a fresh folder."""
    running = Shed(folder, port)
    try:
        running.until_ready()
        yield running
    finally:
        running.end()


@pytest.fixture(scope="module")
def shed_again(shed, folder, port):
    """A second start in the same folder, after the first was killed."""
    shed.end()
    running = Shed(folder, port)
    try:
        running.until_ready()
        yield running
    finally:
        running.end()


def test_a_fresh_folder_is_served_with_two_workers_and_a_way_in(shed):
    words = shed.words()

    assert shed.get("health") == (200, "ok")
    status, page = shed.get("sign-in")
    assert status == 200
    assert '<form class="form' in page
    assert sorted(shed.workers()) == ["long", "quick"]
    assert re.search(rf"{shed.url}first/[\w-]{{32}}\n", words), words
    key = shed.folder / "secret-key"
    assert len(key.read_text()) >= 50
    assert key.stat().st_mode & 0o077 == 0


def test_a_worker_that_dies_is_started_again(shed):
    fallen = shed.workers()["quick"]
    fallen.kill()

    wait_until(lambda: shed.workers().get("quick", fallen).pid != fallen.pid)
    assert "quick-worker ended unexpectedly and is being started again." in shed.words()


def test_a_second_shed_on_the_port_says_so_in_words(shed, folder, port):
    second = Shed(folder, port)

    assert second.process.wait(PATIENCE_S) == 1
    assert f"Port {port} of this computer is taken" in second.words()
    assert f"--port {port + 1}" in second.words()
    assert shed.get("health") == (200, "ok")


def test_workers_end_by_themselves_when_the_server_is_killed(shed):
    minded = list(shed.workers().values())
    shed.process.kill()
    shed.process.wait()

    wait_until(lambda: all(gone(worker) for worker in minded), seconds=20)


def test_each_start_prints_a_new_link_and_only_that_one_works(shed_again):
    with sqlite3.connect(shed_again.folder / "record.sqlite3") as record:
        rows = record.execute(
            "SELECT expires_at > datetime('now', '+1 day') FROM records_onetimelink"
        )
        valid = [still for (still,) in rows]

    assert sorted(valid) == [0, 1]


def test_told_to_stop_it_ends_its_workers_and_itself_in_order(shed_again):
    minded = list(shed_again.workers().values())
    shed_again.process.send_signal(signal.SIGTERM)

    assert shed_again.process.wait(20) == 0
    assert all(gone(worker) for worker in minded)
    assert "Traceback" not in shed_again.words()


def test_a_worker_waits_for_a_database_too_busy_to_answer(monkeypatch):
    tries = []

    def ask(kind, **_argument):
        tries.append(kind)
        raise OperationalError("database is locked")

    def work_off(queue):
        tries.append(queue)
        if len(tries) == 2:
            raise OperationalError("database is locked")
        ending.set()

    monkeypatch.setattr(worker, "BUSY_PAUSE_S", 0)
    monkeypatch.setattr("records.reaper.watch", lambda: None)
    monkeypatch.setattr("records.jobs.ask", ask)
    monkeypatch.setattr("records.jobs.work_off", work_off)
    try:
        call_command("worker", "quick")
    finally:
        ending.clear()

    assert tries == ["catch_up", "quick", "quick"]


def test_an_address_of_another_computer_is_refused_in_words(port):
    with pytest.raises(sharing.NoAddress, match="is not an address of this computer"):
        sharing.sockets(0, "203.0.113.7")  # an address kept for documentation, RFC 5737


def test_a_terminal_that_cannot_draw_the_code_gets_none(tmp_path):
    with (tmp_path / "plain").open("w", encoding="ascii") as plain:
        assert sharing.qr_code("http://192.0.2.5:8000/", plain) == ""
    with (tmp_path / "blocks").open("w", encoding="utf-8") as blocks:
        assert "█" in sharing.qr_code("http://192.0.2.5:8000/", blocks)
