"""Evidence told by texture: a table of states, each told apart from every other."""

import itertools
import re
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from django.utils import translation

from records.templatetags.textures import LEGEND, Cell, Evidence

TEXTURES = Path(__file__).parents[2] / "templates" / "_textures.html"


@pytest.mark.parametrize(
    ("evidence", "marks"),
    [
        (Evidence(), ()),
        (Evidence("wanted", "none"), ("d-want",)),
        (Evidence("none", "wanted"), ("f-want",)),
        (Evidence("wanted", "wanted"), ("f-want", "d-want")),
        (Evidence("begun", "none"), ("d-begun",)),
        (Evidence("waiting", "none"), ("d-begun",)),
        (Evidence("sent_back", "wanted"), ("f-want", "d-back")),
        (Evidence("done", "none"), ("d-done",)),
        (Evidence("none", "begun", 0.0), ("f-1", "f-edge")),
        (Evidence("none", "begun", 0.32), ("f-1", "f-edge")),
        (Evidence("none", "begun", 0.34), ("f-2", "f-edge")),
        (Evidence("none", "begun", 0.979), ("f-3", "f-edge")),
        (Evidence("none", "begun", 1.0), ("f-3", "f-edge")),
        (Evidence("none", "done", 0.98), ("f-done",)),
        (Evidence("done", "done", 1.0), ("f-done", "d-done")),
        (Evidence("wanted", "wanted", said_drawn=True), ("f-want", "d-want", "d-said")),
        (Evidence("wanted", "wanted", said_photographed=True), ("f-want", "f-said", "d-want")),
        (Evidence("done", "done", said_drawn=True), ("f-done", "d-done")),
        (Evidence("wanted", "wanted", drawing_exception="under an object"), ("f-want", "d-bar")),
        (Evidence("wanted", "wanted", photo_exception="nothing visible"), ("f-bar", "d-want")),
    ],
)
def test_each_state_has_its_marks(evidence, marks):
    assert evidence.marks == marks


def test_no_two_states_look_the_same():
    drawn = ("none", "wanted", "begun", "sent_back", "done")
    photographed = (("none", 0), ("wanted", 0), ("begun", 0.1), ("begun", 0.5), ("done", 1))
    looks = [
        Evidence(d, p, share).marks for d, (p, share) in itertools.product(drawn, photographed)
    ]

    assert len(set(looks)) == len(looks) == 25


def test_every_mark_is_drawn_and_none_relies_on_colour():
    defs = TEXTURES.read_text()
    drawn = set(re.findall(r'id="([\w-]+)"', defs))
    used = {mark for evidence in LEGEND.values() for mark in evidence.marks}

    assert used <= drawn
    assert not re.findall(r"#[0-9a-f]{3,6}\b|rgb|fill=\"(?!url|none)", defs)


def test_a_square_costs_few_bytes_and_says_its_state_in_words():
    evidence = Evidence("wanted", "begun", 0.5)
    cell = Cell(3, -2, 60, 40, "drawing wanted", evidence, label="N3", name="N3")

    html = render_to_string("squares/_cell.html", {"cell": cell}).strip()

    assert 'data-c="3" data-r="-2" data-l="N3" data-w="drawing wanted"' in html
    assert html.count("<use") == 4
    assert len(html) < 320


def test_coordinates_keep_their_decimal_point_and_words_are_escaped():
    cell = Cell(0, 0, 60, 40, 'N3: "<b>"', label="<3")

    with translation.override("de"):
        html = render_to_string("squares/_cell.html", {"cell": cell})

    assert 'x="62.5" y="47"' in html
    assert "<b>" not in html
    assert "&lt;3" in html
