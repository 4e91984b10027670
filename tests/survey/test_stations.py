"""Frames onto stations: order of time, what is spare, what is missing, and mending by hand.

Expected layouts were written down by hand from the rule in words.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.errors import Unfit
from survey.stations import (
    Laid,
    Shot,
    in_order,
    moved_back,
    moved_on,
    propose,
    put_in,
    stations_to_fill,
    stood_on,
    taken_out,
)


def shots(*named: tuple[str, float | None]) -> list[Shot]:
    return [Shot(name, name, taken_s) for name, taken_s in named]


def keys(found: list[Shot]) -> str:
    return " ".join(shot.key for shot in found)


ORDERS = {
    "by time, whatever the names": (shots(("b", 1.0), ("a", 2.0), ("c", 0.5)), "c b a"),
    "parts of a second count": (shots(("a", 7.75), ("b", 7.25)), "b a"),
    "of one second by name": (shots(("i10", 3.0), ("i9", 3.0)), "i9 i10"),
    "without times by name, digits as numbers": (
        shots(("img_10", None), ("IMG_9", None), ("img_100", None)),
        "IMG_9 img_10 img_100",
    ),
    "without a time after the name before it": (
        shots(("f3", 30.0), ("f2", None), ("f1", 10.0), ("f0", None)),
        "f0 f1 f2 f3",
    ),
    "a counter that went round": (shots(("f9999", 1.0), ("f0001", 2.0)), "f9999 f0001"),
    "none": ([], ""),
}


@pytest.mark.parametrize(("given_shots", "expected"), ORDERS.values(), ids=ORDERS)
def test_frames_stand_in_the_order_they_were_taken(given_shots, expected):
    assert keys(in_order(given_shots)) == expected
    assert keys(in_order(iter(given_shots))) == expected


FILLS = {
    "a fresh run": (4, set(), [0, 1, 2, 3]),
    "the second card goes on after the first": (6, {0, 1, 2}, [3, 4, 5]),
    "a gap of the first card is left for a person": (6, {0, 2}, [3, 4, 5]),
    "at the end the gaps are filled": (5, {0, 2, 4}, [1, 3]),
    "all taken: the run is done again": (3, {0, 1, 2}, [0, 1, 2]),
}


@pytest.mark.parametrize(("stations", "taken", "expected"), FILLS.values(), ids=FILLS)
def test_a_further_card_goes_on_where_the_run_has_no_frames(stations, taken, expected):
    assert stations_to_fill(stations, taken) == expected


def test_a_run_without_stations_is_a_wrong_call():
    with pytest.raises(ValueError, match="0"):
        stations_to_fill(0, set())


def test_frames_go_onto_stations_in_order_and_spare_ones_are_told():
    laid = propose(shots(("c", 3.0), ("a", 1.0), ("d", 4.0), ("b", 2.0)), 5, [2, 3, 4])

    assert laid.by_station == {2: "a", 3: "b", 4: "c"}
    assert laid.spare == ("d",)
    assert laid.gaps == ()


def test_too_few_frames_leave_the_last_stations_empty():
    laid = propose(shots(("a", 1.0), ("b", 2.0)), 4, [0, 1, 2, 3])

    assert laid.by_station == {0: "a", 1: "b"}
    assert laid.spare == ()


ROW = Laid(5, {"a": 0, "b": 1, "c": 2})

MOVES = {
    "a station passed over": (moved_on(ROW, 1), {0: "a", 2: "b", 3: "c"}, ()),
    "from an empty station nothing moves": (moved_on(ROW, 4), {0: "a", 1: "b", 2: "c"}, ()),
    "over the end": (
        moved_on(Laid(3, {"a": 0, "b": 1, "c": 2}, ("d",)), 2),
        {0: "a", 1: "b"},
        ("c", "d"),
    ),
    "back onto an empty one": (
        moved_back(Laid(5, {"a": 0, "b": 2, "c": 4}), 2),
        {0: "a", 1: "b", 3: "c"},
        (),
    ),
    "back, and the spare one comes on": (
        moved_back(Laid(3, {"a": 0, "c": 2}, ("d",)), 2),
        {0: "a", 1: "c", 2: "d"},
        (),
    ),
    "back, and the spare one stays where the end was free": (
        moved_back(Laid(4, {"a": 0, "c": 2}, ("d",)), 2),
        {0: "a", 1: "c"},
        ("d",),
    ),
    "two exchanged": (stood_on(ROW, "a", 2), {0: "c", 1: "b", 2: "a"}, ()),
    "onto an empty station": (stood_on(ROW, "a", 4), {1: "b", 2: "c", 4: "a"}, ()),
    "where it stands already": (stood_on(ROW, "b", 1), {0: "a", 1: "b", 2: "c"}, ()),
    "a spare one onto an empty station": (
        stood_on(Laid(3, {"a": 0}, ("x", "y")), "y", 2),
        {0: "a", 2: "y"},
        ("x",),
    ),
    "a spare one in another's place": (
        stood_on(Laid(3, {"a": 0}, ("x", "y")), "x", 0),
        {0: "x"},
        ("a", "y"),
    ),
    "left out, its station empty": (taken_out(ROW, "b"), {0: "a", 2: "c"}, ()),
    "left out, closed up": (taken_out(ROW, "b", close_up=True), {0: "a", 1: "c"}, ()),
    "the last of a full run left out, closed up": (
        taken_out(Laid(2, {"a": 0, "b": 1}, ("c",)), "b", close_up=True),
        {0: "a", 1: "c"},
        (),
    ),
    "a spare one left out": (taken_out(Laid(2, {"a": 0}, ("b",)), "b"), {0: "a"}, ()),
    "put back where it stood": (put_in(taken_out(ROW, "b"), "b", 1), {0: "a", 1: "b", 2: "c"}, ()),
    "put back where another stands by now": (
        put_in(taken_out(ROW, "b", close_up=True), "b", 1),
        {0: "a", 1: "c"},
        ("b",),
    ),
    "put back without a station": (put_in(Laid(2), "b", None), {}, ("b",)),
}


@pytest.mark.parametrize(("laid", "by_station", "spare"), MOVES.values(), ids=MOVES)
def test_mending_by_hand(laid, by_station, spare):
    assert (laid.by_station, laid.spare) == (by_station, spare)


def test_gaps_are_the_empty_stations_between():
    assert Laid(9, {"a": 2, "b": 5}).gaps == (3, 4)
    assert Laid(9).gaps == ()


@pytest.mark.parametrize(("place", "code"), [(0, "first-station"), (2, "station-taken")])
def test_frames_move_back_only_onto_an_empty_station(place, code):
    refused = moved_back(ROW, place)

    assert isinstance(refused, Unfit)
    assert refused.code == code


WRONG = {
    "two on one station": lambda: Laid(3, {"a": 1, "b": 1}),
    "beyond the run": lambda: Laid(3, {"a": 3}),
    "twice": lambda: Laid(3, {"a": 1}, ("a",)),
    "unknown, taken out": lambda: taken_out(ROW, "x"),
    "unknown, moved": lambda: stood_on(ROW, "x", 0),
    "back from beyond the run": lambda: moved_back(Laid(3, {"a": 0}), 4),
}


@pytest.mark.parametrize("act", WRONG.values(), ids=WRONG)
def test_a_wrong_call_names_the_bad_value(act):
    with pytest.raises(ValueError, match=r"\{|'x'|\[|4"):
        act()


@given(st.permutations(range(8)), st.integers(1, 10))
def test_the_order_of_arrival_does_not_matter(arrival, stations):
    taken = [Shot(str(n), f"f{n}", n * 37.0) for n in range(8)]
    fill = list(range(stations))

    assert propose([taken[n] for n in arrival], stations, fill) == propose(taken, stations, fill)


@st.composite
def layouts(draw):
    stations = draw(st.integers(1, 8))
    places = draw(st.lists(st.integers(0, stations - 1), unique=True, max_size=stations))
    spare = tuple(f"s{n}" for n in range(draw(st.integers(0, 3))))
    return Laid(stations, {f"f{n}": place for n, place in enumerate(places)}, spare)


@given(st.integers(1, 8), st.integers(0, 3), st.data())
def test_on_a_full_run_one_station_back_undoes_one_station_on(stations, spare, data):
    full = Laid(
        stations, {f"f{n}": n for n in range(stations)}, tuple(f"s{n}" for n in range(spare))
    )
    place = data.draw(st.integers(0, stations - 1))

    assert moved_back(moved_on(full, place), place + 1) == full


@given(layouts(), st.data())
def test_no_move_loses_a_frame(laid, data):
    place = data.draw(st.integers(0, laid.stations - 1))
    everyone = {*laid.on, *laid.spare}
    moved = [moved_on(laid, place), moved_back(laid, place)]
    moved += [stood_on(laid, key, place) for key in everyone]

    for result in moved:
        assert isinstance(result, Unfit) or {*result.on, *result.spare} == everyone
