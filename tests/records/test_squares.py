"""Squares: their labels, and what of the evidence makes which state."""

import pytest

from records.models import Method, Outcome, Square
from records.queries.evidence import Drawn, Evidence, Excepted, MethodState, Said, State, state_of
from records.queries.squares import find_square
from records.refusals import Refused
from tests.factory import make_grid, make_site, make_square

SAID = Said(Outcome.DONE, 3)
UNDER_A_GUN = Excepted("under an object", "the gun lies on it")
WHOLE_UNCHECKED = Drawn(whole=True)
WHOLE_ACCEPTED = Drawn(whole=True, accepted=True)
WHOLE_SENT_BACK = Drawn(whole=True, accepted=False, sent_back_for="no levels")
PART_ACCEPTED = Drawn(whole=False, accepted=True)

STATES = [
    # what is known, the state it makes
    (Evidence(), State.NOT_WANTED),
    (Evidence(said=SAID), State.NOT_WANTED),
    (Evidence(wanted=True), State.WANTED),
    (Evidence(wanted=True, said=Said(Outcome.PART, 3)), State.WANTED),
    (Evidence(wanted=True, said=Said(Outcome.NOTHING_VISIBLE, 3)), State.WANTED),
    (Evidence(wanted=True, said=Said(Outcome.NOT_REACHED, 3)), State.WANTED),
    (Evidence(wanted=True, said=SAID), State.SAID_DONE),
    (Evidence(wanted=True, exception=UNDER_A_GUN), State.EXCEPTION),
    (Evidence(wanted=True, said=SAID, exception=UNDER_A_GUN), State.EXCEPTION),
    (Evidence(wanted=True, drawn=(WHOLE_UNCHECKED,)), State.WAITING),
    (Evidence(wanted=True, said=SAID, drawn=(WHOLE_UNCHECKED,)), State.WAITING),
    (Evidence(wanted=True, drawn=(WHOLE_SENT_BACK,)), State.SENT_BACK),
    (Evidence(wanted=True, said=SAID, drawn=(WHOLE_SENT_BACK,)), State.SENT_BACK),
    (Evidence(wanted=True, drawn=(WHOLE_SENT_BACK, WHOLE_UNCHECKED)), State.WAITING),
    (Evidence(wanted=True, drawn=(PART_ACCEPTED,)), State.BEGUN),
    (Evidence(wanted=True, drawn=(PART_ACCEPTED, PART_ACCEPTED)), State.BEGUN),
    (Evidence(wanted=True, drawn=(PART_ACCEPTED, WHOLE_SENT_BACK)), State.SENT_BACK),
    (Evidence(wanted=True, drawn=(WHOLE_SENT_BACK, PART_ACCEPTED)), State.BEGUN),
    (Evidence(wanted=True, drawn=(WHOLE_ACCEPTED,)), State.DONE),
    (Evidence(wanted=False, drawn=(WHOLE_ACCEPTED,)), State.DONE),
    (Evidence(wanted=True, drawn=(WHOLE_ACCEPTED, WHOLE_SENT_BACK)), State.DONE),
    (Evidence(wanted=True, exception=UNDER_A_GUN, drawn=(WHOLE_ACCEPTED,)), State.DONE),
    (Evidence(wanted=True, frames_wait=True, needed_fraction=0.98), State.WAITING),
    (Evidence(wanted=True, covered_fraction=0.4, needed_fraction=0.98), State.BEGUN),
    (Evidence(wanted=True, covered_fraction=0.9799, needed_fraction=0.98), State.BEGUN),
    (Evidence(wanted=True, covered_fraction=0.98, needed_fraction=0.98), State.DONE),
    (Evidence(wanted=True, covered_fraction=1.0, needed_fraction=1.0), State.DONE),
    (Evidence(wanted=True, covered_fraction=0.0, needed_fraction=0.98), State.WANTED),
]


@pytest.mark.parametrize(("evidence", "state"), STATES)
def test_the_state_follows_from_the_evidence(evidence, state):
    assert state_of(evidence) == state


def test_the_table_reaches_every_state():
    assert {state for _evidence, state in STATES} == set(State)


@pytest.mark.parametrize(
    ("method", "evidence", "words"),
    [
        (Method.DRAWING, Evidence(wanted=True), "drawing wanted"),
        (Method.DRAWING, Evidence(wanted=True, drawn=(WHOLE_ACCEPTED,)), "drawn"),
        (
            Method.DRAWING,
            Evidence(wanted=True, drawn=(WHOLE_ACCEPTED, Drawn(whole=True, n=52))),
            "drawn, drawing 52 waits for a check",
        ),
        (
            Method.DRAWING,
            Evidence(
                wanted=True,
                exception=UNDER_A_GUN,
                drawn=(Drawn(whole=True, n=44), WHOLE_SENT_BACK, Drawn(whole=False, n=46)),
            ),
            "no drawing (under an object), drawings 44, 46 wait for a check",
        ),
        (
            Method.DRAWING,
            Evidence(wanted=True, drawn=(WHOLE_SENT_BACK,)),
            "drawing sent back: no levels",
        ),
        (
            Method.PHOTOGRAPHS,
            Evidence(wanted=True, exception=UNDER_A_GUN),
            "no photographs (under an object)",
        ),
        (
            Method.PHOTOGRAPHS,
            Evidence(wanted=True, covered_fraction=0.979, needed_fraction=0.98),
            "photographed 97 %",
        ),
    ],
)
def test_a_state_is_said_in_words(method, evidence, words):
    assert MethodState.read(method, evidence).words == words


@pytest.mark.parametrize("state", State)
@pytest.mark.parametrize("method", Method)
def test_no_state_is_without_words(state, method):
    words = MethodState(method, Evidence(), state).words

    assert words
    assert "%(" not in words


@pytest.mark.parametrize(
    ("said", "asks"),
    [(Outcome.NOTHING_VISIBLE, True), (Outcome.NOT_REACHED, True), (Outcome.PART, False)],
)
def test_what_divers_could_not_do_asks_the_lead_and_stays_wanted(said, asks):
    drawing = MethodState.read(Method.DRAWING, Evidence(wanted=True, said=Said(said, 7)))

    assert drawing.is_missing
    assert drawing.asks_the_lead is asks
    assert drawing.divers_words.endswith("(dive 7)")


@pytest.mark.django_db
class TestLabels:
    def test_one_grid_needs_no_code(self):
        grid = make_grid(make_site(), first_column="K", first_row="7")

        assert make_square(grid, 0, 0).label == "K7"
        assert make_square(grid, -1, 2).label == "J9"

    def test_several_grids_bear_their_code(self, django_assert_num_queries):
        site = make_site()
        bow, hull = make_grid(site, code="bow"), make_grid(site, code="hull")
        make_square(bow, 0, 0), make_square(hull, 1, 1)

        with django_assert_num_queries(1):
            labels = [square.label for square in Square.objects.labelled().order_by("grid__code")]
        assert labels == ["bow A1", "hull B2"]
        assert Square.objects.get(grid=hull).label == "hull B2"

    def test_a_typed_label_finds_its_square(self):
        site = make_site()
        square = make_square(make_grid(site, first_column="K"), 2, 0)

        assert find_square(site, " m1 ") == square

    def test_among_grids_the_code_decides_and_a_label_of_one_needs_none(self):
        site = make_site()
        bow, hull = make_grid(site, code="P"), make_grid(site, code="H")
        first, second, alone = make_square(bow), make_square(hull), make_square(hull, 0, 6)

        assert find_square(site, "p A1") == first
        assert find_square(site, "H a1") == second
        assert find_square(site, "A7") == alone
        with pytest.raises(Refused, match="P A1, H A1"):
            find_square(site, "A1")

    @pytest.mark.parametrize("typed", ["", "K", "7", "A0", "Z99", "bow A1", "A 1 B"])
    def test_what_is_no_square_is_refused_in_words(self, typed):
        site = make_site()
        make_square(make_grid(site))

        with pytest.raises(Refused, match="is no square of this"):
            find_square(site, typed)

    def test_another_sites_square_is_not_found(self):
        make_square(make_grid(make_site()))

        with pytest.raises(Refused):
            find_square(make_site(), "A1")
