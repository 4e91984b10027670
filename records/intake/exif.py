"""What the camera wrote into a picture. Positions are left unread: they are not for every reader.

Tags and their meaning: Exif 2.32 (CIPA DC-008).
"""

import datetime
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, BinaryIO
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from PIL import Image

from records.intake.names import shown_name

ORIENTATION, MAKE, MODEL = 0x0112, 0x010F, 0x0110
DETAILS = 0x8769
TIMES = ((0x9003, 0x9291, 0x9011), (0x9004, 0x9292, 0x9012), (0x0132, 0x9290, 0x9010))
LENS_MODEL = 0xA434
NUMBERS = {
    "exposure_s": (0x829A, 0.0, 86_400.0),
    "f_number": (0x829D, 0.0, 1_000.0),
    "iso": (0x8827, 0.0, 1e8),
    "focal_length_mm": (0x920A, 0.0, 100_000.0),
    "water_depth_m": (0x9403, -100.0, 11_000.0),
}
WHEN = re.compile(r"(\d{4}):(\d\d):(\d\d)[ T](\d\d):(\d\d):(\d\d)$")
OFFSET = re.compile(r"([+-])(\d\d):(\d\d)$")


@dataclass
class Facts:
    """What a camera says; `notes` tell a person what could not be taken at its word."""

    orientation: int = 1
    taken_local: datetime.datetime | None = None
    offset: str = ""
    values: dict[str, Any] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    def taken_at(self, zone: ZoneInfo) -> datetime.datetime | None:
        """Aware; by the camera's own offset, or else as a clock in `zone`."""
        if self.taken_local is None:
            return None
        given = OFFSET.match(self.offset)
        place: datetime.tzinfo = zone if given is None else _fixed(given)
        try:
            return self.taken_local.replace(tzinfo=place).astimezone(datetime.UTC)
        except OverflowError:
            return None

    def as_json(self) -> dict[str, Any]:
        when = "" if self.taken_local is None else self.taken_local.isoformat()
        return {
            "taken_local": when,
            "offset": self.offset,
            "orientation": self.orientation,
            **self.values,
            "notes": self.notes,
        }


def _fixed(given: re.Match[str]) -> datetime.timezone:
    minutes = int(given[2]) * 60 + int(given[3])
    sign = -1 if given[1] == "-" else 1
    return datetime.timezone(sign * datetime.timedelta(minutes=minutes))


def read(picture: Image.Image) -> Facts:
    """Facts of an opened picture; nonsense is left out and said, never an error."""
    return _read(picture.getexif)


def read_raw(file: BinaryIO) -> Facts:
    """Facts of a raw file that is built like a TIFF; nothing of others."""
    file.seek(0)
    if file.read(4) not in {b"II*\0", b"MM\0*"}:
        return Facts()

    def block() -> Image.Exif:
        found = Image.Exif()
        file.seek(0)
        found.load_from_fp(file)
        return found

    return _read(block)


def _read(block_of: Callable[[], Image.Exif]) -> Facts:
    facts = Facts()
    try:
        block = block_of()
        tags: dict[int, Any] = dict(block.get_ifd(DETAILS)) | dict(block)
    except Exception:  # what a hostile block raises is not bounded, and it must not matter
        facts.notes.append(_("What the camera wrote into the picture cannot be read."))
        return facts
    _orientation(facts, tags.get(ORIENTATION))
    _time(facts, tags)
    for key, tag in (("make", MAKE), ("model", MODEL), ("lens", LENS_MODEL)):
        if words := _words(tags.get(tag)):
            facts.values[key] = words
    for key, (tag, above, up_to) in NUMBERS.items():
        _number(facts, key, tags.get(tag), above, up_to)
    return facts


def _orientation(facts: Facts, value: Any) -> None:
    if value is None:
        return
    if isinstance(value, int) and 1 <= value <= 8:
        facts.orientation = value
    else:
        facts.notes.append(_nonsense(_("orientation"), value))


def _time(facts: Facts, tags: dict[int, Any]) -> None:
    for when_tag, parts_tag, offset_tag in TIMES:
        text = _words(tags.get(when_tag))
        if not text.strip("0: "):
            continue
        when = _moment(text, _words(tags.get(parts_tag)))
        if when is None:
            facts.notes.append(_nonsense(_("time"), text))
            continue
        facts.taken_local = when
        facts.offset = _offset(facts, _words(tags.get(offset_tag)))
        return


def _moment(text: str, parts: str) -> datetime.datetime | None:
    found = WHEN.match(text)
    if found is None:
        return None
    seconds = float(f"0.{parts}") if parts.isascii() and parts.isdigit() else 0.0
    try:
        # The clock on the camera has no zone of its own; `taken_at` gives it one.
        whole = datetime.datetime(*map(int, found.groups()))  # type: ignore[arg-type]  # noqa: DTZ001
        return whole + datetime.timedelta(milliseconds=int(seconds * 1000))
    except (ValueError, OverflowError):
        return None


def _offset(facts: Facts, text: str) -> str:
    if not text.strip(": "):
        return ""
    found = OFFSET.match(text)
    if found is not None and int(found[2]) <= 14 and int(found[3]) < 60:
        return text
    facts.notes.append(_nonsense(_("offset from UTC"), text))
    return ""


def _number(facts: Facts, key: str, value: Any, above: float, up_to: float) -> None:
    if isinstance(value, tuple):
        value = value[0] if value else None
    if value is None:
        return
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError, ZeroDivisionError):
        number = math.nan
    if math.isfinite(number) and above < number <= up_to:
        facts.values[key] = int(number) if key == "iso" else round(number, 9)
    else:
        facts.notes.append(_nonsense(key.replace("_", " "), value))


def _words(value: Any) -> str:
    if isinstance(value, bytes):
        value = value.decode("utf-8", "replace")
    if not isinstance(value, str):
        return ""
    text = value.split("\0")[0].strip()
    return shown_name(text)[:120] if text else ""


def _nonsense(what: str, value: Any) -> str:
    return _("The camera's %(what)s makes no sense (%(value)s) and was left out.") % {
        "what": what,
        "value": shown_name(str(value))[:60],
    }
