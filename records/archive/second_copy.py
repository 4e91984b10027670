"""The record on a second drive: the database at one moment, and every original by its digest."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.acting import acting_account
from records.archive.drive import DamagedOriginal, Drive, words_for_the_drive
from records.archive.snapshot import remove_old_snapshots, snapshot
from records.intake.originals import OriginalMissing, open_original
from records.jobs import job
from records.models import Job, Season, SecondCopy, StoredFile
from records.permissions import May, demand
from records.progress import Steps, StopAsked
from records.refusals import Refused
from records.verbs.copies import ask_second_copy

SHARES = 7  # each good copy reads a seventh of the older files back in full
AT_A_TIME = 50
READ_ME = """Seabed Squares: a copy of the record.

database/   the database at the moment in its name, the latest last
originals/  every original file under its SHA-256 digest

To bring it back: stop the shed. Into its data folder copy the latest database/record-*.sqlite3
as record.sqlite3, and the folder originals into the folder files. Start the shed.
(record-*.pgdump is for PostgreSQL's pg_restore.)
"""


@dataclass
class _Count:
    new: int = 0
    mended: int = 0
    problems: list[str] = field(default_factory=list)


@job("second_copy", queue="long", words=gettext_lazy("Copying the record to the second drive"))
def second_copy_job(progress: Steps, *, folder: str) -> dict[str, Any]:
    row = copy_to(folder, progress)
    progress.step(row.words, done=0)
    return {"second_copy": str(row.pk)}


def ask_for_copy(season: Season, folder: str) -> Job:
    """Ask for the job, after a look at the folder: a wrong one is told where it was typed.

    A drive may take seconds to wake up, so nothing is locked meanwhile.
    """
    demand(acting_account(), season.site, May.DIRECT)
    chosen = folder.strip()
    if settings.ON_SERVER and chosen not in settings.SECOND_COPY_FOLDERS:
        raise Refused(
            _("On a server the copy goes to a folder that its keeper named. Choose one of these."),
            field="folder",
        )
    Drive(chosen)
    return ask_second_copy(season, chosen)


def copy_to(folder: str, progress: Steps) -> SecondCopy:
    """Copy database and originals; the row that is returned says how it went.

    Raises `Refused`, with the row kept, where it could not be done.
    """
    drive = Drive(folder)
    row = SecondCopy(folder=folder, is_on_same_drive=drive.is_the_same_drive)
    row.save()
    try:
        progress.step(_("Copying the database"), done=0)
        snapshot(drive)
        count = _copy_originals(drive, row, progress)
        with words_for_the_drive():
            (drive.root / "READ ME.txt").write_text(READ_ME, encoding="utf-8")
        if not count.problems:
            remove_old_snapshots(drive)
    except Refused as refusal:
        _finish(row, refusal.words)
        raise
    except StopAsked:
        _finish(row, _("Stopped before it was whole."))
        raise
    _finish(row, _words(row, count), is_good=not count.problems)
    if count.problems:
        raise Refused(row.words)
    return row


def _finish(row: SecondCopy, words: str, *, is_good: bool = False) -> None:
    row.finished_at, row.words, row.is_good = timezone.now(), words, is_good
    row.save()


def _copy_originals(drive: Drive, row: SecondCopy, progress: Steps) -> _Count:
    count = _Count()
    share = SecondCopy.objects.filter(folder=row.folder, is_good=True).count() % SHARES
    row.files_total = StoredFile.objects.count()
    progress.total(row.files_total)
    for batch in _batches():
        safe = [file for file in batch if _copy_one(drive, file, share, count, progress)]
        _mark_safe(safe)
    row.files_new = count.new
    return count


def _batches() -> Iterator[list[StoredFile]]:
    """By key, so that no long read holds the database."""
    last = None
    while True:
        rows = StoredFile.objects.order_by("pk")
        batch = list(rows.filter(pk__gt=last)[:AT_A_TIME] if last else rows[:AT_A_TIME])
        if not batch:
            return
        yield batch
        last = batch[-1].pk


def _copy_one(drive: Drive, file: StoredFile, share: int, count: _Count, progress: Steps) -> bool:
    """Whether the file stands on the drive, verified now or by a copy before."""

    def beat() -> None:
        progress.step(done=0)

    progress.step(_("Copying originals"))
    holds = drive.holds(file.sha256, file.size_bytes)
    if holds and not _is_due(file, share):
        return True
    if holds and drive.is_whole(file.sha256, beat):
        return True
    was_there = drive.place_of(file.sha256).exists()
    try:
        with open_original(file) as original:
            drive.put(original, file.sha256, beat)
    except DamagedOriginal:
        count.problems.append(_("The original of %(name)s is damaged.") % {"name": _name(file)})
    except OriginalMissing as missing:
        count.problems.append(f"{_name(file)}: {missing.words}")
    else:
        count.mended += was_there
        count.new += not was_there
        return True
    return False


def _is_due(file: StoredFile, share: int) -> bool:
    """Read back in full: what was never verified there, and in turn a share of the others."""
    return file.on_second_copy_at is None or int(file.sha256[:8], 16) % SHARES == share


def _name(file: StoredFile) -> str:
    row = file.pictures.first() or file.raw_of.first() or file.paged.first()
    return row.original_name if row is not None else file.sha256[:12]


def _mark_safe(files: list[StoredFile]) -> None:
    fresh = [file for file in files if file.on_second_copy_at is None]
    with transaction.atomic():
        for file in fresh:
            file.on_second_copy_at = timezone.now()
            file.save(update_fields=["on_second_copy_at"])


def _words(row: SecondCopy, count: _Count) -> str:
    said = [
        ngettext(
            "The database and %(total)d original stand in the folder; %(new)d of them new.",
            "The database and %(total)d originals stand in the folder; %(new)d of them new.",
            row.files_total,
        )
        % {"total": row.files_total - len(count.problems), "new": count.new}
    ]
    if count.mended:
        said.append(
            ngettext(
                "%(n)d copy was damaged there and is replaced.",
                "%(n)d copies were damaged there and are replaced.",
                count.mended,
            )
            % {"n": count.mended}
        )
    if row.is_on_same_drive:
        said.append(
            _("This folder is on the drive of the record itself: it does not help if that fails.")
        )
    return " ".join(said + count.problems)
