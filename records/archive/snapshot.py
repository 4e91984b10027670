"""The database as it stands at one moment, whole, in one file on the second drive."""

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path
from typing import Any

from django.db import connection
from django.utils import timezone
from django.utils.translation import gettext as _

from records.archive.drive import Drive, to_the_disk, words_for_the_drive
from records.refusals import Refused

KEPT = 14  # snapshots; older ones are removed once a newer one is good


def snapshot(drive: Drive) -> Path:
    """Written under a passing name, checked, then named by its time."""
    at = timezone.now().strftime("%Y-%m-%dT%H%M%SZ")
    with drive.part() as part:
        if connection.vendor == "sqlite":
            ending = "sqlite3"
            _copy_sqlite(part)
        else:
            ending = "pgdump"
            _dump_postgresql(part)
        place = drive.root / "database" / f"record-{at}.{ending}"
        with words_for_the_drive():
            with part.open("r+b") as written:
                to_the_disk(written)
            drive.give_name(part, place)
    return place


def remove_old_snapshots(drive: Drive) -> None:
    with words_for_the_drive():
        for place in sorted((drive.root / "database").glob("record-*"))[:-KEPT]:
            place.unlink()


def _copy_sqlite(part: Path) -> None:
    source = f"file:{connection.settings_dict['NAME']}?mode=ro"
    try:
        with closing(sqlite3.connect(source, uri=True)) as live, closing(_new(part)) as copy:
            live.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")
            found = copy.execute("PRAGMA integrity_check").fetchone()[0]
    except sqlite3.Error as error:
        raise Refused(_unwritten(str(error))) from error
    if found != "ok":
        raise Refused(
            _(
                "The copy of the database is not whole (%(found)s). Nothing was replaced. Tell "
                "whoever looks after this machine, and keep the last good copy."
            )
            % {"found": found}
        )


def _new(part: Path) -> sqlite3.Connection:
    return sqlite3.connect(part)


def _unwritten(reason: str) -> str:
    if "full" in reason:
        return _("The drive of the second copy is full. Make room on it, then copy again.")
    return _("The database could not be copied: %(reason)s.") % {"reason": reason}


def _dump_postgresql(part: Path) -> None:
    program = shutil.which("pg_dump")
    if program is None:
        raise Refused(
            _(
                "On PostgreSQL the copy needs the program pg_dump, and this machine does not have "
                "it. Nothing was copied. Install PostgreSQL's client programs."
            )
        )
    command = [program, "--format=custom", "--no-owner", f"--file={part}"]
    done = subprocess.run(command, env=_postgresql_settings(), capture_output=True, text=True)  # noqa: S603
    if done.returncode != 0:
        said = (done.stderr.strip().splitlines() or ["?"])[-1]
        raise Refused(_("pg_dump could not copy the database: %(said)s") % {"said": said})


def _postgresql_settings() -> dict[str, str]:
    given: dict[str, Any] = connection.settings_dict
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    told = {name: str(given[key]) for name, key in names.items() if given.get(key)}
    return {**os.environ, **told, "PGDATABASE": str(given["NAME"])}
