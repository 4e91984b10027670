"""Tags of squares in the frames of a card: the door to `survey.square_tags`."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from records.intake.alike import base_of
from records.intake.codes import SeenCode
from records.models import Card, IncomingFrame, Placement
from survey import placement as placing
from survey.anchors import Anchor, AnchoredLaying, AnchorKind, row_of
from survey.markers import Kind, meaning_of
from survey.square_tags import lies_on_ground, square_at, stations_seeing
from survey.stations import Laid, Shot

_ENDS = (AnchorKind.ROW_ENDS, AnchorKind.RUN_BOARD)


@dataclass(frozen=True)
class Tag:
    """A square's tag in a frame: what it is called, and from which stations (counted from 0) it
    can be seen there; `beside`: it is held up to the camera, or shown between two rows."""

    name: str
    stations: tuple[int, ...]
    beside: bool = False

    @property
    def anchor(self) -> Anchor | None:
        if self.beside:
            return Anchor(AnchorKind.ASIDE)
        if len(self.stations) == 1:
            return Anchor(AnchorKind.AT_STATION, self.stations[0])
        return Anchor(AnchorKind.AT_ONE_OF, among=self.stations) if self.stations else None


def tags_in(
    card: Card, frames: Mapping[str, IncomingFrame], codes: Mapping[str, Sequence[SeenCode]]
) -> dict[str, Tag]:
    """By the keys of frames; one query where there is any."""
    with_tags = {key: found for key in frames if (found := _of_squares(codes.get(key, ())))}
    if not with_tags:
        return {}
    versions = card.run.set_up.versions()
    poses = [row.pose_at(station) for row, station in card.run.stations]
    tags = {}
    for key, found in with_tags.items():
        base = base_of(versions, card, frames[key])
        seen = [_tag(card, base, poses, one) for one in found]
        tags[key] = _together(seen)
    return tags


def _of_squares(codes: Sequence[SeenCode]) -> list[SeenCode]:
    tags = [one for one in codes if meaning_of(one.code).kind is Kind.SQUARE]
    return [one for one in tags if one.side > 0.0]


def _tag(card: Card, base: Placement, poses: Sequence[placing.Pose], seen: SeenCode) -> Tag:
    number = meaning_of(seen.code).number
    at_px = seen.u * base.width_px - 0.5, seen.v * base.height_px - 0.5
    placed, grid = base.as_value, card.run.grid
    side_px = seen.side * max(base.width_px, base.height_px)
    if not lies_on_ground(placed, at_px, side_px):
        return Tag(_("Square tag %(n)d") % {"n": number}, (), beside=True)
    stations = stations_seeing(number, placed, at_px, poses, grid.side_m)
    if not stations:
        return Tag(_("Square tag %(n)d") % {"n": number}, ())
    square = square_at(number, placed, at_px, poses[stations[0]], grid.side_m)
    assert square is not None  # it is seen from there
    return Tag(_("Square tag %(square)s") % {"square": grid.label_of(*square)}, stations)


def _together(tags: Sequence[Tag]) -> Tag:
    """Of several in one frame: the stations from which all of those on the ground can be seen."""
    lying = [one for one in tags if not one.beside]
    if not lying:
        return tags[0]
    shared = set.intersection(*(set(one.stations) for one in lying))
    return replace(lying[0], stations=tuple(sorted(shared)))


def between_rows(
    tags: Mapping[str, Tag], shots: Sequence[Shot], anchors: Mapping[str, Anchor]
) -> dict[str, Tag]:
    """Those that are shown after a row's last frame or before a row's first one stand beside the
    run. `shots` in order of time."""
    begins = any(one.kind is AnchorKind.ROW_BEGINS for one in anchors.values())
    beside, told = begins, {}
    for shot in shots:
        kind = anchors[shot.key].kind if shot.key in anchors else None
        if kind is AnchorKind.ROW_BEGINS:
            beside = False
        elif kind in _ENDS:
            beside = begins or kind is AnchorKind.ROW_ENDS
        elif shot.key in tags and kind is None:
            told[shot.key] = replace(tags[shot.key], beside=beside or tags[shot.key].beside)
        elif kind is None and not begins:
            beside = False
    return told


def contradicted(found: AnchoredLaying, rows: Sequence[int], tags: Mapping[str, Tag]) -> set[str]:
    """Frames that boards at both ends of their row and their pictures hold on another station than
    their tag says. `rows`: stations of each."""
    held = found.held.on
    return {
        key
        for key, tag in tags.items()
        if key in held
        and not tag.beside
        and held[key] not in tag.stations
        and found.anchored_rows.get(row_of(held[key], rows))
    }


def without_tags_over(laid: Laid, again: Mapping[str, int], tags: Mapping[str, Tag]) -> Laid:
    """Of two frames on one station the one without a tag in it stands there: a tag hides ground.

    `again`: frames whose station was taken again → that station.
    """
    on, spare = dict(laid.on), list(laid.spare)
    by_station = {place: key for key, place in on.items()}
    for key, place in again.items():
        keeper = by_station[place]
        if key in spare and key not in tags and keeper in tags:
            del on[keeper]
            on[key], by_station[place] = place, key
            spare[spare.index(key)] = keeper
    return Laid(laid.stations, on, tuple(spare))


def doubts_of(laid: Laid, tags: Mapping[str, Tag]) -> Iterator[tuple[str, str]]:
    """Frames on stations that their tags speak against, and how."""
    for key, tag in tags.items():
        if key not in laid.on or tag.beside or laid.on[key] in tag.stations:
            continue
        if tag.stations:
            words = _("It shows the tag %(tag)s, which cannot be seen so from this station.")
        else:
            words = _("It shows the tag %(tag)s, which is of no square that this run's rows show.")
        yield key, words % {"tag": tag.name}
