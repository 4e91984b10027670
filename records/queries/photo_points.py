"""How a photograph is placed by known points: what is on the list when its page opens."""

from collections.abc import Sequence
from typing import Any

from records.models import Frame, Grid, Mark, Photograph, PlacedBy, Placement, Square, Stage
from records.queries.known_points import KnownPoints
from records.queries.square_words import present_stages
from records.refusals import Refused


def frame_of(photograph: Photograph) -> Frame | None:
    frames = Frame.objects.select_related("card__run__grid", "placement__grid")
    found: Frame | None = frames.filter(photograph=photograph).first()
    return found


def grid_offered(photograph: Photograph, frame: Frame | None) -> Grid | None:
    """The one it lies on, its run's, its square's, else the site's first."""
    if frame is not None and frame.run is not None:
        grid: Grid | None = frame.run.grid
        return grid
    if frame is not None and frame.placement is not None:
        return frame.placement.grid
    if photograph.square is not None:
        return photograph.square.grid
    return Grid.objects.standing().filter(site=photograph.season.site_id).order_by("code").first()


def stage_offered(photograph: Photograph) -> Stage | None:
    if photograph.stage is not None:
        return photograph.stage
    if photograph.square is not None:
        return present_stages(photograph.season, [photograph.square]).get(photograph.square.pk)
    return None


def points_offered(
    photograph: Photograph, frame: Frame | None, known: KnownPoints
) -> list[dict[str, Any]]:
    """Marked before: those points; else the corners of the square that it shows most of."""
    placement = frame.placement if frame else None
    if placement is not None and placement.method == PlacedBy.MARKS:
        return _marked(placement, known)
    square = _shown_most(photograph, frame)
    if square is None or square.grid_id != known.grid.pk:
        return []
    return [{"name": name} for name in known.corners_of(square.column, square.row)]


def _shown_most(photograph: Photograph, frame: Frame | None) -> Square | None:
    if frame is None or frame.run is None:
        return photograph.square
    touched = frame.on_squares.select_related("square").order_by("-fraction").first()
    return touched.square if touched else None


def _marked(placement: Placement, known: KnownPoints) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = []
    for mark in Mark.objects.filter(placement=placement).order_by("made_at"):
        row: dict[str, Any] = {"name": mark.label}
        try:
            known.at(mark.label)
        except Refused:
            row |= {"x_m": round(mark.x_m, 3), "y_m": round(mark.y_m, 3)}
        rows.append(row | {"u": round(mark.u_px, 2), "v": round(mark.v_px, 2)})
    return rows


def with_more(
    rows: Sequence[dict[str, Any]], text: str, known: KnownPoints, most: int
) -> list[dict[str, Any]]:
    """The list as it was sent, blank rows left out, with the points that `text` names."""
    kept = [row for row in rows if any(row.values())]
    places = []
    for row in kept:
        try:
            places.append(known.at(row["name"]))
        except Refused:
            continue
    fresh = known.once(known.named(text), places)
    return [*kept, *({"name": name} for name in fresh)][:most]
