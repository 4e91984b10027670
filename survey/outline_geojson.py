"""Traced features as GeoJSON, in grid coordinates.

Structure: RFC 7946. Its section 4 makes coordinates longitude and latitude; these are not, since a
wreck's place on the Earth is told to few. The file says so in a foreign member (section 6.1) and in
the properties of every feature.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely

from survey.outlines import Shape, Trace

DECIMALS = 4  # a tenth of a millimetre, finer than any tracing
COORDINATES = "grid x, y in metres; not longitude and latitude"
TYPES = {Shape.AREA: "Polygon", Shape.LINE: "LineString", Shape.POINT: "Point"}


@dataclass(frozen=True, eq=False)
class Told:
    """A feature with the name that stays the same in later files, and what is said of it."""

    id: str
    trace: Trace
    properties: Mapping[str, Any] = field(default_factory=dict)


def feature_collection(features: Iterable[Told], about: Mapping[str, Any]) -> dict[str, Any]:
    """A GeoJSON object (RFC 7946 section 3.3), to be written by `json.dumps`.

    `about`: what the file says of its grid, next to what its coordinates are; a foreign member.
    """
    return {
        "type": "FeatureCollection",
        "grid_coordinates": {"coordinates": COORDINATES, "axes": ["x", "y"], "unit": "m", **about},
        "features": [_feature(one) for one in features],
    }


def _feature(one: Told) -> dict[str, Any]:
    return {
        "type": "Feature",
        "id": one.id,
        "bbox": [round(edge, DECIMALS) for edge in one.trace.box_m],
        "geometry": geometry_of(one.trace),
        "properties": {
            **one.properties,
            "area_m2": round(one.trace.area_m2, 6),
            "length_m": round(one.trace.length_m, DECIMALS),
            "coordinates": COORDINATES,
        },
    }


def geometry_of(trace: Trace) -> dict[str, Any]:
    """The geometry (section 3.1), rounded to `DECIMALS`.

    A polygon's ring is closed, and counter-clockwise by the right-hand rule of section 3.1.6.
    """
    positions = np.round(trace.points, DECIMALS) + 0.0  # −0 is 0
    if trace.shape is Shape.POINT:
        return {"type": TYPES[trace.shape], "coordinates": positions[0].tolist()}
    if trace.shape is Shape.LINE:
        return {"type": TYPES[trace.shape], "coordinates": positions.tolist()}
    ring = positions if shapely.is_ccw(shapely.linearrings(positions)) else positions[::-1]
    return {"type": TYPES[trace.shape], "coordinates": [[*ring.tolist(), ring[0].tolist()]]}
