"""Everything that the page of one square shows, in a constant number of queries."""

from dataclasses import dataclass
from typing import Any

from records.models import Season, Square, SquareCoverage, Stage
from records.queries.agreement import SquareAgreement, agreement_on, comparisons_seen
from records.queries.pictures import pictures_for
from records.queries.square_finds import finds_of, in_stage
from records.queries.square_log import (
    Event,
    Evidence,
    Names,
    checks_of,
    exceptions_of,
    log_of,
    photographs_of,
    tasks_on,
)
from records.queries.square_missing import Hole, Known
from records.queries.square_overlay import Overlay, overlay_of
from records.queries.square_panes import (
    DrawingPane,
    PhotoPane,
    drawing_pane,
    drawn_of,
    frames_on,
    photo_pane,
)
from records.queries.square_surfaces import Neighbours, neighbours_of, shown_of, surfaces_of
from records.queries.squares import SquareState


@dataclass(frozen=True)
class Asked:
    """What the address asks for: a stage, the drawing and the frames by number, what is hidden."""

    stage: Stage | None = None
    drawing: int | None = None
    frame: str = ""
    hidden: frozenset[str] = frozenset()


@dataclass(frozen=True)
class SquarePage:
    square: Square
    state: SquareState
    surfaces: list[SquareState]
    neighbours: Neighbours
    known: Known
    evidence: Evidence
    drawing: DrawingPane
    photographs: PhotoPane
    overlay: Overlay
    agreement: SquareAgreement
    log: list[Event]


def square_page(
    square: Square, season: Season, asked: Asked, *, sees_names: bool, may_lead: bool
) -> SquarePage:
    """`may_lead`: sees what is for leads, such as restricted finds and their pictures."""
    surfaces = surfaces_of(square, season, asked.stage)
    state = shown_of(surfaces, square, season, asked.stage)
    seen = pictures_for(season, may_lead=may_lead)
    keys = seen.values("pk")
    drawn = drawn_of(square, state.stage, keys) if state.stage else []
    frames = frames_on(square, state.stage, keys) if state.stage else []
    made = comparisons_seen(season, may_lead=may_lead).filter(
        drawn_square__square=square, drawn_square__stage=state.stage
    )
    comparisons = list(made) if drawn else []
    finds = in_stage(finds_of(square, season, may_lead=may_lead), state.stage)
    evidence = Evidence(
        state=state,
        drawn=drawn,
        frames=frames,
        tasks=tasks_on(state, season),
        checks=checks_of(drawn),
        exceptions=exceptions_of(state.goal),
        photographs=photographs_of(state, season, seen),
        finds=[one for one in finds if one.square_id == square.pk],
        comparisons=comparisons,
    )
    holes = _holes(state)
    needed = season.coverage_needed_fraction
    panes = (
        drawing_pane(square, drawn, asked.drawing),
        photo_pane(square, frames, asked.frame, needed),
    )
    return SquarePage(
        square=square,
        state=state,
        surfaces=surfaces,
        neighbours=neighbours_of(square),
        known=_known(evidence, holes),
        evidence=evidence,
        drawing=panes[0],
        photographs=panes[1],
        agreement=agreement_on(
            comparisons,
            panes[0].shown,
            panes[1].shown,
            season.disagreement_limit_mm,
            wants_look=state.differs_by_m is not None,
        ),
        overlay=overlay_of(square, finds, holes),
        log=log_of(evidence, Names(season, are_seen=sees_names)),
    )


def _holes(state: SquareState) -> list[dict[str, Any]]:
    coverage = SquareCoverage.objects.standing().filter(square=state.id, stage=state.stage)
    row = coverage.first()
    return row.holes if row else []


def _known(evidence: Evidence, holes: list[dict[str, Any]]) -> Known:
    grid = evidence.state.grid
    drawings = [one.drawing for one in evidence.drawn if not one.is_voided]
    standing = [one for one in drawings if not one.is_voided and one.dive is not None]
    return Known(
        state=evidence.state,
        holes=[Hole(one["area_m2"], one["where"]) for one in holes],
        bearing_deg=None if grid.is_upright else grid.bearing_deg,
        drawn_on=frozenset(one.dive.n for one in standing if one.dive),
        photographed_on=frozenset(
            dive.n for one in evidence.frames if (dive := one.frame.photograph.dive)
        ),
    )
