"""Tower set-ups, photo runs and their rows."""

from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from records.models import (
    Frame,
    Grid,
    Lens,
    PhotoRun,
    RunRow,
    Season,
    Stage,
    TowerSetUp,
)
from records.permissions import May
from records.refusals import Refused
from records.verbs.guard import (
    UNTIL_FIELDWORK_CLOSED,
    current,
    demand_standing,
    made_before,
    save_in_words,
    verb,
    void,
)
from records.verbs.set_up_versions import placed_by_footprint
from records.verbs.sheet import propose_again


@dataclass(frozen=True)
class SetUpEntry:
    """A camera in its tower; the footprint is what the upright picture covers on the base."""

    name: str
    camera: str
    height_m: float
    picture_width_px: int
    picture_height_px: int
    footprint_x_m: float
    footprint_y_m: float
    orientation: int = 1
    lens: Lens | None = None
    sensor_width_mm: float | None = None
    focal_length_mm: float | None = None
    port: str = ""


@dataclass(frozen=True)
class RowEntry:
    start_x_m: float
    start_y_m: float
    direction_deg: float
    step_m: float
    stations: int
    turn_deg: float = 0.0


@dataclass(frozen=True)
class RunEntry:
    name: str
    stage: Stage
    grid: Grid
    set_up: TowerSetUp
    rows: tuple[RowEntry, ...]
    note: str = ""


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def make_set_up(season: Season, entry: SetUpEntry, id: UUID) -> TowerSetUp:
    """A set-up placed by its typed footprint, looking straight at the base."""
    if (before := made_before(TowerSetUp, id)) is not None:
        return before
    _demand_same_shape(entry)
    set_up = save_in_words(TowerSetUp(id=id, site=season.site, **vars(entry)))
    placed_by_footprint(set_up)
    return set_up


def _demand_same_shape(entry: SetUpEntry) -> None:
    """Pixels are square: what is wider than high in the picture is so on the base too."""
    wider_px = entry.picture_width_px - entry.picture_height_px
    wider_m = entry.footprint_x_m - entry.footprint_y_m
    if wider_px * wider_m < 0:
        raise Refused(
            _(
                "The picture is wider than high and its footprint is not, or the other way round. "
                "Give both for the picture as it is seen upright."
            ),
            field="footprint_x_m",
        )


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_set_up(season: Season, set_up: TowerSetUp, reason: str) -> TowerSetUp:
    """For one made by mistake: no standing run uses it."""
    set_up = current(TowerSetUp, set_up.pk, None)
    if set_up.site_id != season.site_id:
        raise Refused(_("This set-up belongs to another site."))
    if set_up.runs.filter(voided_at=None).exists():
        raise Refused(_("Runs were planned with this set-up, so it stays. Make a new one."))
    void(set_up, reason)
    return set_up


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def plan_run(season: Season, entry: RunEntry, id: UUID) -> PhotoRun:
    """A run: crew may make one when the card is already in their hand."""
    if (before := made_before(PhotoRun, id)) is not None:
        return before
    _demand_of_this_site(season, entry)
    run = PhotoRun(
        id=id,
        season=season,
        stage=entry.stage,
        grid=entry.grid,
        set_up=entry.set_up,
        name=entry.name,
        note=entry.note,
    )
    save_in_words(run)
    for order, row in enumerate(entry.rows, start=1):
        save_in_words(RunRow(run=run, order=order, **vars(row)))
    return run


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def edit_run(run: PhotoRun, entry: RunEntry, seen_version: int) -> PhotoRun:
    """Name and note always; rows only while no frame stands on them."""
    run = current(PhotoRun, run.pk, seen_version)
    demand_standing(run)
    _demand_of_this_site(run.season, entry)
    run.name, run.note = entry.name, entry.note
    if _rows_of(run) != list(entry.rows) or _lies_elsewhere(run, entry):
        _demand_no_frames(run)
        _demand_same_way_up(run, entry.set_up)
        for card in run.cards.all():
            propose_again(card, _("The stations of the run were changed."))
        run.stage, run.grid, run.set_up = entry.stage, entry.grid, entry.set_up
        _rewrite_rows(run, entry.rows)
    save_in_words(run)
    return run


@verb(May.LEAD, UNTIL_FIELDWORK_CLOSED)
def void_run(run: PhotoRun, reason: str) -> PhotoRun:
    """For a run that was never photographed."""
    run = current(PhotoRun, run.pk, None)
    if run.cards.filter(voided_at=None).exists():
        raise Refused(_("Cards were brought in for this run, so it stays. Void the cards first."))
    void(run, reason)
    return run


def _rewrite_rows(run: PhotoRun, rows: tuple[RowEntry, ...]) -> None:
    standing = {row.order: row for row in run.rows.all()}
    for order, entry in enumerate(rows, start=1):
        row = standing.pop(order, None) or RunRow(run=run, order=order)
        for name, value in vars(entry).items():
            setattr(row, name, value)
        save_in_words(row)
    for row in standing.values():
        row.delete()


def _rows_of(run: PhotoRun) -> list[RowEntry]:
    names = RowEntry.__dataclass_fields__
    return [RowEntry(**{name: getattr(row, name) for name in names}) for row in run.rows.all()]


def _lies_elsewhere(run: PhotoRun, entry: RunEntry) -> bool:
    return (run.stage_id, run.grid_id, run.set_up_id) != (
        entry.stage.pk,
        entry.grid.pk,
        entry.set_up.pk,
    )


def _demand_no_frames(run: PhotoRun) -> None:
    if Frame.objects.filter(card__run=run).exists():
        raise Refused(
            _(
                "Frames already stand on this run's stations, so they stay. Make a new run for "
                "new stations; name and note can be changed."
            )
        )


def _demand_same_way_up(run: PhotoRun, set_up: TowerSetUp) -> None:
    turned = run.set_up.orientation != set_up.orientation
    if turned and run.cards.filter(voided_at=None, incoming__isnull=False).exists():
        raise Refused(
            _(
                "Frames came in turned as the former set-up says. Set that card aside and bring "
                "it in again, or choose a set-up whose pictures are turned alike."
            ),
            field="set_up",
        )


def _demand_of_this_site(season: Season, entry: RunEntry) -> None:
    if not entry.rows:
        raise Refused(_("A run needs at least one row of stations."), field="rows")
    if entry.set_up.is_voided or entry.stage.is_voided:
        raise Refused(_("Set-up or stage is void by now. Choose another one."), field="set_up")
    if entry.stage.season_id != season.pk:
        raise Refused(_("This stage belongs to another season."), field="stage")
    if entry.grid.site_id != season.site_id or entry.set_up.site_id != season.site_id:
        raise Refused(_("Grid and set-up must belong to this site."), field="grid")
