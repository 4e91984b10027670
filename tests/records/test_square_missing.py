"""What a square still wants, why, and the next step: a table, no database."""

from types import SimpleNamespace
from typing import Any

import pytest

from records.models import Method
from records.queries.evidence import Drawn, Evidence, Excepted, MethodState, Said, whole_percent
from records.queries.square_missing import (
    EIGHTHS,
    Hole,
    Known,
    answer_of,
    where_words,
    wind_of,
)
from records.queries.square_next import Step, next_step
from records.queries.squares import SquareState

GRID: Any = SimpleNamespace(code="P")
STAGE: Any = SimpleNamespace(name="as found")
GOAL: Any = SimpleNamespace(pk=1)
DRAWN = {"wanted": True, "drawn": (Drawn(whole=True, accepted=True),)}
TAKEN = {"wanted": True, "covered_fraction": 1.0, "needed_fraction": 0.98}
SENT_BACK = {
    "wanted": True,
    "drawn": (Drawn(True, accepted=False, sent_back_for="edge does not meet K8"),),
}
TO_CHECK = {"wanted": True, "drawn": (Drawn(whole=True, n=44),)}
PART = {"wanted": True, "drawn": (Drawn(False, accepted=True),)}
SHORT = {"wanted": True, "covered_fraction": 0.6249, "needed_fraction": 0.98}
WANTED = {"wanted": True}


def said(outcome, dive=12):
    return {"said": Said(outcome, dive)}


def known(drawing, photographs, *, stage=STAGE, goal=GOAL, **more) -> Known:
    def read(method, evidence):
        return MethodState.read(method, Evidence(**evidence))

    state = SquareState(
        id=None,
        grid=GRID,
        column=0,
        row=0,
        label="K7",
        stage=stage,
        goal=goal,
        drawing=read(Method.DRAWING, drawing),
        photographs=read(Method.PHOTOGRAPHS, photographs),
    )
    return Known(state, **more)


NORTHWARD = {"bearing_deg": 0.0}
ONE_HOLE = {"holes": [Hole(0.0801, "up")]}
TWO_HOLES = {"holes": [Hole(0.0042, "left"), Hole(0.3, "down-right")]}
SLIVER = {"holes": [Hole(0.0042, "middle")]}
EXCEPTED = {"wanted": True, "exception": Excepted("nothing visible", "bare sand")}

# drawing, photographs, what else is known; the answer; the next step of a lead, of the crew
TABLE = [
    (DRAWN, TAKEN, {}, "Nothing is missing: drawn, photographed.", "nothing", "nothing"),
    (
        EXCEPTED,
        TAKEN,
        {},
        "Nothing more is wanted: no drawing (nothing visible), photographed.",
        "nothing",
        "nothing",
    ),
    (WANTED, WANTED, {}, "No drawing yet. No photographs yet.", "log_dive", "log_dive"),
    ({}, WANTED, {}, "No photographs yet.", "log_dive", "log_dive"),
    (
        {},
        {},
        {},
        "Nothing is wanted of this square in this stage: no drawing wanted, no photographs wanted.",
        "nothing",
        "nothing",
    ),
    (
        {},
        {},
        {"goal": None},
        "Nothing is wanted of this square in this stage: no drawing wanted, no photographs wanted.",
        "open_stage",
        "nothing",
    ),
    (
        {},
        {},
        {"stage": None, "goal": None},
        "No stage is open for this square in this season.",
        "open_stage",
        "nothing",
    ),
    # drawings
    (
        TO_CHECK,
        TAKEN,
        {},
        "Drawing 44 waits for a check.",
        "check_drawing",
        "nothing",
    ),
    (
        TO_CHECK,
        WANTED,
        {},
        "Drawing 44 waits for a check. No photographs yet.",
        "check_drawing",
        "log_dive",
    ),
    (
        TO_CHECK | {"wanted": False},
        {},
        {},
        "Drawing 44 waits for a check. Nothing is wanted of this square in this stage: no "
        "photographs wanted.",
        "check_drawing",
        "nothing",
    ),
    (
        EXCEPTED | TO_CHECK,
        TAKEN,
        {},
        "Drawing 44 waits for a check; the exception says: nothing visible. Nothing else is "
        "missing: photographed.",
        "check_drawing",
        "nothing",
    ),
    (
        EXCEPTED | TO_CHECK,
        EXCEPTED,
        {},
        "Drawing 44 waits for a check; the exception says: nothing visible. Nothing more is "
        "wanted: no photographs (nothing visible).",
        "check_drawing",
        "nothing",
    ),
    (
        EXCEPTED | TO_CHECK,
        WANTED,
        {},
        "Drawing 44 waits for a check; the exception says: nothing visible. No photographs yet.",
        "check_drawing",
        "log_dive",
    ),
    (
        {"wanted": True, "drawn": (*DRAWN["drawn"], *TO_CHECK["drawn"], Drawn(False, n=52))},
        EXCEPTED | {"frames_wait": True},
        {},
        "Drawings 44, 52 wait for a check. A card is coming in; its frames are not accepted yet; "
        "the exception says: nothing visible. Nothing else is missing: drawn.",
        "check_drawing",
        "go_on_with_card",
    ),
    (
        SENT_BACK,
        TAKEN,
        {},
        "Drawing sent back: edge does not meet K8.",
        "log_dive",
        "log_dive",
    ),
    (
        SENT_BACK | said("done", 14),
        TAKEN,
        {"drawn_on": frozenset({9})},
        "Drawing sent back: edge does not meet K8. Divers say that they drew again on dive 14; "
        "no new drawing has come in.",
        "bring_in_drawing",
        "bring_in_drawing",
    ),
    (
        SENT_BACK | said("done", 9),
        TAKEN,
        {"drawn_on": frozenset({9})},
        "Drawing sent back: edge does not meet K8.",
        "log_dive",
        "log_dive",
    ),
    (PART, TAKEN, {}, "Only a part is drawn.", "log_dive", "log_dive"),
    (
        PART | said("part", 15),
        TAKEN,
        {"drawn_on": frozenset({9})},
        "Only a part is drawn. Divers say that they went on on dive 15; no drawing of it has "
        "come in.",
        "bring_in_drawing",
        "bring_in_drawing",
    ),
    (
        WANTED | said("done"),
        TAKEN,
        {},
        "Said drawn by divers on dive 12; no drawing has come in.",
        "bring_in_drawing",
        "bring_in_drawing",
    ),
    (
        WANTED | said("part"),
        TAKEN,
        {},
        "Said partly drawn by divers on dive 12; no drawing has come in.",
        "bring_in_drawing",
        "bring_in_drawing",
    ),
    (
        WANTED | said("nothing_visible"),
        TAKEN,
        {},
        "Divers saw nothing to draw on dive 12; the lead decides whether that stands.",
        "decide",
        "log_dive",
    ),
    (
        WANTED | said("not_reached"),
        TAKEN,
        {},
        "Not drawn: divers could not reach it on dive 12; the lead decides whether that stands.",
        "decide",
        "log_dive",
    ),
    # photographs
    (
        DRAWN,
        SHORT,
        ONE_HOLE | NORTHWARD,
        "Photographed 62 %: a hole of 0.08 m² by the upper edge (north).",
        "log_dive",
        "log_dive",
    ),
    (
        DRAWN,
        SHORT,
        TWO_HOLES,
        "Photographed 62 %: 2 holes of 0.30 m² in all, the largest (0.30 m²) in the lower right "
        "corner.",
        "log_dive",
        "log_dive",
    ),
    (
        DRAWN,
        SHORT | {"covered_fraction": 0.979},
        SLIVER,
        "Photographed 97 %: a hole of 42 cm² in the middle.",
        "log_dive",
        "log_dive",
    ),
    (
        DRAWN,
        SHORT | {"covered_fraction": 0.979},
        {},
        "Photographed 97 %, without a hole worth naming.",
        "log_dive",
        "log_dive",
    ),
    (
        DRAWN,
        SHORT | said("done", 16),
        ONE_HOLE | {"photographed_on": frozenset({4})},
        "Photographed 62 %: a hole of 0.08 m² by the upper edge. Divers say that they went on on "
        "dive 16; no card of it has come in.",
        "bring_in_card",
        "bring_in_card",
    ),
    (
        DRAWN,
        WANTED | said("done"),
        {},
        "Said photographed by divers on dive 12; no card has come in.",
        "bring_in_card",
        "bring_in_card",
    ),
    (
        DRAWN,
        WANTED | said("part"),
        {},
        "Said partly photographed by divers on dive 12; no card has come in.",
        "bring_in_card",
        "bring_in_card",
    ),
    (
        DRAWN,
        WANTED | said("done") | {"frames_wait": True},
        {},
        "A card is coming in; its frames are not accepted yet.",
        "go_on_with_card",
        "go_on_with_card",
    ),
    (
        DRAWN,
        SHORT | {"frames_wait": True},
        ONE_HOLE,
        "Photographed 62 %: a hole of 0.08 m² by the upper edge. A card is coming in; its frames "
        "are not accepted yet.",
        "go_on_with_card",
        "go_on_with_card",
    ),
    (
        DRAWN,
        WANTED | said("nothing_visible"),
        {},
        "Divers saw nothing to photograph on dive 12; the lead decides whether that stands.",
        "decide",
        "log_dive",
    ),
    (
        DRAWN,
        WANTED | said("not_reached"),
        {},
        "Not photographed: divers could not reach it on dive 12; the lead decides whether that "
        "stands.",
        "decide",
        "log_dive",
    ),
    # both: what has come in goes before what is to be brought in, that before another dive
    (
        WANTED | said("done"),
        {"wanted": True, "frames_wait": True},
        {},
        "Said drawn by divers on dive 12; no drawing has come in. A card is coming in; its "
        "frames are not accepted yet.",
        "go_on_with_card",
        "go_on_with_card",
    ),
    (
        SENT_BACK,
        WANTED | said("done"),
        {},
        "Drawing sent back: edge does not meet K8. Said photographed by divers on dive 12; no "
        "card has come in.",
        "bring_in_card",
        "bring_in_card",
    ),
]


@pytest.mark.parametrize(
    ("fraction", "words"),
    [(0.0, "0"), (1e-6, "under 1"), (0.0099, "under 1"), (0.01, "1"), (0.979, "97"), (1.0, "100")],
)
def test_a_sliver_is_not_told_as_nothing_nor_a_share_before_it_is_reached(fraction, words):
    assert whole_percent(fraction) == words


@pytest.mark.parametrize(("drawing", "photographs", "more", "answer", "lead", "crew"), TABLE)
def test_what_is_missing_and_the_next_step(drawing, photographs, more, answer, lead, crew):
    seen = known(drawing, photographs, **more)

    assert answer_of(seen).replace("\u00a0", " ") == answer
    assert next_step(seen, may_record=True, may_lead=True) == lead
    assert next_step(seen, may_record=True, may_lead=False) == crew
    assert next_step(seen, may_record=False, may_lead=False) == Step.NOTHING


def test_every_step_occurs_in_the_table():
    assert {step for *_more, lead, crew in TABLE for step in (lead, crew)} == set(Step.values)


# By hand: standing on the grid, looking along its rows at the bearing, site north being 0.
@pytest.mark.parametrize(
    ("bearing_deg", "up", "right", "down_left"),
    [
        (0, "north", "east", "south-west"),
        (22.5, "north", "east", "south-west"),
        (-20, "north", "east", "south-west"),
        (350, "north", "east", "south-west"),
        (90, "east", "south", "north-west"),
        (80, "east", "south", "north-west"),
        (180, "south", "west", "north-east"),
        (-180, "south", "west", "north-east"),
        (270, "west", "north", "south-east"),
        (-90, "west", "north", "south-east"),
        (360, "north", "east", "south-west"),
        (35, "", "", ""),
        (45, "", "", ""),
        (67, "", "", ""),
        (337, "", "", ""),
        (None, "", "", ""),
    ],
)
def test_edges_are_called_by_the_winds_where_people_do(bearing_deg, up, right, down_left):
    named = [wind_of(where, bearing_deg) for where in ("up", "right", "down-left")]

    assert named == [up, right, down_left]


@pytest.mark.parametrize("bearing_deg", [0, 10, 85, 170, 200, 262, 290, 359])
def test_a_wind_is_never_off_by_more_than_half_a_point(bearing_deg):
    """A wind of eight spans 45°; the true azimuth of an edge is the bearing and its eighths."""
    winds = ["north", "north-east", "east", "south-east", "south", "south-west", "west"]
    winds.append("north-west")
    for eighth, where in enumerate(EIGHTHS):
        true_deg = bearing_deg + 45 * eighth
        named_deg = 45 * winds.index(wind_of(where, bearing_deg))
        assert abs((true_deg - named_deg + 180) % 360 - 180) <= 22.5


def test_the_middle_and_all_round_have_no_wind():
    assert where_words("middle", 0) == "in the middle"
    assert where_words("around", 0) == "all round what is photographed"
    assert where_words("left", 180) == "by the left edge (east)"
