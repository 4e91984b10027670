"""Pictures of finds: photographs of the season with numbers of their own, laid to their find."""

from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils.translation import gettext as _

from records.models import (
    Dive,
    Diver,
    Drawing,
    Find,
    FindPicture,
    NumberKind,
    Photograph,
    PhotoKind,
    Picture,
)
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.find_checks import standing_find
from records.verbs.fixes import save_because
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    current,
    demand_standing,
    made_before,
    restore,
    save_in_words,
    verb,
    void,
)
from records.verbs.numbers import take_numbers


@dataclass(frozen=True)
class ShotEntry:
    """What is said of a photograph of a find; its dive is the find's unless another is named."""

    subject: str = ""
    facing: str = ""
    scale_words: str = ""
    photographer: Diver | None = None
    dive: Dive | None = None


@verb(May.RECORD, UNTIL_DEPOSITED)
def add_find_picture(
    find: Find, picture: Picture, entry: ShotEntry = ShotEntry(), id: UUID | None = None
) -> FindPicture:
    """A picture that is in the record already (`intake.pictures.bring_in_picture`).

    It becomes a photograph with the next number, unless it is one.
    """
    if id is not None and (known := made_before(FindPicture, id)) is not None:
        return _sent_again(known, find, picture)
    row = standing_find(find)
    _demand_a_photograph(row, picture)
    photograph = _photograph_of(row, picture, entry)
    laid: FindPicture | None = FindPicture.objects.filter(find=row, picture=picture).first()
    if laid is None:
        laid = save_in_words(FindPicture(id=id or uuid4(), find=row, picture=picture))
    elif laid.is_voided:
        restore(laid)
    else:
        return laid
    save_because(row, _("picture laid to it: %(photograph)s") % {"photograph": photograph})
    return laid


@verb(May.RECORD, UNTIL_DEPOSITED)
def take_away_find_picture(find_picture: FindPicture, reason: str) -> FindPicture:
    """The picture does not show this find; as a photograph of the season it stays."""
    row = standing_find(find_picture.find)
    laid = current(FindPicture, find_picture.pk, None)
    void(laid, reason)
    photograph = Photograph.objects.filter(picture=laid.picture).first()
    save_because(row, _("picture taken away: %(photograph)s") % {"photograph": photograph or "–"})
    return laid


def _demand_a_photograph(find: Find, picture: Picture) -> None:
    if picture.site_id != find.season.site_id:
        raise ValueError(f"picture {picture.pk!r} is of another site than find {find.pk!r}")
    demand_standing(picture)
    if not picture.file.is_shown:
        raise Refused(
            _("A raw file or a video cannot be shown here. Choose a picture."), field="file"
        )
    drawing = Drawing.objects.standing().filter(picture=picture).first()
    if drawing is not None:
        raise Conflict(
            _("This picture is in the record as a drawing: it is %(drawing)s.")
            % {"drawing": drawing},
            field="file",
        )


def _photograph_of(find: Find, picture: Picture, entry: ShotEntry) -> Photograph:
    there: Photograph | None = Photograph.objects.filter(picture=picture).first()
    if there is not None:
        demand_standing(there)
        return there
    (n,) = take_numbers(find.season, NumberKind.PHOTO, 1)
    return save_in_words(
        Photograph(
            season=find.season,
            n=n,
            picture=picture,
            kind=PhotoKind.FIND,
            square=find.square,
            stage=find.stage,
            dive=entry.dive or find.dive,
            subject=entry.subject.strip() or f"{find.object_name}, {find}",
            facing=entry.facing.strip(),
            scale_words=entry.scale_words.strip(),
            photographer=entry.photographer,
        )
    )


def _sent_again(known: FindPicture, find: Find, picture: Picture) -> FindPicture:
    if (known.find_id, known.picture_id) != (find.pk, picture.pk):
        raise Conflict(_("This form was already used for another record. Open a new one."))
    return known
