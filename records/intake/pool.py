"""The processes that make pictures. A child imports this before Django is set up."""

import multiprocessing
import os
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from uuid import UUID

from records import running


@dataclass(frozen=True)
class Order:
    """One group of derivatives of one original; plain values, as they go to another process."""

    file_id: UUID
    sha256: str
    media_type: str
    width_px: int | None
    height_px: int | None
    orientation: int
    group: str


class Processes:
    """A pool that can be renewed when a picture brought one of its processes down.

    With none (0), orders are carried out here and now.
    """

    def __init__(self, count: int) -> None:
        self.count = count
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> "Processes":
        self.renew()
        return self

    def __exit__(self, *_error: object) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)

    def renew(self) -> None:
        """Fresh processes, the same on every system: none inherits a database connection."""
        self.__exit__()
        if self.count:
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(self.count, mp_context=context, initializer=_begin)

    def submit(self, order: Order) -> Future[bytes | None]:
        if self._pool is not None:
            return self._pool.submit(carry_out, order)
        done: Future[bytes | None] = Future()
        try:
            found = carry_out(order)
        except Exception as error:
            done.set_exception(error)
        else:
            done.set_result(found)
        return done


def carry_out(order: Order) -> bytes | None:
    """Whatever is made goes to the storage; what a frame's pixels say is given back."""
    from records.intake.codes import CODES, codes_in
    from records.intake.corners import SHEETS, corners_in
    from records.intake.measures import MEASURED, measured
    from records.intake.originals import open_original
    from records.intake.recipes import make
    from records.models import StoredFile

    file = StoredFile(
        id=order.file_id,
        sha256=order.sha256,
        media_type=order.media_type,
        width_px=order.width_px,
        height_px=order.height_px,
    )
    with open_original(file) as original:
        if order.group == MEASURED:
            return measured(file, original, order.orientation)
        if order.group == CODES:
            return codes_in(file, original, order.orientation)
        if order.group in SHEETS:
            return corners_in(order.group, file, original, order.orientation)
        make(file, original, order.orientation, order.group)
    return None


def _begin() -> None:
    running.end_with_pool()
    if hasattr(os, "nice"):
        os.nice(5)  # whoever waits for an answer goes first
    import django

    django.setup()
