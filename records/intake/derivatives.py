"""Pictures for the screen, made by the quick worker: asked for here, never made in a request."""

import logging
import time
from collections.abc import Iterable
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.intake.alike import ask_to_compare_card, cards_with
from records.intake.codes import CODES, are_looked_for, keep_codes
from records.intake.corners import SHEETS, corners_of, keep_corners
from records.intake.measures import MEASURED, VERSION, keep_measure
from records.intake.pool import Order, Processes
from records.intake.recipes import together_with
from records.intake.seen import ask_to_compare
from records.intake.windows import draw_waiting
from records.jobs import ask, job
from records.models import PhotoRun, Picture, PictureMeasure, PictureToMake
from records.progress import Progress
from records.refusals import Refused

log = logging.getLogger(__name__)

TRIES = 3
LINGER_S = 5.0  # a card that arrives slowly finds the processes awake
AT_A_TIME = 8  # rows fetched and removed in one transaction


def want(picture: Picture, recipe: str = "screen") -> None:
    """Ask for a picture's derivatives; asked twice is asked once."""
    _ask_for(picture, together_with(recipe))


def want_measured(picture: Picture) -> bool:
    """Ask what a tower frame's pixels say, once its pictures are made; whether it was asked."""
    known = PictureMeasure.objects.filter(
        file=picture.file, orientation=picture.orientation, recipe_version=VERSION
    )
    if known.exists():
        return False
    _ask_for(picture, MEASURED)
    return True


def want_codes(picture: Picture) -> None:
    """Ask which printed codes a tower frame shows: boards tell where the run was."""
    if not are_looked_for(picture):
        _ask_for(picture, CODES)


def want_corners(picture: Picture, sheet: str) -> None:
    """Ask where a printed sheet's corners lie in a picture: base markers or calibration board."""
    if corners_of([picture], sheet).get(picture.pk) is None:
        _ask_for(picture, sheet)


def _ask_for(picture: Picture, group: str) -> None:
    if not picture.file.is_shown:
        return
    PictureToMake.objects.get_or_create(
        file=picture.file, orientation=picture.orientation, recipes=group
    )
    # After the commit: a worker that began before it would not see the row.
    transaction.on_commit(partial(ask, "derivatives", site=None, once=True))


@job("derivatives", words=gettext_lazy("Making pictures for the screen"))
def make_wanted(progress: Progress) -> None:
    """Make all that are wanted, those that come in meanwhile too."""
    with Processes(settings.PICTURE_PROCESSES) as pool:
        making = _Making(progress, pool)
        making.go_on()
    for run in _runs_of(making.measured):
        ask_to_compare(run)
    for card in cards_with(making.measured):
        ask_to_compare_card(card)


def _runs_of(files: set[UUID]) -> Iterable[PhotoRun]:
    return PhotoRun.objects.filter(
        cards__frames__is_kept=True, cards__frames__photograph__picture__file__in=files
    ).distinct()


class _Making:
    def __init__(self, progress: Progress, pool: Processes) -> None:
        self.progress = progress
        self.pool = pool
        self.under_way: dict[Future[bytes | None], PictureToMake] = {}
        self.measured: set[UUID] = set()
        self.made: list[PictureToMake] = []
        self.ahead: list[PictureToMake] = []

    def go_on(self) -> None:
        idle_since = time.monotonic()
        while True:
            self._hand_out()
            draw_waiting(1)  # somebody looks at a square while a whole card comes in
            if self.under_way:
                self._take_back()
                idle_since = time.monotonic()
            elif not self.pool.count or time.monotonic() - idle_since > LINGER_S:
                return
            else:
                time.sleep(0.2)
            self.progress.step(done=0)

    def _hand_out(self) -> None:
        """Keep every process busy; one that failed before runs alone, so that only it is blamed."""
        room = 2 * max(1, self.pool.count)
        while len(self.under_way) < room and (self.ahead or self._fetch()):
            beside = [*self.under_way.values(), self.ahead[0]]
            if len(beside) > 1 and any(row.tries for row in beside):
                return
            row = self.ahead.pop(0)
            self.under_way[self.pool.submit(_order(row))] = row

    def _fetch(self) -> bool:
        self._forget_made()
        busy = [row.pk for row in self.under_way.values()]
        wanted = PictureToMake.objects.filter(words="").exclude(pk__in=busy)
        self.ahead = list(wanted.select_related("file")[:AT_A_TIME])
        if self.ahead:
            self.progress.of = self.progress.done + len(busy) + wanted.count()
        return bool(self.ahead)

    def _take_back(self) -> None:
        finished, _still = wait(self.under_way, timeout=1.0, return_when=FIRST_COMPLETED)
        for future in finished:
            row = self.under_way.pop(future, None)
            if row is None:  # blamed already with the process that broke
                continue
            error = future.exception()
            if error is None:
                self._made(row, future.result())
            else:
                self._failed(row, error)
            self.progress.step()
        if len(self.made) >= AT_A_TIME or not self.under_way:
            self._forget_made()

    def _made(self, row: PictureToMake, found: bytes | None) -> None:
        if found is not None and row.recipes == CODES:
            keep_codes(row.file, row.orientation, found)
        elif found is not None and row.recipes in SHEETS:
            keep_corners(row.recipes, row.file, row.orientation, found)
        elif found is not None:
            keep_measure(row.file, row.orientation, found)
            self.measured.add(row.file_id)
        self.made.append(row)

    def _forget_made(self) -> None:
        if self.made:
            PictureToMake.objects.filter(pk__in=[row.pk for row in self.made]).delete()
            self.made = []

    def _failed(self, row: PictureToMake, error: BaseException) -> None:
        log.warning("pictures of %s were not made", row.file_id, exc_info=error)
        _count_failure([row], error)
        if isinstance(error, BrokenProcessPool):
            _count_failure(self.under_way.values(), error)
            self.under_way = {}
            self.pool.renew()


def _count_failure(rows: Iterable[PictureToMake], error: BaseException) -> None:
    for row in rows:
        row.tries += 1
        if row.tries >= TRIES:
            row.words = error.words if isinstance(error, Refused) else _unmade()
        row.save()


def _unmade() -> str:
    return _("The picture for the screen could not be made. The original is kept, untouched.")


def _order(row: PictureToMake) -> Order:
    file = row.file
    return Order(
        file.pk,
        file.sha256,
        file.media_type,
        file.width_px,
        file.height_px,
        row.orientation,
        row.recipes,
    )
