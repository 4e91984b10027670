"""Pictures for the screen and what their pixels say, by the quick worker; never in a request."""

import logging
import time
from collections.abc import Iterable
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from uuid import UUID

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.intake.alike import ask_to_compare_card, cards_with
from records.intake.codes import CODES, keep_codes
from records.intake.corners import SHEETS, keep_corners
from records.intake.measures import MEASURED, keep_measure
from records.intake.orders import Failure, Order, Outcome, carry_out
from records.intake.pool import Processes, processes
from records.intake.seen import ask_to_compare
from records.intake.windows import draw_waiting
from records.jobs import ask, job, kinds_waiting
from records.models import CardState, IncomingFrame, PhotoRun, PictureToMake
from records.progress import Progress

log = logging.getLogger(__name__)

TRIES = 3
LINGER_S = 5.0  # a card that arrives slowly is one job, looked after five times a second
LATER = {"alike"}
COMPARE_AFTER_S = 1.0  # without a frame, those of a card that still comes in are compared
AT_A_TIME = 12  # rows fetched and removed together

Rows = list[PictureToMake]


@job("derivatives", words=gettext_lazy("Making pictures for the screen"))
def make_wanted(progress: Progress) -> None:
    """Make all that are wanted, those that come in meanwhile too."""
    with processes() as pool:
        making = _Making(progress, pool)
        try:
            making.go_on()
        finally:
            making.leave()
    if PictureToMake.objects.filter(words="").exists():  # what can wait is another job's
        progress.of = progress.done
        ask("derivatives", site=None, once=True)


class _Making:
    def __init__(self, progress: Progress, pool: Processes) -> None:
        self.progress = progress
        self.pool = pool
        self.under_way: dict[Future[list[Outcome]], Rows] = {}
        self.made: list[tuple[PictureToMake, bytes | None]] = []
        self.ahead: list[Rows] = []

    def go_on(self) -> None:
        idle_since = time.monotonic()
        while True:
            self._hand_out()
            draw_waiting(1)  # somebody looks at a square while a whole card comes in
            if self.under_way:
                self._take_back()
                idle_since = time.monotonic()
            elif self._is_over(time.monotonic() - idle_since):
                return
            else:
                time.sleep(0.2)
            self.progress.step(done=0)

    def leave(self) -> None:
        """What was not begun is not begun any more."""
        for future in self.under_way:
            future.cancel()

    def _is_over(self, idle_s: float) -> bool:
        """Nothing more is waited for while other work waits; comparing what a card has so far can
        wait for its next frame."""
        if not self.pool.count or idle_s > LINGER_S:
            return True
        return self._others_wait(but=LATER if idle_s < COMPARE_AFTER_S else set())

    def _others_wait(self, but: set[str]) -> bool:
        return bool(kinds_waiting("quick") - {"derivatives"} - but)

    def _hand_out(self) -> None:
        """Keep every process busy; one that failed before runs alone, so that only it is blamed."""
        room = 2 * max(1, self.pool.count)
        while len(self.under_way) < room and (self.ahead or self._fetch()):
            beside = [row for rows in self.under_way.values() for row in rows]
            if beside and any(row.tries for row in [*beside, *self.ahead[0]]):
                return
            try:
                future = self.pool.submit(carry_out, Order.of(self.ahead[0]))
            except BrokenProcessPool:  # while nobody looked
                if self.under_way:
                    return
                self.pool.renew()
                continue
            self.under_way[future] = self.ahead.pop(0)

    def _fetch(self) -> bool:
        self._forget_made()
        busy = [row.pk for rows in self.under_way.values() for row in rows]
        wanted = PictureToMake.objects.filter(words="").exclude(pk__in=busy)
        self.ahead = _by_picture(self._next(wanted))
        if self.ahead:
            self.progress.of = self.progress.done + len(busy) + wanted.count()
        return bool(self.ahead)

    def _next(self, wanted: "QuerySet[PictureToMake]") -> Iterable[PictureToMake]:
        """Some of what is wanted, and whatever else is wanted of the same pictures.

        Codes say on which stations a card's frames stand. Once it is accepted nobody waits for
        them: they come after all else, other jobs too.
        """
        arriving = IncomingFrame.objects.standing().filter(
            card__state=CardState.ARRIVING, card__voided_at=None
        )
        now = wanted.exclude(Q(recipes=CODES) & ~Q(file__in=arriving.values("file")))
        if rows := _some_of(now):
            return rows
        return [] if self.pool.count and self._others_wait(but=LATER) else _some_of(wanted)

    def _take_back(self) -> None:
        finished, _still = wait(self.under_way, timeout=1.0, return_when=FIRST_COMPLETED)
        for future in finished:
            rows = self.under_way.pop(future, None)
            if rows is None:  # blamed already with the process that broke
                continue
            error = future.exception()
            if error is None:
                self._looked_at(rows, future.result())
            else:
                self._failed(rows, error)
            self.progress.step(done=len(rows))
        if len(self.made) >= AT_A_TIME or not self.under_way:
            self._forget_made()

    def _looked_at(self, rows: Rows, outcomes: list[Outcome]) -> None:
        for row, outcome in zip(rows, outcomes, strict=True):
            if outcome.failure is None:
                self.made.append((row, outcome.found))
            else:
                _count_failure([row], outcome.failure)

    def _forget_made(self) -> None:
        """Nothing is removed before what was found is kept and its comparing is asked for."""
        if not self.made:
            return
        with transaction.atomic():
            for row, found in self.made:
                if found is not None:
                    _keep(row, found)
        measured = [row for row, found in self.made if row.recipes == MEASURED and found]
        _ask_to_compare({row.file_id for row in measured})
        PictureToMake.objects.filter(pk__in=[row.pk for row, _found in self.made]).delete()
        self.made = []

    def _failed(self, rows: Rows, error: BaseException) -> None:
        failure = Failure.of(error)
        _count_failure(rows, failure)
        if isinstance(error, BrokenProcessPool):
            for others in self.under_way.values():
                _count_failure(others, failure)
            self.under_way = {}
            self.pool.renew()


def _some_of(wanted: "QuerySet[PictureToMake]") -> list[PictureToMake]:
    files = {row.file_id for row in wanted[:AT_A_TIME]}
    return list(wanted.filter(file__in=files).select_related("file")) if files else []


def _by_picture(rows: Iterable[PictureToMake]) -> list[Rows]:
    """Together what one decoding serves; by itself what failed before."""
    together: dict[object, Rows] = {}
    for row in rows:
        key = row.pk if row.tries else (row.file_id, row.orientation)
        together.setdefault(key, []).append(row)
    return list(together.values())


def _keep(row: PictureToMake, found: bytes) -> None:
    if row.recipes == CODES:
        keep_codes(row.file, row.orientation, found)
    elif row.recipes in SHEETS:
        keep_corners(row.recipes, row.file, row.orientation, found)
    else:
        keep_measure(row.file, row.orientation, found)


def _ask_to_compare(measured: set[UUID]) -> None:
    if not measured:
        return
    for run in _runs_of(measured):
        ask_to_compare(run)
    for card in cards_with(measured):
        ask_to_compare_card(card)


def _runs_of(files: set[UUID]) -> Iterable[PhotoRun]:
    return PhotoRun.objects.filter(
        cards__frames__is_kept=True, cards__frames__photograph__picture__file__in=files
    ).distinct()


def _count_failure(rows: Iterable[PictureToMake], failure: Failure) -> None:
    for row in rows:
        log.warning("%s of %s was not made: %s", row.recipes, row.file_id, failure.trace)
        row.tries += 1
        if row.tries >= TRIES:
            row.words = failure.words or _unmade()
        row.save()


def _unmade() -> str:
    return _("The picture for the screen could not be made. The original is kept, untouched.")
