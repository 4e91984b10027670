"""The verdict on a run: a hole of known size, shot again from a later dive; queries constant."""

import pytest
from django.urls import reverse

from records.acting import acting_as
from records.archive.run_card import _again
from records.intake.matching import proposal
from records.intake.measures import MEASURED
from records.intake.run_verdict import Opinion, verdict_of
from records.models import IncomingFrame, PhotoRun, PictureToMake, Role
from records.queries.verdict import run_verdict, shown
from records.verbs.frames import leave_out_frame
from records.verbs.tower import RowEntry
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage
from tests.factory_pictures import make_card, make_frame, make_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def lead(season):
    account = make_member(season.site, Role.LEAD).account
    with acting_as(account):
        yield account


@pytest.fixture
def run(season, lead) -> PhotoRun:
    """Footprints of 1.5 × 1 m every 0.9 m, 40 %, over the squares from x = 0 to 6 m."""
    grid, stage = make_grid(season.site, bearing_deg=45), make_stage(season)
    for column in range(6):
        make_goal(stage, make_square(grid, column, 0))
    return make_run(season, RowEntry(0.75, 0.5, 0.0, 0.9, 6), grid=grid, stage=stage)


def frames_on(run, *stations):
    card = make_card(run)
    return {station: make_frame(card, station) for station in stations}


def test_before_any_frame_there_is_no_verdict(run):
    assert run_verdict(run) is None


def test_a_whole_run_may_move_on(run):
    frames_on(run, 1, 2, 3, 4, 5, 6)

    told = run_verdict(run)

    assert (told.is_good, told.sentence) == (True, "Good: the rails can move.")


def test_a_station_passed_over_is_named_with_its_hole_and_shot_again_it_is_good(run):
    """0.2 · 1.5 m · 1 m = 0.30 m² (G − 2 · 0.4 G: common practice)."""
    frames_on(run, 1, 2, 4, 5, 6)

    told = run_verdict(run)

    label = run.grid.label_of(2, 0)
    assert told.sentence == (
        "Do not move the rails. Shoot again: row 1, station 3. "
        f"{label} has a hole of 0.30 m² in the middle."
    )
    assert told.again == (2,)

    frames_on(run, 3)  # a card of a later dive
    assert run_verdict(run).is_good


def test_the_rails_wait_until_the_pictures_were_looked_at(run):
    frames = frames_on(run, 1, 2, 3, 4, 5, 6)
    file = frames[4].photograph.picture.file
    asked = PictureToMake.objects.create(file=file, recipes=MEASURED)

    told = run_verdict(run)

    assert (told.is_good, told.is_waiting) == (False, True)
    assert told.sentence == (
        "Wait: 1 picture is still being looked at. By their stations nothing is open."
    )
    asked.words = "The file cannot be read."  # given up: it is not waited for
    asked.save()
    assert run_verdict(run).is_good


def test_stations_not_reached_yet_are_not_called_again(run):
    frames_on(run, 1, 2)

    assert run_verdict(run).sentence == (
        "Good so far. Still to be photographed: row 1, stations 3 to 6."
    )


def test_a_card_of_a_run_that_is_through_is_laid_onto_what_is_shot_again(run):
    frames_on(run, 1, 2, 4, 6)
    shots = [IncomingFrame(original_name=f"A{n}.JPG") for n in range(2)]

    laid = proposal(make_card(run), shots, [0, 1, 3, 5]).laid

    assert [laid.on[str(one.pk)] for one in shots] == [2, 4]


def test_the_card_for_shooting_again_names_only_those_stations(client, run, lead):
    frames_on(run, 1, 2, 4, 6)
    client.force_login(lead, backend="records.sign_in.PasswordBackend")

    pdf = client.get(reverse("run_card", args=[run.season.code, run.pk]) + "?again").content

    assert pdf.startswith(b"%PDF")
    card = _again(run, run_verdict(run))
    (row,) = card["rows"]
    assert row["stations"] == ["3", "5"]
    drawn = card["map"]
    assert [one["n"] for one in drawn["circles"]] == ["3", "5"]
    assert (len(drawn["dots"]), len(drawn["feet"])) == (2, 2)
    (first, _second) = drawn["holes"]
    across = max(x for x, _y in first) - min(x for x, _y in first)
    a_metre = drawn["bar"]["length"] / float(drawn["bar"]["words"].split()[0])
    assert across == pytest.approx(0.3 * a_metre, abs=0.05)  # 0.2 · 1.5 m


def test_an_unfit_frame_shows_nothing_and_a_moved_one_shows_where_it_is(run):
    frames = frames_on(run, 1, 2, 3, 4, 5, 6)

    blurred = verdict_of(run, Opinion(unfit=frozenset({frames[3].pk})))
    slipped = verdict_of(run, Opinion(moved={frames[n].pk: (0.8, 0.0) for n in (4, 5, 6)}))

    assert shown(blurred).again == (2,)
    assert [round(sum(h.area_m2 for h in holes), 3) for _s, holes in slipped.holes] == [0.2]
    assert "station 4" in shown(slipped).sentence


def test_a_frame_that_was_left_out_opens_the_hole(run):
    frames = frames_on(run, 1, 2, 3, 4, 5, 6)
    leave_out_frame(frames[5], "blurred")

    assert run_verdict(run).again == (4,)


def test_the_run_page_answers_with_the_verdict(client, run, lead):
    frames_on(run, 1, 2, 4, 5, 6)
    client.force_login(lead, backend="records.sign_in.PasswordBackend")

    page = client.get(reverse("run", args=[run.season.code, run.pk])).content.decode()

    assert "Do not move the rails. Shoot again: row 1, station 3." in page
    assert "5 of 6 stations have a frame." in page


def test_queries_do_not_grow_with_the_frames(run, django_assert_num_queries):
    frames_on(run, 1, 2)
    few = _count(run)
    frames_on(run, 3, 4, 5, 6)

    assert _count(run) == few <= 14


def _count(run):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as asked:
        run_verdict(PhotoRun.objects.select_related("season", "grid", "set_up").get(pk=run.pk))
    return len(asked)


def test_squares_in_which_the_run_begins_count_on_both_sides_of_the_peg(season, lead):
    grid, stage = make_grid(season.site), make_stage(season)
    for column in range(-4, 3):
        make_goal(stage, make_square(grid, column, -1))
        make_goal(stage, make_square(grid, column, 0))
    run = make_run(season, RowEntry(-2.7, 0.1, 0.0, 0.9, 6), grid=grid, stage=stage)
    frames_on(run, 6)

    verdict = verdict_of(run)

    assert {square.column for square in verdict.wanted} == {-4, -3, -2, -1, 0, 1, 2}
    assert {square.row for square in verdict.wanted} == {-1, 0}


def test_an_answer_names_the_largest_holes_and_the_notes_the_others(run):
    """Stations 1 and 6 show x from 0 to 1.5 and from 4.5 to 6 m: two squares lie bare, and half
    of one on either side."""
    frames_on(run, 1, 6)

    told = run_verdict(run)

    half, bare, other, last = (run.grid.label_of(column, 0) for column in (1, 2, 3, 4))
    assert f"{bare} has a hole of 1.00 m²" in told.sentence
    assert f"{other} has a hole of 1.00 m²" in told.sentence
    assert told.sentence.endswith("2 more squares are short.")
    assert told.notes[0].startswith(f"Short as well: {half} has a hole of 0.50 m²")
    assert f"; {last} has a hole of 0.50 m²" in told.notes[0]
