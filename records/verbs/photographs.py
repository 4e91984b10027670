"""Photographs taken by hand, and what may be said or voided of any photograph."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import (
    Dive,
    Diver,
    Drawing,
    FindPicture,
    Frame,
    NumberKind,
    Photograph,
    PhotoKind,
    Picture,
    Season,
    Square,
    Stage,
)
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.coverage import recount_squares
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    UNTIL_FIELDWORK_CLOSED,
    current,
    demand_open,
    demand_standing,
    made_before,
    save_in_words,
    verb,
    void,
)
from records.verbs.numbers import take_numbers


@dataclass(frozen=True)
class PhotographEntry:
    """What a person says of a photograph; a square goes with its stage."""

    kind: str
    dive: Dive | None = None
    square: Square | None = None
    stage: Stage | None = None
    subject: str = ""
    facing: str = ""
    scale_words: str = ""
    photographer: Diver | None = None


@verb(May.RECORD, UNTIL_DEPOSITED)
def record_photograph(
    season: Season, picture: Picture, entry: PhotographEntry, id: UUID
) -> Photograph:
    """A single photograph whose picture is in the record (`intake.pictures.bring_in_picture`)."""
    if (before := made_before(Photograph, id)) is not None:
        return before
    if entry.kind == PhotoKind.FRAME:
        raise Refused(_("Tower frames come in with their card."), field="kind")
    if picture.site_id != season.site_id:
        raise ValueError(f"picture {picture.pk!r} is of another site than season {season.code!r}")
    known = Photograph.objects.filter(picture=picture).select_related("season").first()
    if known is not None:
        raise Conflict(
            _("This file is in the record already as %(number)s.") % {"number": known.number}
        )
    _demand_fitting(season, entry)
    (n,) = take_numbers(season, NumberKind.PHOTO, 1)
    return save_in_words(Photograph(id=id, season=season, n=n, picture=picture, **_said(entry)))


@verb(May.RECORD, UNTIL_DEPOSITED)
def edit_photograph(
    photograph: Photograph, entry: PhotographEntry, seen_version: int | None
) -> Photograph:
    """Mend what is said; a tower frame keeps its kind, dive and stage."""
    row = _standing(photograph, seen_version)
    _demand_fitting(row.season, entry)
    said = _said(entry)
    if row.kind == PhotoKind.FRAME:
        said = {name: said[name] for name in ("subject", "facing", "scale_words", "photographer")}
    elif entry.kind == PhotoKind.FRAME:
        raise Refused(_("Tower frames come in with their card."), field="kind")
    elif entry.stage != row.stage and Frame.objects.filter(photograph=row, is_kept=True).exists():
        raise Refused(
            _(
                "This photograph is placed by known points and counts in %(stage)s. Place it anew "
                "in the other stage, or leave it out first."
            )
            % {"stage": row.stage},
            field="stage",
        )
    for name, value in said.items():
        setattr(row, name, value)
    return save_in_words(row)


@verb(May.LEAD, UNTIL_DEPOSITED)
def void_photograph(photograph: Photograph, reason: str) -> Photograph:
    """The number stays. What a frame covered is counted again without it."""
    row = _standing(photograph, None)
    frame = Frame.objects.filter(photograph=row).first()
    if frame is not None:
        demand_open(row.season, UNTIL_FIELDWORK_CLOSED)
    void(row, reason)
    if frame is not None and row.stage is not None:
        touched = {one.square for one in frame.on_squares.select_related("square__grid")}
        recount_squares(row.stage, touched)
    _void_picture(row.picture, reason)
    return row


def _void_picture(picture: Picture, reason: str) -> None:
    """So that the same file can be brought in anew; one that is used otherwise stays."""
    drawn = Drawing.objects.standing().filter(picture=picture).exists()
    found = FindPicture.objects.standing().filter(picture=picture).exists()
    row = current(Picture, picture.pk, None)
    if not (drawn or found or row.is_voided):
        void(row, reason)


def _standing(photograph: Photograph, seen_version: int | None) -> Photograph:
    row = current(Photograph, photograph.pk, seen_version)
    demand_standing(row)
    return row


def _said(entry: PhotographEntry) -> dict[str, Any]:
    said = {name: getattr(entry, name) for name in entry.__dataclass_fields__}
    words = {name: said[name].strip() for name in ("subject", "facing", "scale_words")}
    return said | words


def _demand_fitting(season: Season, entry: PhotographEntry) -> None:
    if entry.dive is not None and entry.dive.season_id != season.pk:
        raise Refused(_("This dive belongs to another season."), field="dive")
    if entry.stage is not None and entry.stage.season_id != season.pk:
        raise Refused(_("This stage belongs to another season."), field="stage")
    if entry.square is not None and entry.square.grid.site_id != season.site_id:
        raise Refused(_("This square belongs to another site."), field="square")
    if entry.photographer is not None and entry.photographer.site_id != season.site_id:
        raise Refused(_("This diver belongs to another site."), field="photographer")
    if entry.square is not None and entry.stage is None:
        raise Refused(_("Say in which stage the square was photographed."), field="stage")
