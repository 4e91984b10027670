"""Versions of a tower set-up: its base marked on a picture, valid from a time on."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext as _

from records.intake.corners import BASE
from records.intake.wanted import want_corners
from records.models import (
    Frame,
    FrameOnSquare,
    Picture,
    PlacedBy,
    Placement,
    Season,
    Square,
    Stage,
    TowerSetUp,
    version_at,
)
from records.permissions import May
from records.refusals import Conflict, Refused
from records.verbs.coverage import frames_lie_on, recount_squares
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    current,
    demand_standing,
    made_before,
    save_in_words,
    verb,
    void,
)
from records.verbs.many import make_many, save_many
from records.verbs.placing import MarkEntry, kept_by_marks, on_station
from survey.placement import placement_of_footprint


@dataclass(frozen=True)
class BaseEntry:
    """The base as it is seen in one frame; marks count from its middle, m.

    `valid_from`: when this version begins; None: with the set-up's first use. `lay_anew`:
    frames of this season that were accepted already take it too.
    """

    picture: Picture
    width_m: float
    depth_m: float
    marks: Sequence[MarkEntry]
    valid_from: datetime.datetime | None = None
    lay_anew: bool = False


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def place_set_up_by_marks(
    season: Season, set_up: TowerSetUp, entry: BaseEntry, id: UUID
) -> Placement:
    """A new version of the set-up. Frames keep theirs unless they are to be laid anew."""
    if (before := made_before(Placement, id)) is not None:
        return before
    row = current(TowerSetUp, set_up.pk, None)
    _demand_usable(season, row, entry)
    placement = kept_by_marks(
        entry.picture,
        entry.marks,
        id=id,
        set_up=row,
        lens=row.lens,
        valid_from=entry.valid_from,
    )
    if (row.base_x_m, row.base_y_m) != (entry.width_m, entry.depth_m):
        row.base_x_m, row.base_y_m = entry.width_m, entry.depth_m
        save_in_words(row)
    if entry.lay_anew:
        lay_anew(season, row, only=placement)
    return placement


@dataclass(frozen=True)
class BaseSizes:
    """The base between the outer edges of its markers' black, and the side of the black."""

    width_m: float
    depth_m: float
    marker_mm: float


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def note_base_markers(
    season: Season, set_up: TowerSetUp, sizes: BaseSizes, seen_version: int
) -> TowerSetUp:
    """That printed markers are fixed to its base, and how it measures."""
    row = current(TowerSetUp, set_up.pk, seen_version)
    demand_of_site(season, row)
    demand_standing(row)
    if 2 * sizes.marker_mm > 1000 * min(sizes.width_m, sizes.depth_m):
        raise Refused(
            _("Two markers do not fit side by side on a base of this size. Look at the numbers."),
            field="marker_mm",
        )
    row.base_x_m, row.base_y_m = sizes.width_m, sizes.depth_m
    row.base_marker_mm = sizes.marker_mm
    return save_in_words(row)


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def want_base_found(season: Season, set_up: TowerSetUp, picture: Picture) -> None:
    """Have the markers of its base looked for in a picture, where it bears any."""
    demand_of_site(season, set_up)
    demand_of_site(season, picture)
    if set_up.base_marker_mm:
        want_corners(picture, BASE)


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_set_up_version(season: Season, version: Placement, reason: str) -> Placement:
    """For one marked wrongly, or begun at a wrong time. Frames laid with it keep their place."""
    row = current(Placement, version.pk, None)
    if row.set_up is None or row.set_up.site_id != season.site_id:
        raise Refused(_("This set-up belongs to another site."))
    others = [one for one in row.set_up.versions() if one.pk != row.pk]
    if not row.is_voided and not any(one.valid_from is None for one in others):
        raise Refused(
            _(
                "A set-up needs a version from the beginning of its use on. Mark its base anew "
                "first, then make this one void."
            )
        )
    void(row, reason)
    return row


def _demand_usable(season: Season, set_up: TowerSetUp, entry: BaseEntry) -> None:
    demand_of_site(season, set_up)
    demand_of_site(season, entry.picture)
    demand_standing(set_up)
    if entry.picture.is_voided:
        raise Conflict(_("This picture was made void meanwhile. Choose another one."))
    demand_begun(entry.valid_from)
    demand_size(set_up, entry.picture)


def demand_begun(valid_from: datetime.datetime | None) -> None:
    if valid_from is not None and valid_from > timezone.now():
        raise Refused(
            _("A version begins now or has begun; this time is still to come."), field="begins_at"
        )


def demand_of_site(season: Season, record: TowerSetUp | Picture) -> None:
    if record.site_id != season.site_id:
        raise Refused(_("This set-up belongs to another site."))


def demand_size(set_up: TowerSetUp, picture: Picture) -> None:
    """Refused where the set-up cannot have taken it; asked before anybody marks, too."""
    size = picture.upright_size_px
    if size is None:
        raise Refused(_("A video or raw file cannot be marked. Choose a picture."))
    known = set_up.picture_width_px, set_up.picture_height_px
    if size != known:
        raise Refused(
            _("%(name)s has %(width)s × %(height)s px; the set-up has %(w)s × %(h)s px.")
            % {
                "name": picture.original_name,
                "width": size[0],
                "height": size[1],
                "w": known[0],
                "h": known[1],
            }
        )


def placed_by_footprint(
    set_up: TowerSetUp, valid_from: datetime.datetime | None = None
) -> Placement:
    """A version by the footprint that was typed, through the set-up's lens; part of a guarded
    verb."""
    width_px, height_px = set_up.picture_width_px, set_up.picture_height_px
    placed = placement_of_footprint(
        set_up.footprint_x_m,
        set_up.footprint_y_m,
        width_px,
        height_px,
        lens=None if set_up.lens is None else set_up.lens.as_value,
    )
    return Placement.objects.create(
        set_up=set_up,
        lens=set_up.lens,
        h=list(placed.h),
        width_px=width_px,
        height_px=height_px,
        method=PlacedBy.FOOTPRINT,
        valid_from=valid_from,
    )


def lay_anew(season: Season, set_up: TowerSetUp, only: Placement) -> None:
    """The kept frames of the season that stand on a station while the version is in force."""
    versions = set_up.versions()
    frames = [
        frame for frame in _laid_by(season, set_up) if version_at(versions, frame.taken_at) == only
    ]
    placements = [_anew(frame, only) for frame in frames]
    make_many(placements)
    for frame, placement in zip(frames, placements, strict=True):
        frame.placement = placement
    save_many(frames, "placement")
    _cover_anew(frames)


def _laid_by(season: Season, set_up: TowerSetUp) -> list[Frame]:
    frames = Frame.objects.select_for_update(of=("self",)).filter(
        card__run__season=season,
        card__run__set_up=set_up,
        is_kept=True,
        photograph__voided_at=None,
        placement__method=PlacedBy.STATION,
    )
    return list(
        frames.select_related(
            "photograph__picture__file",
            "photograph__dive",
            "card__run__grid",
            "card__run__stage",
            "row",
        ).order_by("pk")
    )


def _anew(frame: Frame, version: Placement) -> Placement:
    assert frame.row is not None  # it was laid by its station
    assert frame.station is not None
    foot_m = frame.foot_x_m, frame.foot_y_m
    run, picture = frame.run, frame.photograph.picture
    return on_station(run, version, picture, frame.row, frame.station, foot_m)


def _cover_anew(frames: list[Frame]) -> None:
    """Which squares they touch, and what of these is covered now."""
    before = FrameOnSquare.objects.filter(frame__in=frames)
    touched: dict[Stage, set[Square]] = {}
    for one in before.select_related("square__grid", "frame__card__run__stage"):
        touched.setdefault(one.frame.run.stage, set()).add(one.square)
    before.delete()
    for run in {frame.run for frame in frames}:
        of_run = [frame for frame in frames if frame.run == run]
        touched.setdefault(run.stage, set()).update(frames_lie_on(run.grid, of_run))
    for stage in sorted(touched, key=lambda one: str(one.pk)):
        recount_squares(stage, touched[stage])
