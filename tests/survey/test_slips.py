"""Slips told from pairs of known offsets, without any picture."""

import numpy as np
import pytest

from survey.errors import Unfit
from survey.overlap import Seen
from survey.slips import OnStation, SlipKind, direction, slips


def run_of(offsets, *, noise_m=0.0, untold=(), steady=(0.0, 0.0), across=True):
    """Frames on rows, and pairs of neighbours along and across; `offsets`: m by (row, station)."""
    rng = np.random.default_rng(7)
    rows = sorted({row for row, _station in offsets})
    frames = [OnStation(f"{row}/{station}", row, station) for row, station in sorted(offsets)]
    shaken = {
        place: np.array(by) + rng.normal(0, noise_m, 2) for place, by in sorted(offsets.items())
    }
    seen = []
    for row, station in sorted(offsets):
        for other in ((row, station + 1), (row + 1, station)):
            if other not in offsets or (other[0] != row and not across):
                continue
            step = np.array(steady) if other[0] == row else np.zeros(2)
            x_m, y_m = shaken[other] - shaken[row, station] + step
            unfit = Unfit("few-matches", "-") if ((row, station), other) in untold else None
            keys = f"{row}/{station}", f"{other[0]}/{other[1]}"
            seen.append(Seen(*keys, float(x_m), float(y_m), matches=40, unfit=unfit))
    assert rows
    return frames, seen


def off(rows, stations, **moved):
    """No offset but on the places named `r1_4` and so on."""
    offsets = {(row, n): (0.0, 0.0) for row in range(1, rows + 1) for n in range(1, stations + 1)}
    for name, by in moved.items():
        row, station = name[1:].split("_")
        offsets[int(row), int(station)] = by
    return offsets


def told(found):
    return [(one.kind, one.row, one.station, round(one.size_m, 3)) for one in found.slips]


def test_nothing_is_told_of_towers_that_stand_right():
    found = slips(*run_of(off(2, 10), noise_m=0.004))

    assert found.slips == ()
    assert found.untold == ()
    assert len(found.offsets) == 20


@pytest.mark.parametrize("across", [True, False])
def test_a_slip_that_stays_is_told_from_where_it_begins(across):
    moved = {f"r1_{n}": (0.034, 0.0) for n in range(7, 11)}
    found = slips(*run_of(off(2, 10, **moved), noise_m=0.002, across=across))

    assert [(one.kind, one.row, one.station) for one in found.slips] == [(SlipKind.FROM_HERE, 1, 7)]
    (slip,) = found.slips
    assert slip.x_m == pytest.approx(0.034, abs=0.005)
    assert slip.keys == ("1/7", "1/8", "1/9", "1/10")
    assert "From row 1, station 7 on" in str(slip)
    assert "along +x" in str(slip)


@pytest.mark.parametrize("station", [1, 2, 5, 10])
def test_one_foot_beside_its_place_is_told_alone(station):
    found = slips(*run_of(off(2, 10, **{f"r2_{station}": (0.0, -0.06)})))

    kind = SlipKind.FROM_HERE if station == 10 else SlipKind.ONLY_HERE
    assert told(found) == [(kind, 2, station, 0.06)]
    assert found.slips[0].keys == (f"2/{station}",)


def test_two_slips_of_a_row_add_up():
    moved = {f"r1_{n}": (0.03 if n < 7 else 0.08, 0.0) for n in range(4, 11)}
    found = slips(*run_of(off(1, 10, **moved)))

    assert told(found) == [
        (SlipKind.FROM_HERE, 1, 4, 0.03),
        (SlipKind.FROM_HERE, 1, 7, 0.05),
    ]


def test_what_every_step_shows_is_no_slip_but_told():
    found = slips(*run_of(off(1, 10), steady=(0.02, 0.0)))

    assert told(found) == [(SlipKind.EVERY_STEP, 1, 1, 0.02)]
    assert "every step shows 20 mm more along +x" in str(found.slips[0])


def test_a_row_that_lies_off_as_a_whole_is_told_as_one():
    moved = {f"r2_{n}": (0.0, 0.05) for n in range(1, 7)}
    found = slips(*run_of(off(2, 6, **moved)))

    assert told(found) == [(SlipKind.WHOLE_ROW, 2, 1, 0.05)]


def test_a_step_that_nothing_bridges_is_named():
    moved = {f"r1_{n}": (0.05, 0.0) for n in range(5, 9)}
    found = slips(*run_of(off(1, 8, **moved), untold={((1, 4), (1, 5))}))

    assert found.slips == ()
    assert [one.code for one in found.untold] == ["unbridged"]
    assert "station 4 and station 5" in str(found.untold[0])


def test_the_next_row_bridges_what_a_row_does_not():
    moved = {f"r1_{n}": (0.05, 0.0) for n in range(5, 9)}
    found = slips(*run_of(off(2, 8, **moved), untold={((1, 4), (1, 5))}))

    assert told(found) == [(SlipKind.FROM_HERE, 1, 5, 0.05)]
    assert found.untold == ()


def test_a_rough_bottom_raises_what_counts_as_a_slip():
    rough = slips(*run_of(off(3, 12), noise_m=0.012))

    assert len(rough.slips) <= 2


@pytest.mark.parametrize(
    ("by", "words"),
    [((0.03, 0.001), "+x"), ((-0.03, 0.0), "−x"), ((0.0, -1.0), "−y"), ((0.02, -0.02), "+x −y")],
)
def test_directions_are_signs_on_the_grid(by, words):
    assert direction(*by) == words


def test_no_frames_no_slips():
    assert slips([], []).slips == ()


def test_a_frame_named_twice_is_refused():
    with pytest.raises(ValueError, match="twice"):
        slips([OnStation("a", 1, 1), OnStation("a", 1, 2)], [])
