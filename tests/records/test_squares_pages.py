"""Pages on which leads set goals and directors plan grids: what is saved, and what is told."""

import uuid

import pytest
from django.urls import reverse

from records.models import Grid, Role, SeasonEvent, SquareException, SquareGoal, Stage
from tests.factory import (
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def sign_in(client, season):
    def as_(role):
        account = make_member(season.site, role).account
        client.force_login(account, backend="records.sign_in.PasswordBackend")
        return account

    return as_


@pytest.fixture
def lead(sign_in):
    return sign_in(Role.LEAD)


@pytest.fixture
def director(sign_in):
    return sign_in(Role.DIRECTOR)


@pytest.fixture
def url(season):
    return lambda name, *args: reverse(name, args=[season.code, *args])


@pytest.fixture
def grid(season):
    grid = make_grid(season.site, code="P", first_column="K", first_row="7")
    for column in range(3):
        make_square(grid, column, 0)
    return grid


@pytest.mark.usefixtures("lead")
class TestLead:
    def test_a_stage_is_opened_and_leads_on_to_its_goals(self, client, season, url):
        answer = client.post(url("stages"), {"id": uuid.uuid4(), "name": "as found"})

        assert (answer.status_code, answer.url) == (303, url("stage", 1))
        assert Stage.objects.get(season=season).name == "as found"

    def test_a_block_is_wanted(self, client, season, url, grid):
        stage = make_stage(season, order=1)

        answer = client.post(
            url("stage_goals", 1), {"squares": "k7–l7", "drawing_wanted": "on"}, follow=True
        )

        assert "Opened for 2 squares; 0 changed." in answer.content.decode()
        goals = SquareGoal.objects.filter(stage=stage).order_by("square__column")
        assert [(goal.square.label, goal.photographs_wanted) for goal in goals] == [
            ("K7", False),
            ("L7", False),
        ]

    @pytest.mark.parametrize(
        ("typed", "words"),
        [
            ("K7–N9", "Not in this grid: K8, K9, L8, L9, M8, M9 …"),
            ("north of the anchor", "is no square of this grid"),
            ("", "This field is required"),
        ],
    )
    def test_a_block_that_is_none_is_told_and_what_was_typed_stays(
        self, client, season, url, grid, typed, words
    ):
        make_stage(season, order=1)

        answer = client.post(url("stage_goals", 1), {"squares": typed, "drawing_wanted": "on"})

        page = answer.content.decode()
        assert answer.status_code == 422
        assert words in page
        assert f'value="{typed}"' in page or not typed
        assert SquareGoal.objects.count() == 0

    def test_the_squares_that_the_plan_asked_for_are_filled_in(self, client, season, url, grid):
        make_stage(season, order=1)

        page = client.get(url("stage", 1) + "?squares=K7").content.decode()

        assert 'value="K7"' in page

    def test_exceptions_for_a_block(self, client, season, url, grid):
        stage = make_stage(season, order=1)
        make_goal(stage, grid.squares.first())
        said = {"squares": "K7", "method": "drawing", "kind": "not_reached", "reason": "surge"}

        answer = client.post(url("stage_exceptions", 1), said, follow=True)

        assert "1 exception accepted." in answer.content.decode()
        assert SquareException.objects.get().reason == "surge"
        without = client.post(url("stage_exceptions", 1), said | {"reason": ""})
        assert without.status_code == 422

    def test_one_squares_goal_is_changed_and_a_stale_change_is_told(
        self, client, season, url, grid
    ):
        goal = make_goal(make_stage(season, order=1), grid.squares.first())
        said = {"drawing_wanted": "on", "version": 1}

        answer = client.post(url("goal", goal.pk), said)
        again = client.post(url("goal", goal.pk), {"photographs_wanted": "on", "version": 1})

        assert (answer.status_code, answer.url) == (303, url("plan") + "?grid=P&at=0%2C0")
        assert again.status_code == 409
        assert "photographs wanted" in again.content.decode()
        goal.refresh_from_db()
        assert (goal.drawing_wanted, goal.photographs_wanted) == (True, False)

    def test_an_exception_is_accepted_once_and_taken_back(self, client, season, url, grid):
        goal = make_goal(make_stage(season, order=1), grid.squares.first())
        said = {
            "id": uuid.uuid4(),
            "method": "drawing",
            "kind": "under_object",
            "reason": "the gun",
        }

        assert client.post(url("goal_except", goal.pk), said).status_code == 303
        assert client.post(url("goal_except", goal.pk), said).status_code == 303
        exception = goal.exceptions.get()
        assert client.post(url("goal_close", goal.pk), {"reason": "no"}).status_code == 422
        assert client.post(url("exception_void", exception.pk), {"reason": ""}).status_code == 422
        back = client.post(url("exception_void", exception.pk), {"reason": "lifted"})
        assert back.status_code == 303
        assert goal.exceptions.standing().count() == 0
        assert client.post(url("goal_close", goal.pk), {"reason": "sand"}).status_code == 303
        assert client.get(url("goal", goal.pk)).status_code == 404

    def test_a_stage_is_renamed_and_voided(self, client, season, url):
        stage = make_stage(season, order=1)

        client.post(url("stage_name", 1), {"name": "brushed", "version": 1})
        stage.refresh_from_db()
        assert stage.name == "brushed"
        assert client.post(url("stage_void", 1), {"reason": "twice"}).status_code == 303
        assert client.get(url("stage", 1)).status_code == 404

    def test_a_closed_season_takes_no_goals_and_says_so(self, client, season, url, grid, lead):
        stage = make_stage(season, order=1)
        SeasonEvent.objects.create(
            season=season, kind="fieldwork_closed", reason="done", made_by=lead
        )

        answer = client.post(url("stage_goals", 1), {"squares": "K7", "drawing_wanted": "on"})

        assert answer.status_code == 409
        assert "Fieldwork of this season is closed" in answer.content.decode()
        assert stage.goals.count() == 0
        assert "stages" not in client.get(url("plan")).content.decode()

    def test_grids_are_the_directors(self, client, url, grid):
        assert client.get(url("grids")).status_code == 403
        assert client.post(url("grid_grow", "P"), {"left": 1}).status_code == 403


def new_grid(**said):
    return {
        "id": uuid.uuid4(),
        "code": "P",
        "name": "Plan grid",
        "side_m": "1",
        "bearing_deg": "35,5",
        "slope_deg": "0",
        "origin_e_m": "0",
        "origin_n_m": "0",
        "origin_z_m": "-18.25",
        "label_style": "letters",
        "first_column": "K",
        "first_row": "7",
        "skip_i_and_o": "on",
        "columns": "10",
        "rows": "6",
    } | said


@pytest.mark.usefixtures("director")
class TestDirector:
    def test_a_grid_is_planned_with_its_first_squares(self, client, season, url):
        answer = client.post(url("grid_new"), new_grid(), follow=True)

        grid = Grid.objects.get(site=season.site)
        assert (grid.bearing_deg, grid.origin_z_m) == (35.5, -18.25)
        assert grid.squares.count() == 60
        assert grid.label_of(9, 5) == "U12"
        assert 'data-l="U12"' in answer.content.decode()

    @pytest.mark.parametrize(
        ("wrong", "words"),
        [
            ({"slope_deg": "-90"}, "more than −90°"),
            ({"first_column": "7"}, "cannot be the label of the first column"),
            ({"label_style": "corner"}, "give whole metres"),
            ({"side_m": "0"}, "at least"),
            ({"code": "P 1"}, "valid"),
            ({"rows": "0"}, "greater than or equal to 1"),
        ],
    )
    def test_what_cannot_be_a_grid_is_told_beside_its_field(
        self, client, season, url, wrong, words
    ):
        answer = client.post(url("grid_new"), new_grid(**wrong))

        assert answer.status_code == 422
        assert words in answer.content.decode()
        assert season.site.grids.count() == 0

    def test_a_grid_grows_along_its_edges_and_by_label(self, client, url, grid):
        client.post(url("grid_grow", "P"), {"left": "2", "above": "1", "squares": "R20"})

        labels = {grid.label_of(one.column, one.row) for one in grid.squares.all()}
        assert labels == {
            *("I7", "J7", "K7", "L7", "M7"),
            *("I8", "J8", "K8", "L8", "M8"),
            "R20",
        }
        too_far = client.post(url("grid_grow", "P"), {"left": "9"})
        assert too_far.status_code == 422
        assert "before A" in too_far.content.decode()
        assert client.post(url("grid_grow", "P"), {}).status_code == 422

    def test_squares_are_taken_out_and_the_grid_renamed(self, client, url, grid):
        said = {"squares": "K7", "reason": "off the wreck"}
        client.post(url("grid_take_out", "P"), said)
        assert grid.squares.standing().count() == 2

        page = client.get(url("grid", "P")).context["form"].initial
        answer = client.post(url("grid", "P"), {**page, "name": "Bow"})
        assert answer.status_code == 303
        grid.refresh_from_db()
        assert grid.name == "Bow"
        assert client.post(url("grid_void", "P"), {"reason": "twice"}).status_code == 303
        assert client.get(url("grid", "P")).status_code == 404
