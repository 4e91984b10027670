"""The contact sheet of a card that was accepted: its photographs in the order of their numbers."""

from uuid import UUID

from django.utils.translation import gettext as _

from records.intake.opinions import Judgement, run_opinions
from records.models import Card, Frame, Picture
from records.queries.held_rows import rows_told
from records.queries.opinions import tags_of
from records.queries.run_map import Stands
from records.queries.sheet import Item, Sheet, being_made


def accepted_sheet(card: Card) -> Sheet:
    """Of a card that was accepted: its photographs in the order of their numbers."""
    pictures = Frame.objects.filter(card=card).select_related(
        "photograph__season", "photograph__picture__file", "row"
    )
    frames = list(pictures.order_by("photograph__n"))
    places = card.run.places
    unmade = being_made(Picture.objects.filter(photograph__frame__card=card))
    opinions = run_opinions(card.run)
    judged = opinions.judged
    rows = rows_told(card, opinions)
    items = [_accepted(card, frame, unmade, judged.get(frame.pk)) for frame in frames]
    stands = {
        places[frame.row_id, frame.station]: Stands.FRAME
        for frame in frames
        if frame.is_kept and (frame.row_id, frame.station) in places
    }
    others = [one for one in card.incoming.standing().select_related("file", "picture")]
    return Sheet(
        card=card,
        items=items,
        spare=[],
        beside=[],
        others=[one for one in others if one.role != "frame"],
        seen="",
        last_step=None,
        stands=stands,
        remarks=rows.remarks,
        notes=rows.notes,
    )


def _accepted(card: Card, frame: Frame, unmade: set[UUID], judged: Judgement | None) -> Item:
    picture = frame.photograph.picture
    picture.is_being_made = picture.pk in unmade  # type: ignore[attr-defined]
    place = card.run.places.get((frame.row_id, frame.station))
    return Item(
        key=str(frame.pk),
        picture=picture,
        name=picture.original_name,
        place=place,
        station="" if place is None else card.run.station_words(place),
        taken_at=picture.taken_at,
        flags=tags_of(judged) if judged else [],
        left_out=frame.left_out_reason,
        number=frame.photograph.number,
        photograph_id=frame.photograph_id,
        known=_("void") if frame.photograph.is_voided else "",
    )
