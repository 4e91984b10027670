"""A square with the same features on a drawn sheet and on a tilted frame, both made in memory and
taken in through the verbs; where the features truly lie is known exactly."""

from collections.abc import Callable, Sequence
from io import BytesIO
from typing import Any
from uuid import uuid4

import numpy as np
from PIL import Image

from records.intake.pictures import bring_in_picture
from records.models import DrawnSquare, Frame, Season, Square, Stage
from records.verbs.acceptance import accept_card
from records.verbs.drawings import DrawingEntry, bring_in_drawing
from records.verbs.drawn_squares import SquareMarks, place_drawn_square
from records.verbs.placing import MarkEntry, place_frame_by_marks
from records.verbs.tower import RowEntry
from tests import made_files
from tests.factory_cards import arrive, begun_card
from tests.factory_pictures import make_run, make_tower_set_up
from tests.survey.pinhole import HEIGHT_PX, WIDTH_PX, Pinhole

# Offsets from the square's corner nearest −x −y, m. No turn or mirroring maps them on themselves.
FEATURES = ((0.13, 0.82), (0.71, 0.91), (0.52, 0.47), (0.22, 0.17), (0.88, 0.31))
# Where the tower's marks lie that place the frame: none of them is a feature.
MARKS = ((0.05, 0.05), (0.95, 0.08), (0.9, 0.93), (0.1, 0.96), (0.5, 0.1), (0.45, 0.9))
RADIUS_M = 0.012
SHEET_PX = (1400, 1900)
# Of the square on the sheet, scanned askew: the grid's corners −x −y, +x −y, +x +y, −x +y.
CORNERS = ((181.4, 1502.7), (1214.9, 1520.3), (1196.2, 489.6), (163.8, 472.1))

Points = np.ndarray


def features_of(square: Square) -> Points:
    """Where the features lie on the grid, (5, 2), m."""
    return _on_grid(square, FEATURES)


def _on_grid(square: Square, offsets: Sequence[tuple[float, float]]) -> Points:
    side_m = square.grid.side_m
    corner = np.array([square.column, square.row])
    return (np.array(offsets) + corner) * side_m


def projectivity(plane: Points, picture: Points) -> Points:
    """Of four points onto four: the linear system of the textbooks, h33 = 1."""
    rows, right = [], []
    for (x, y), (u, v) in zip(plane, picture, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3)


def spotted(
    ground: Points, plane_to_px: Points, centres: Points, value: int, radius_m: float = RADIUS_M
) -> Points:
    """Discs of the plane on a picture (h, w): of 25 samples in a pixel, how many lie in one."""
    painted = ground.astype(float)
    to_plane = np.linalg.inv(plane_to_px)
    for centre in centres:
        seen = plane_to_px @ [*centre, 1.0]
        u_0, v_0 = np.round(seen[:2] / seen[2]).astype(int)
        reach = 60
        u, v = np.meshgrid(np.arange(u_0 - reach, u_0 + reach), np.arange(v_0 - reach, v_0 + reach))
        share = np.zeros(u.shape)
        for du in (-0.4, -0.2, 0.0, 0.2, 0.4):
            for dv in (-0.4, -0.2, 0.0, 0.2, 0.4):
                x, y, w = np.tensordot(to_plane, [u + du, v + dv, np.ones(u.shape)], axes=1)
                share += np.hypot(x / w - centre[0], y / w - centre[1]) < radius_m
        share /= 25
        inside = (u >= 0) & (v >= 0) & (u < ground.shape[1]) & (v < ground.shape[0])
        at = v[inside], u[inside]
        painted[at] = painted[at] * (1 - share[inside]) + value * share[inside]
    return painted.round().astype(np.uint8)


def bring_in_marked_sheet(season: Season, square: Square, stage: Stage) -> DrawnSquare:
    """A drawing of the square on which the features are black spots; a crew member acts."""
    corners = _on_grid(square, ((0, 0), (1, 0), (1, 1), (0, 1)))
    paper = np.full(SHEET_PX[::-1], 244, np.uint8)
    to_px = projectivity(corners, np.array(CORNERS))
    paper = spotted(paper, to_px, features_of(square), value=20)
    scan = made_files.encoded(Image.fromarray(paper), "PNG")
    picture = bring_in_picture(season, BytesIO(scan), "sheet.png")
    entry = DrawingEntry(squares_on_sheet=square.label)
    drawing = bring_in_drawing(season, picture, entry, uuid4())
    return place_drawn_square(drawing, square, stage, "whole", SquareMarks(CORNERS))


def tilted_camera(square: Square, tilt_deg: float = 3.0) -> Pinhole:
    """Some centimetres beside the square's middle, two sides above it, turned a little."""
    side_m = square.grid.side_m
    x_m, y_m = _on_grid(square, ((0.54, 0.46),))[0]
    return Pinhole(x_m, y_m, 2.0 * side_m, tilt_deg, tilt_toward_deg=70.0, turn_deg=4.0)


def bring_in_tilted_frame(
    season: Season, square: Square, stage: Stage, camera: Pinhole, acting: Callable[[], Any]
) -> Frame:
    """An accepted frame of the same features, placed by six marks; `acting()` as a lead."""
    random = np.random.default_rng(5)
    ground = np.clip(random.normal(150, 6, (HEIGHT_PX, WIDTH_PX)), 0, 255)
    seen = spotted(ground, camera.plane_to_px, features_of(square), value=15)
    shot = made_files.encoded(Image.fromarray(seen), "JPEG", quality=92)
    with acting():
        side_m = square.grid.side_m
        set_up = make_tower_set_up(
            season,
            picture_width_px=WIDTH_PX,
            picture_height_px=HEIGHT_PX,
            footprint_x_m=2.0 * side_m,
            footprint_y_m=4.0 / 3.0 * side_m,
        )
        x_m, y_m = _on_grid(square, ((0.5, 0.5),))[0]
        row = RowEntry(float(x_m), float(y_m), 0.0, 1.0, 1)
        card = begun_card(make_run(season, row, stage=stage, grid=square.grid, set_up=set_up))
        arrive(card, "T0001.JPG", shot)
        accept_card(card)
        frame = Frame.objects.get(card=card)
        return place_frame_by_marks(frame, _marks(square, camera), frame.version)


def _marks(square: Square, camera: Pinhole) -> list[MarkEntry]:
    there = _on_grid(square, MARKS)
    seen = camera.picture(there)
    return [
        MarkEntry(float(u), float(v), float(x), float(y))
        for (u, v), (x, y) in zip(seen, there, strict=True)
    ]
