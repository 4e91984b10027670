"""Files and pictures into the record. Their bytes are kept already when these verbs run."""

from typing import Any
from uuid import UUID, uuid4

from django.utils.translation import gettext as _

from records.intake.names import shown_name
from records.intake.originals import Kept
from records.intake.wanted import want
from records.models import Picture, Season, StoredFile
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.guard import ALWAYS, UNTIL_DEPOSITED, current, made_before, save_in_words, verb


@verb(May.RECORD, UNTIL_DEPOSITED)
def take_in_file(season: Season, kept: Kept) -> StoredFile:
    """The row of an original; the same file is one row, whoever brings it."""
    return _row_of(kept)


@verb(May.RECORD, UNTIL_DEPOSITED)
def take_in_picture(
    season: Season,
    kept: Kept,
    original_name: str,
    *,
    picture_id: UUID | None = None,
    orientation: int | None = None,
    caption: str = "",
    creator: str = "",
    rights: str = "",
) -> Picture:
    """A picture of the season's site; the same file brought again is the same picture.

    `orientation` overrides the camera's, as a tower's set-up does.
    """
    file = _row_of(kept)
    known: Picture | None = (
        Picture.objects.standing().filter(site=season.site_id, file=file).first()
    )
    if known is not None:
        return known
    if picture_id is not None and made_before(Picture, picture_id) is not None:
        raise Conflict(_("This form was already used for another picture. Open a new one."))
    facts = kept.seen.facts
    picture = Picture(
        id=picture_id or uuid4(),
        site_id=season.site_id,
        file=file,
        original_name=shown_name(original_name),
        orientation=orientation or facts.orientation,
        taken_at=facts.taken_at(season.tz),
        exif=facts.as_json(),
        caption=caption,
        creator=creator,
        rights=rights,
    )
    save_in_words(picture)
    want(picture)
    return picture


@verb(May.RECORD, UNTIL_DEPOSITED)
def pair_raw(season: Season, picture: Picture, raw: StoredFile) -> Picture:
    """Name the raw file of the same exposure; another one already named is not replaced."""
    row = _of_site(season, picture)
    if row.raw_file_id == raw.pk:
        return row
    if row.raw_file_id is not None:
        raise Refused(_("This picture already has another raw file."))
    row.raw_file = raw
    return save_in_words(row)


@verb(May.RECORD, UNTIL_DEPOSITED)
def turn_picture(
    season: Season, picture: Picture, orientation: int, *, seen_version: int | None = None
) -> Picture:
    """Which way up it is shown (an EXIF orientation, 1 to 8); the original stays as it is."""
    row = _of_site(season, picture, seen_version)
    if row.placements.exists():
        raise Refused(
            _("This picture is placed on the grid already and cannot be turned any more.")
        )
    row.orientation = orientation
    save_in_words(row)
    want(row)
    return row


@verb(May.SEE, ALWAYS)
def want_shown(season: Season, picture: Picture, recipe: str) -> None:
    """Have a derivative made that is not there; whoever sees the picture may ask."""
    want(_of_site(season, picture), recipe)


def _of_site(season: Season, picture: Picture, seen_version: int | None = None) -> Picture:
    row = current(Picture, picture.pk, seen_version)
    if row.site_id != season.site_id:
        raise ValueError(f"picture {row.pk!r} is of another site than season {season.code!r}")
    return row


def _row_of(kept: Kept) -> StoredFile:
    described: dict[str, Any] = {
        "size_bytes": kept.size_bytes,
        "media_type": kept.what.media_type,
        "width_px": kept.seen.width_px,
        "height_px": kept.seen.height_px,
    }
    row, _made = StoredFile.objects.get_or_create(sha256=kept.sha256, defaults=described)
    return row
