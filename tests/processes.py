"""Real processes on the tests' own database and files."""

import os
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable, Mapping
from pathlib import Path
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
