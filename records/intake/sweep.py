"""A look over all originals: does every file have its row, and every row its file?"""

import datetime
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from django.core.files.storage import storages
from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.intake.arrival import incoming_folder
from records.intake.originals import is_in_place, kept_digests, kept_since
from records.intake.storage import PART, PARTS, listed
from records.jobs import job
from records.models import IncomingFrame, PagedFile, Picture, StoredFile
from records.progress import Steps

OLD = datetime.timedelta(days=1)
NAMES_TOLD = 50
AT_A_TIME = 500


@dataclass(frozen=True)
class Swept:
    """What a sweep found; names and digests at most `NAMES_TOLD` of each."""

    originals: int
    missing: int
    missing_names: list[str]
    without_row: int
    without_row_digests: list[str]
    without_picture: int
    leftovers_removed: int

    @property
    def is_well(self) -> bool:
        return not (self.missing or self.without_row or self.without_picture)


@job("sweep", queue="long", words=gettext_lazy("Looking over the originals"))
def sweep_job(progress: Steps) -> dict[str, Any]:
    return asdict(sweep(progress))


def sweep(progress: Steps, now: datetime.datetime | None = None) -> Swept:
    """Compare files and rows. Only leftovers of cut-off arrivals, a day old, are removed."""
    old = (now or timezone.now()) - OLD
    progress.total(StoredFile.objects.count())
    missing = list(_missing(progress))
    strays = [sha256 for sha256 in _without_row() if kept_since(sha256) < old]
    return Swept(
        originals=StoredFile.objects.count(),
        missing=len(missing),
        missing_names=_names(missing[:NAMES_TOLD]),
        without_row=len(strays),
        without_row_digests=strays[:NAMES_TOLD],
        without_picture=_without_picture(old),
        leftovers_removed=_remove_leftovers(old),
    )


def _missing(progress: Steps) -> Iterator[StoredFile]:
    for file in StoredFile.objects.order_by("pk").iterator(AT_A_TIME):
        progress.step(_("Comparing files with the record"))
        if not is_in_place(file):
            yield file


def _names(files: list[StoredFile]) -> list[str]:
    pictures = Picture.objects.filter(file__in=files) | Picture.objects.filter(raw_file__in=files)
    whole = PagedFile.objects.filter(file__in=files).values_list("original_name", flat=True)
    return sorted({*pictures.values_list("original_name", flat=True), *whole})


def _without_row() -> Iterator[str]:
    batch: list[str] = []
    for sha256 in kept_digests():
        batch.append(sha256)
        if len(batch) == AT_A_TIME:
            yield from _unknown(batch)
            batch = []
    yield from _unknown(batch)


def _unknown(batch: list[str]) -> list[str]:
    known = set(StoredFile.objects.filter(sha256__in=batch).values_list("sha256", flat=True))
    return [sha256 for sha256 in batch if sha256 not in known]


def _without_picture(old: datetime.datetime) -> int:
    """Files that were recorded and that nothing shows or waits for."""
    unused: Any = StoredFile.objects.filter(made_at__lt=old)
    uses: list[tuple[Any, str]] = [(Picture, "file"), (Picture, "raw_file")]
    for model, name in [*uses, (IncomingFrame, "file"), (PagedFile, "file")]:
        unused = unused.filter(~Exists(model.objects.filter(**{name: OuterRef("pk")})))
    return int(unused.count())


def _remove_leftovers(before: datetime.datetime) -> int:
    """Remove what cut-off arrivals left behind before then; returns how many there were."""
    storage = storages["default"]
    names = [f"{PARTS}/{name}" for name in listed(storage, PARTS)[1]]
    old = [name for name in names if storage.get_modified_time(name) < before]
    for name in old:
        storage.delete(name)
    arrivals = [
        place
        for place in incoming_folder().glob(f"*{PART}")
        if place.stat().st_mtime < before.timestamp()
    ]
    for place in arrivals:
        place.unlink(missing_ok=True)
    return len(old) + len(arrivals)
