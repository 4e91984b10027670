"""Traced features, against OpenCV and Shapely; as GeoJSON by RFC 7946; as SVG, read as XML."""

import json
import math
import re
from xml.etree import ElementTree

import cv2
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from survey.errors import UnfitError
from survey.grid import GridFrame, Square, squares_at
from survey.outline_geojson import COORDINATES, Told, feature_collection, geometry_of
from survey.outline_looks import LOOKS, look_of
from survey.outline_svg import KindShown, SheetWords, Shown, SquareShown, svg_at_scale
from survey.outlines import Shape, Trace, simplified, squares_under, why_unfit

FRAME = GridFrame()
TIMBER = KindShown("T", "timber", 0)
STONE = KindShown("R", "natural rock", 7)


def star(radii, at=(0.0, 0.0)):
    """A polygon that cannot cross itself: one radius every so many degrees."""
    turns = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    return np.array(radii)[:, None] * np.stack([np.cos(turns), np.sin(turns)], 1) + np.array(at)


class TestTrace:
    @settings(max_examples=60, deadline=None)
    @given(st.lists(st.floats(0.05, 2.0), min_size=4, max_size=30))
    def test_area_and_way_round_are_those_of_opencv(self, radii):
        points = star(radii)
        trace = Trace("area", points)
        as_contour = points.astype(np.float32).reshape(-1, 1, 2)
        assert trace.area_m2 == pytest.approx(cv2.contourArea(as_contour), rel=1e-5)
        assert trace.length_m == pytest.approx(cv2.arcLength(as_contour, True), rel=1e-5)

    def test_a_line_is_as_long_as_its_steps(self):
        assert Trace("line", [[0, 0], [0.3, 0.4], [0.3, 1.4]]).length_m == pytest.approx(1.5)
        assert Trace("line", [[0, 0], [0.3, 0.4], [0.3, 1.4]]).area_m2 == 0

    @pytest.mark.parametrize(
        ("shape", "points", "code"),
        [
            ("area", [[0, 0], [1, 0]], "too-few"),
            ("area", [[0, 0], [1, 0], [0, 0]], "too-few"),  # closed by hand: two points
            ("area", [[0, 0], [1, 1], [1, 0], [0, 1]], "crosses-itself"),
            ("area", [[0, 0], [0.5, 0.5], [1, 1]], "crosses-itself"),  # there and back
            ("line", [[0, 0]], "too-few"),
            ("line", [[0, 0], [0, 1e-6]], "too-few"),
            ("point", [], "too-few"),
            ("point", [[0, 0], [1, 1]], "too-many"),
            ("line", np.arange(4400).reshape(-1, 2), "too-many"),
        ],
    )
    def test_what_is_no_such_feature_is_told(self, shape, points, code):
        given_points = np.array(points, dtype=float).reshape(-1, 2)
        assert why_unfit(shape, given_points).code == code
        with pytest.raises(UnfitError):
            Trace(shape, given_points)

    def test_points_tapped_twice_and_a_closing_one_are_taken_once(self):
        trace = Trace("area", [[0, 0], [0, 0], [1, 0], [1, 1], [1, 1], [0, 0]])
        assert trace.points.tolist() == [[0, 0], [1, 0], [1, 1]]

    def test_values_that_are_no_numbers_are_a_wrong_call(self):
        with pytest.raises(ValueError, match="nan"):
            Trace("line", [[0, 0], [1, math.nan]])

    def test_letters_stand_within_their_area(self):
        horseshoe = [[0, 0], [3, 0], [3, 3], [2, 3], [2, 1], [1, 1], [1, 3], [0, 3]]
        x, y = Trace("area", horseshoe).place_of_name
        contour = np.array(horseshoe, np.float32).reshape(-1, 1, 2)
        assert cv2.pointPolygonTest(contour, (x, y), False) > 0


class TestSimplified:
    def test_no_traced_point_is_farther_than_the_tolerance(self):
        steps = np.linspace(0, 6, 300)
        line = Trace("line", np.stack([steps, 0.2 * np.sin(steps)], 1))
        rest = simplified(line, 0.01)
        assert len(rest.points) < 30
        away = shapely.distance(shapely.points(line.points), rest.geometry)
        assert away.max() <= 0.01
        assert simplified(rest, 0.01).points.tolist() == rest.points.tolist()

    def test_a_point_stays_and_a_wrong_tolerance_is_refused(self):
        assert simplified(Trace("point", [[1, 2]]), 1.0).points.tolist() == [[1, 2]]
        with pytest.raises(ValueError, match="tolerance"):
            simplified(Trace("line", [[0, 0], [1, 1]]), 0.0)


class TestSquares:
    @pytest.mark.parametrize(
        ("shape", "points", "squares"),
        [
            ("line", [[0.5, 0.5], [2.5, 0.5]], [(0, 0), (1, 0), (2, 0)]),
            ("line", [[-0.5, 0.5], [0.5, 0.5]], [(-1, 0), (0, 0)]),
            ("line", [[0.2, 1.0], [0.8, 1.0]], [(0, 0), (0, 1)]),  # along an edge: both sides
            ("line", [[0.5, 0.5], [1.0, 0.5]], [(0, 0)]),  # ends on the edge
            ("area", [[0, 0], [1, 0], [1, 1], [0, 1]], [(0, 0)]),  # touches eight others
            ("area", [[0.9, 0.9], [1.1, 0.9], [1.0, 1.1]], [(0, 0), (0, 1), (1, 0), (1, 1)]),
            ("point", [[1.0, 1.0]], [(1, 1)]),
        ],
    )
    def test_those_it_runs_across(self, shape, points, squares):
        assert squares_under(FRAME, Trace(shape, points)) == [Square(*one) for one in squares]

    @settings(max_examples=25, deadline=None)
    @given(st.lists(st.floats(0.3, 2.0), min_size=5, max_size=12), st.floats(-3, 3))
    def test_points_within_an_area_lie_in_its_squares(self, radii, x_m):
        frame = GridFrame(side_m=0.5)
        trace = Trace("area", star(radii, (x_m, 0.2)))
        thrown = np.random.default_rng(3).uniform(-2, 2, (200, 2)) + np.array([x_m, 0.2])
        inside = [
            point
            for point in thrown
            if cv2.pointPolygonTest(
                trace.points.astype(np.float32).reshape(-1, 1, 2), tuple(map(float, point)), True
            )
            > 0.001
        ]
        there = {tuple(square) for square in squares_under(frame, trace)}
        assert {tuple(one) for one in squares_at(frame, inside).tolist()} <= there


class TestGeoJson:
    def test_a_polygon_is_the_one_of_the_standard(self):
        """RFC 7946, appendix A.3, "Polygons": no holes; given clockwise and not closed."""
        given_clockwise = [[100.0, 0.0], [100.0, 1.0], [101.0, 1.0], [101.0, 0.0]]
        ring = geometry_of(Trace("area", given_clockwise))["coordinates"][0]
        standard = [[100.0, 0.0], [101.0, 0.0], [101.0, 1.0], [100.0, 1.0], [100.0, 0.0]]
        start = standard.index(ring[0])
        assert ring == [*standard[start:-1], *standard[:start], standard[start]]

    def test_structure_and_shapes_survive_a_reading_by_shapely(self):
        traces = [
            Trace("area", star([0.4, 0.7, 0.2, 0.6, 0.5], (3, -2))),
            Trace("line", [[0, 0], [-1.25, 2.5]]),
            Trace("point", [[0.12345678, -0.00001]]),
        ]
        told = [Told(f"f{n}", one, {"kind": "T"}) for n, one in enumerate(traces)]
        written = json.dumps(feature_collection(told, {"grid": "main"}), allow_nan=False)
        file = json.loads(written)

        assert file["type"] == "FeatureCollection"  # section 3.3
        assert not set(file) & {"coordinates", "geometry", "geometries", "properties"}  # 7.1
        assert file["grid_coordinates"]["coordinates"] == COORDINATES
        assert "crs" not in file  # section 4
        for feature, trace in zip(file["features"], traces, strict=True):
            assert set(feature) == {"type", "id", "bbox", "geometry", "properties"}
            assert feature["properties"]["coordinates"] == COORDINATES
            read = shapely.geometry.shape(feature["geometry"])
            assert read.is_valid
            assert shapely.hausdorff_distance(read, trace.geometry) <= 1e-4
            assert read.bounds == pytest.approx(feature["bbox"])
            if trace.shape is Shape.AREA:
                ring = feature["geometry"]["coordinates"][0]
                assert ring[0] == ring[-1]
                assert shapely.is_ccw(read.exterior)
        assert file["features"][2]["geometry"]["coordinates"] == [0.1235, 0.0]


SVG = "{http://www.w3.org/2000/svg}"


def numbers(text):
    return [float(one) for one in re.findall(r"-?\d*\.?\d+", text)]


class TestSvg:
    SQUARES = (SquareShown("K7", (0, 0, 1, 1)), SquareShown("L7", (1, 0, 2, 1)))

    def sheet(self, scale=10.0, features=None):
        shown = features or [
            Shown("a", Trace("area", [[0.1, 0.1], [1.7, 0.2], [1.6, 0.5]]), TIMBER, "T <1> & co"),
            Shown("b", Trace("line", [[0.5, 0.9], [1.5, 0.8]]), STONE),
        ]
        words = SheetWords("Timbers < 2 m", ("1:10", "up is +y"))
        return ElementTree.fromstring(svg_at_scale(shown, self.SQUARES, scale, words).encode())

    @pytest.mark.parametrize("scale", [5.0, 10.0, 20.0])
    def test_its_units_are_millimetres_on_paper(self, scale):
        root = self.sheet(scale)
        width, height = numbers(root.get("width"))[0], numbers(root.get("height"))[0]
        assert root.get("width").endswith("mm")
        assert numbers(root.get("viewBox")) == [0, 0, width, height]
        first, second = root.findall(f"{SVG}rect")[1:]
        assert float(first.get("width")) == pytest.approx(1000 / scale)
        assert float(second.get("x")) - float(first.get("x")) == pytest.approx(1000 / scale)

    def test_a_feature_lies_where_it_was_traced_and_up_is_up(self):
        root = self.sheet()
        corner = root.findall(f"{SVG}rect")[1]
        left, low = float(corner.get("x")), float(corner.get("y")) + float(corner.get("height"))
        drawn = root.find(f".//{SVG}g[@id='a']/{SVG}path").get("d")
        assert drawn.endswith("Z")
        places = np.array(numbers(drawn)).reshape(-1, 2)
        on_grid = np.stack([places[:, 0] - left, low - places[:, 1]], 1) / 100.0
        assert on_grid == pytest.approx(np.array([[0.1, 0.1], [1.7, 0.2], [1.6, 0.5]]), abs=1e-6)

    def test_the_scale_bar_is_as_long_as_it_says(self):
        root = self.sheet()
        bar = root.find(f".//{SVG}path[@id='scale-bar']").get("d")
        length_mm = float(re.search(r"h(\d+\.?\d*)", bar).group(1))
        texts = [one.text for one in root.iter(f"{SVG}text")]
        assert f"{length_mm / 100:g} m" in texts

    def test_its_legend_names_the_kinds_that_are_there(self):
        root = self.sheet()
        texts = [one.text for one in root.iter(f"{SVG}text")]
        assert {"T  timber", "R  natural rock", "K7", "L7"} <= set(texts)
        assert root.find(f".//{SVG}g/{SVG}title").text == "T <1> & co"
        used = {one.get("fill")[5:-1] for one in root.iter() if "url" in (one.get("fill") or "")}
        assert used <= {one.get("id") for one in root.iter(f"{SVG}pattern")}

    def test_features_beyond_the_squares_are_whole_on_the_sheet(self):
        far = Shown("a", Trace("line", [[-3, -4], [5, 6]]), TIMBER)
        root = self.sheet(features=[far])
        places = np.array(numbers(root.find(f".//{SVG}g[@id='a']/{SVG}path").get("d")))
        width, height = numbers(root.get("viewBox"))[2:]
        x, y = places.reshape(-1, 2).T
        assert 0 < x.min() < x.max() < width
        assert 0 < y.min() < y.max() < height

    def test_letters_stand_beside_what_they_would_hide(self):
        bolt = Shown("a", Trace("area", [[0.5, 0.5], [0.52, 0.5], [0.51, 0.52]]), TIMBER)
        root = self.sheet(features=[bolt])
        right_mm = 12 + 52
        assert float(root.find(f".//{SVG}g[@id='a']/{SVG}text").get("x")) > right_mm + 1.6

    def test_nothing_and_no_scale_are_wrong_calls(self):
        with pytest.raises(ValueError, match="not nothing"):
            svg_at_scale([], [], 10, SheetWords("x"))
        with pytest.raises(ValueError, match="scale"):
            svg_at_scale([], self.SQUARES, 0, SheetWords("x"))


def test_no_two_looks_are_alike():
    assert len({(one.dash_mm, one.line_mm, one.marks, one.is_solid) for one in LOOKS}) == len(LOOKS)
    assert len({one.dash_mm for one in LOOKS}) >= len(LOOKS) - 1  # two differ by weight
    assert look_of(len(LOOKS)) is LOOKS[0]
