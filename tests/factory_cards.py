"""Cards that came in, for tests: small pictures through the intake's own way."""

import datetime
from io import BytesIO
from typing import Any
from uuid import uuid4

from records.intake.card_files import bring_in_card_file
from records.models import Card, IncomingFrame, PhotoRun
from records.verbs.cards import FileKey, begin_card
from tests import made_files
from tests.factory import make_day, make_dive
from tests.factory_pictures import make_run, make_tower_set_up

FIRST_SHOT = datetime.datetime(2031, 6, 10, 9, 5)  # noqa: DTZ001 (a camera's clock has no zone)
WIDTH, HEIGHT = 72, 48
EVERY_S = 37


def set_up_of_small_frames(season: Any, **fields: Any) -> Any:
    size = {"picture_width_px": WIDTH, "picture_height_px": HEIGHT}
    return make_tower_set_up(season, **size | fields)


def run_of_small_frames(season: Any, *rows: Any, **fields: Any) -> PhotoRun:
    set_up = fields.pop("set_up", None) or set_up_of_small_frames(season)
    return make_run(season, *rows, set_up=set_up, **fields)


def begun_card(run: PhotoRun, **fields: Any) -> Card:
    dive = fields.pop("dive", None) or make_dive(make_day(run.season, vessel=f"Boat {uuid4()}"))
    return begin_card(run, dive, uuid4(), **fields)


def taken_after(seconds: float) -> Any:
    """EXIF of a camera that says only when, so long after a card's first shot."""
    at = FIRST_SHOT + datetime.timedelta(seconds=seconds)
    return made_files.exif_block(
        DateTimeOriginal=f"{at:%Y:%m:%d %H:%M:%S}", SubsecTimeOriginal=None, OffsetTimeOriginal=None
    )


def shot(n: int, *, seed: int | None = None, width: int = WIDTH, height: int = HEIGHT) -> bytes:
    """The n-th frame of a card, EVERY_S after the one before."""
    seed = 1000 + n if seed is None else seed
    return made_files.jpeg(width, height, seed=seed, exif=taken_after(EVERY_S * n))


def key_of(name: str, data: bytes, modified_ms: int = 1) -> FileKey:
    return FileKey.of(name, len(data), modified_ms)


def arrive(card: Card, name: str, data: bytes, modified_ms: int = 1) -> IncomingFrame:
    return bring_in_card_file(card, BytesIO(data), key_of(name, data, modified_ms))


def arrive_all(card: Card, count: int, *, first: int = 0) -> list[IncomingFrame]:
    numbers = range(first, first + count)
    return [arrive(card, f"P{n:04d}.JPG", shot(n)) for n in numbers]
