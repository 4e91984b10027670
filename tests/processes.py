"""Real processes on the tests' own database and files."""

import json
import os
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.db import connection


def database_url() -> str:
    """The test database, as a child process must be told it."""
    given = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{given['NAME']}"
    host = given["HOST"] or "127.0.0.1"
    whose = f"{quote(given['USER'])}:{quote(given['PASSWORD'])}@{host}:{given['PORT'] or 5432}"
    return f"postgres://{whose}/{given['NAME']}"


def start(code: str, *arguments: str, env: Mapping[str, str] | None = None) -> subprocess.Popen:
    """Run Python code in a process of its own, Django set up, on this test's database."""
    begin = "import django; django.setup(); import sys\n"
    return subprocess.Popen(
        [sys.executable, "-c", begin + textwrap.dedent(code), *arguments],
        cwd=settings.BASE_DIR,
        env={
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "records.settings",
            "DATABASE_URL": database_url(),
            "DATA_FOLDER": str(settings.DATA_FOLDER),
            **(env or {}),
        },
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def wait_until(holds: Callable[[], object], seconds: float = 60.0) -> None:
    by_s = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < by_s, "waited in vain"
        time.sleep(0.1)


def lines_of(place: Path) -> list[str]:
    return place.read_text().splitlines() if place.exists() else []


def at_once(act: str, place: Path, arguments: Sequence[Sequence[object]]) -> list[Any]:
    """A process for each row of arguments; all call `tests.racers.<act>(*row)` at one moment.

    Returns what each of them returned; one that failed fails the test with its words.
    """
    code = """
        import json
        from tests import racers
        racers.wait_for_the_word(sys.argv[1])
        print(json.dumps(getattr(racers, sys.argv[2])(*json.loads(sys.argv[3]))))
    """
    running = [start(code, str(place), act, json.dumps(row)) for row in arguments]
    wait_until(
        lambda: (
            len(list(place.glob("ready-*"))) == len(running)
            or any(one.poll() is not None for one in running)
        )
    )
    (place / "go").touch()
    said = [one.communicate(timeout=120)[0] for one in running]
    failed = [words for one, words in zip(running, said, strict=True) if one.returncode != 0]
    assert failed == [], f"{len(failed)} of {len(running)} failed:\n{failed[0]}"
    return [json.loads(words.splitlines()[-1]) for words in said]
