"""What a process of the pool does with one picture: all that is wanted of it, from one decoding."""

import traceback
from dataclasses import dataclass
from typing import BinaryIO
from uuid import UUID

from records.intake import codes, corners, measures
from records.intake.originals import open_original
from records.intake.recipes import Screen, make
from records.models import PictureToMake, StoredFile
from records.refusals import Refused


@dataclass(frozen=True)
class Order:
    """Groups that are wanted of one original; plain values, as they go to another process."""

    file_id: UUID
    sha256: str
    media_type: str
    width_px: int | None
    height_px: int | None
    orientation: int
    groups: tuple[str, ...]

    @classmethod
    def of(cls, rows: list[PictureToMake]) -> "Order":
        """Of rows of one file and orientation."""
        file = rows[0].file
        return cls(
            file.pk,
            file.sha256,
            file.media_type,
            file.width_px,
            file.height_px,
            rows[0].orientation,
            tuple(row.recipes for row in rows),
        )

    @property
    def file(self) -> StoredFile:
        """As much of the row as looking at it takes: there is no database here."""
        return StoredFile(
            id=self.file_id,
            sha256=self.sha256,
            media_type=self.media_type,
            width_px=self.width_px,
            height_px=self.height_px,
        )


@dataclass(frozen=True)
class Outcome:
    """What a picture's pixels say, where that is asked (`found`); or why a group failed."""

    found: bytes | None = None
    failure: "Failure | None" = None


@dataclass(frozen=True)
class Failure:
    """`words` for a person, where there are some; not every exception finds its way back from
    another process."""

    words: str
    trace: str

    @classmethod
    def of(cls, error: BaseException) -> "Failure":
        words = error.words if isinstance(error, Refused) else ""
        return cls(words, "".join(traceback.format_exception(error)))


def carry_out(order: Order) -> list[Outcome]:
    """An outcome a group, in their order; one that fails leaves the others as they are."""
    file = order.file
    with open_original(file) as original:
        screen = Screen(file, original, order.orientation)
        return [_outcome(group, screen, original) for group in order.groups]


def _outcome(group: str, screen: Screen, original: BinaryIO) -> Outcome:
    try:
        return Outcome(_looked_at(group, screen, original))
    except Exception as error:
        return Outcome(failure=Failure.of(error))


def _looked_at(group: str, screen: Screen, original: BinaryIO) -> bytes | None:
    """Whatever is made goes to the storage; what the pixels say is given back."""
    if group == measures.MEASURED:
        return measures.measured(screen)
    if group == codes.CODES:
        return codes.codes_in(screen)
    if group in corners.SHEETS:
        return corners.corners_in(group, screen.file, original, screen.orientation)
    make(screen.file, original, screen.orientation, group)
    return None
