"""A card's folder read on this machine: listed whole, then file by file, each verified."""

import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.intake.arrival import NoRoom
from records.intake.card_files import bring_in_card_file, demand_takes_files, held
from records.intake.originals import verify_original
from records.jobs import ask, job
from records.models import Card, Job
from records.progress import Steps
from records.refusals import Refused
from records.verbs.cards import FileKey, note_listing, note_refused


@dataclass
class FolderRead:
    """How it went: files listed, those that were here before, and those not taken in and why."""

    listed: int = 0
    new: int = 0
    known: int = 0
    refused: list[tuple[str, str]] = field(default_factory=list)


def read_folder(card: Card, folder: Path, progress: Steps) -> FolderRead:
    """All files below the folder, in the order of their names; may be cut short and done again."""
    files = listed_below(folder)
    card = note_listing(card, files.values())
    here = held(card)
    told = FolderRead(listed=len(files))
    progress.total(len(files))
    for path, key in files.items():
        if key in here:
            told.known += 1
        elif words := _read(card, path, key):
            told.refused.append((key.name, words))
        else:
            told.new += 1
        progress.step(key.name)
    return told


def _read(card: Card, path: Path, key: FileKey) -> str:
    """Nothing where the file came in, else why not. A full disk ends the reading."""
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            raise Refused(_("This is a link or a device, not a file. It was not followed."))
        with path.open("rb") as file:
            frame = bring_in_card_file(card, file, key)
        if not verify_original(frame.file):
            raise Refused(_("What was kept of this file is not what was read. Read it again."))
    except NoRoom:
        raise
    except Refused as refusal:
        note_refused(card, key, refusal.words)
        return refusal.words
    except OSError:
        note_refused(card, key, words := _("The card could not be read here."))
        return words
    return ""


def listed_below(folder: Path) -> dict[Path, FileKey]:
    """Every file below a folder, links and devices too; a folder that cannot be read is refused."""
    if not folder.is_dir():
        raise Refused(
            _("There is no folder %(folder)s. Is the card in the machine?") % {"folder": folder}
        )
    try:
        return dict(sorted(_walk(folder), key=lambda one: one[1].name))
    except OSError as error:
        raise Refused(
            _("The card could not be listed whole. Take it out, put it in again, read it again.")
        ) from error


def _walk(folder: Path) -> Iterator[tuple[Path, FileKey]]:
    for below, folders, names in os.walk(folder, onerror=_raise, followlinks=False):
        links = [name for name in folders if (Path(below) / name).is_symlink()]
        for name in [*names, *links]:
            path = Path(below) / name
            seen = path.lstat()
            inside = path.relative_to(folder).as_posix()
            yield path, FileKey.of(inside, seen.st_size, seen.st_mtime_ns // 1_000_000)


def _raise(error: OSError) -> None:
    raise error


@job("read_card", queue="long", words=gettext_lazy("Reading the card in this machine"))
def read_card(progress: Steps, *, card: str, folder: str) -> dict[str, Any]:
    demand_named(folder)
    told = read_folder(Card.objects.get(pk=card), Path(folder), progress)
    return {"new": told.new, "known": told.known, "refused": told.refused}


def ask_to_read(card: Card, folder: str) -> Job:
    """Ask for the job, after a look at the card and the folder's name."""
    demand_takes_files(card)
    demand_named(folder)
    argument = {"card": str(card.pk), "folder": folder}
    return ask("read_card", site=card.season.site, argument=argument, once=True)


def demand_named(folder: str) -> None:
    """Only folders that the keeper of this machine named."""
    if folder not in settings.CARD_FOLDERS:
        raise Refused(_("This machine's keeper has not named this folder for cards."))
