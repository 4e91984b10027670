"""Grids, squares, stages, goals and exceptions: what the verbs write and what they refuse."""

import pytest
from django.core.exceptions import PermissionDenied

from records.acting import acting_as
from records.models import (
    MOST_SQUARES,
    DiveTask,
    ExceptionKind,
    LabelStyle,
    Method,
    Role,
    Square,
    SquareGoal,
    Stage,
)
from records.refusals import Conflict, Refused, Stale
from records.verbs.guard import void
from records.verbs.squares import (
    GridEntry,
    add_squares,
    edit_grid,
    plan_grid,
    take_out_squares,
    void_grid,
)
from records.verbs.stages import (
    accept_exception,
    accept_exceptions,
    change_goal,
    open_stage,
    rename_stage,
    set_goals,
    void_exception,
    void_goal,
    void_stage,
)
from tests.factory import (
    make_day,
    make_dive,
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
def director(season):
    with acting_as(make_member(season.site, Role.DIRECTOR).account) as _:
        yield


@pytest.fixture
def lead(season):
    with acting_as(make_member(season.site, Role.LEAD).account) as _:
        yield


def entry(**fields):
    return GridEntry(**{"code": "P", "name": "Plan grid"} | fields)


def log_task(season, square, stage, **fields):
    return DiveTask.objects.create(
        **{
            "dive": make_dive(make_day(season)),
            "square": square,
            "stage": stage,
            "method": "drawing",
            "outcome": "done",
        }
        | fields
    )


@pytest.mark.usefixtures("director")
class TestGrids:
    def test_a_grid_is_planned_once_whatever_is_sent_twice(self, season):
        grid = plan_grid(season, entry(first_column="K", bearing_deg=35.0))
        again = plan_grid(season, entry(), id=grid.pk)

        assert again == grid
        assert grid.label_of(0, 0) == "K1"
        assert grid.history.get().history_user == grid.made_by

    @pytest.mark.parametrize(
        ("wrong", "field"),
        [
            ({"slope_deg": 91.0}, "slope_deg"),
            ({"side_m": 0.0}, "side_m"),
            ({"first_column": "7"}, "first_column"),
            ({"first_row": "0"}, "first_row"),
            ({"label_style": LabelStyle.CORNER, "first_column": "A"}, "first_column"),
            ({"label_style": LabelStyle.CORNER, "first_column": "100", "side_m": 0.5}, "side_m"),
            ({"code": ""}, "code"),
            ({"origin_e_m": 60_000.0}, None),
        ],
    )
    def test_what_cannot_be_a_grid_is_refused_beside_its_field(self, season, wrong, field):
        with pytest.raises(Refused) as refused:
            plan_grid(season, entry(**wrong))

        assert refused.value.field == field
        assert season.site.grids.count() == 0

    def test_a_code_is_of_one_grid(self, season):
        plan_grid(season, entry())
        with pytest.raises(Refused, match="Another grid"):
            plan_grid(season, entry(name="Second"))

    def test_squares_are_added_in_every_direction_once(self, season):
        grid = plan_grid(season, entry(first_column="K", first_row="7"))

        assert add_squares(season, grid, grid.squares_named("K7–L8")) == 4
        assert add_squares(season, grid, grid.squares_named("I6-K8, N9")) == 8
        columns = {square.column for square in grid.squares.all()}
        assert columns == {-2, -1, 0, 1, 3}
        assert {square.row for square in grid.squares.all()} == {-1, 0, 1, 2}
        added = grid.squares.get(column=-2, row=-1)
        assert (added.label, added.made_by) == ("I6", grid.made_by)
        assert added.history.get().history_user == grid.made_by

    @pytest.mark.parametrize(
        ("square", "words"), [((-1, 0), "before A"), ((0, -1), "before 1"), ((-1, -1), "before A")]
    )
    def test_a_square_before_a_or_1_is_refused_in_words(self, season, square, words):
        grid = plan_grid(season, entry())
        with pytest.raises(Refused, match=words):
            add_squares(season, grid, [(0, 0), square])
        assert grid.squares.count() == 0

    def test_a_grid_beyond_all_measure_is_refused(self, season):
        grid = plan_grid(season, entry())
        with pytest.raises(Refused, match="at most"):
            add_squares(season, grid, [(0, row) for row in range(MOST_SQUARES + 1)])
        with pytest.raises(Refused, match="smaller block"):
            grid.squares_named("A1–ZZZZ999999")

    def test_geometry_and_labels_freeze_with_the_first_work(self, season):
        grid = plan_grid(season, entry())
        square = make_square(grid)
        grid = edit_grid(season, grid, entry(bearing_deg=20.0))
        task = log_task(season, square, make_stage(season))

        for change in ({"bearing_deg": 21.0}, {"first_column": "B"}, {"code": "Q"}):
            with pytest.raises(Refused, match="only its name"):
                edit_grid(season, grid, entry(**{"bearing_deg": 20.0} | change))
        renamed = edit_grid(season, grid, entry(bearing_deg=20.0, name="Bow"))
        assert renamed.name == "Bow"

        void(task, "wrong day")
        assert edit_grid(season, grid, entry(bearing_deg=21.0)).bearing_deg == 21.0

    def test_an_edit_that_leaves_squares_without_a_label_is_refused(self, season):
        grid = plan_grid(season, entry(first_column="K"))
        add_squares(season, grid, [(-9, 0)])
        with pytest.raises(Refused, match="before A"):
            edit_grid(season, grid, entry(first_column="D"))

    def test_a_stale_edit_is_told(self, season):
        grid = plan_grid(season, entry())
        edit_grid(season, grid, entry(name="First"), seen_version=1)
        with pytest.raises(Stale):
            edit_grid(season, grid, entry(name="Second"), seen_version=1)

    def test_squares_leave_while_nothing_is_wanted_and_come_back(self, season):
        grid = plan_grid(season, entry())
        add_squares(season, grid, [(0, 0), (1, 0)])
        one, other = grid.squares.order_by("column")
        make_goal(make_stage(season), other)

        with pytest.raises(Refused, match="stay in the grid"):
            take_out_squares(season, grid, [one, other], "off the wreck")
        assert take_out_squares(season, grid, [one], "off the wreck") == 1
        assert grid.squares.standing().count() == 1
        assert add_squares(season, grid, [(0, 0), (1, 0)]) == 1
        assert [row.void_reason for row in one.history.order_by("version")] == [
            "",
            "off the wreck",
            "",
        ]

    def test_a_grid_planned_by_mistake_is_voided_but_not_one_in_use(self, season):
        grid = plan_grid(season, entry())
        square = make_square(grid)
        goal = make_goal(make_stage(season), square)
        with pytest.raises(Refused, match="stays"):
            void_grid(season, grid, "twice")
        void(goal, "mistake")

        void_grid(season, grid, "twice")
        with pytest.raises(Refused, match="void: twice"):
            add_squares(season, grid, [(3, 3)])

    def test_another_sites_grid_is_refused(self, season):
        grid = make_grid(make_season().site)
        with pytest.raises(Refused, match="another site"):
            add_squares(season, grid, [(0, 0)])


@pytest.mark.usefixtures("lead")
class TestStages:
    def test_a_lead_plans_no_grid(self, season):
        with pytest.raises(PermissionDenied):
            plan_grid(season, entry())

    def test_stages_follow_one_another(self, season):
        first, second = open_stage(season, "as found"), open_stage(season, " cleaned ")

        assert (first.order, second.order, second.name) == (1, 2, "cleaned")
        assert open_stage(season, "again", id=second.pk) == second
        with pytest.raises(Refused, match="already has a stage"):
            open_stage(season, "cleaned")
        assert rename_stage(second, "brushed").name == "brushed"

    def test_an_empty_stage_leaves_and_one_in_use_stays(self, season):
        used, empty = open_stage(season, "as found"), open_stage(season, "mistake")
        make_goal(used, make_square(make_grid(season.site)))

        void_stage(empty, "opened twice")
        with pytest.raises(Refused, match="stays"):
            void_stage(used, "no")
        assert list(Stage.objects.standing()) == [used]
        assert open_stage(season, "layer 1").order == 3

    def test_goals_are_set_for_a_block_at_once_and_changed_where_they_differ(self, season):
        grid = make_grid(season.site)
        squares = [make_square(grid, column, 0) for column in range(3)]
        stage = open_stage(season, "as found")

        first = set_goals(stage, squares[:2], drawing_wanted=True, photographs_wanted=True)
        second = set_goals(stage, squares, drawing_wanted=False, photographs_wanted=True)

        assert (first.opened, first.changed) == (2, 0)
        assert (second.opened, second.changed) == (1, 2)
        goals = SquareGoal.objects.filter(stage=stage)
        assert [goal.drawing_wanted for goal in goals] == [False] * 3
        assert sorted(goal.history.count() for goal in goals) == [1, 2, 2]
        assert all(goal.history.first().history_user == goal.made_by for goal in goals)

    def test_a_block_costs_the_same_whatever_its_size(self, season, django_assert_max_num_queries):
        grid = make_grid(season.site)
        squares = Square.objects.bulk_create(
            Square(grid=grid, column=column, row=row) for column in range(40) for row in range(25)
        )
        stage = open_stage(season, "as found")

        with django_assert_max_num_queries(40):  # SQLite takes 1,000 rows in several inserts
            set_goals(stage, squares, drawing_wanted=True, photographs_wanted=True)
        assert SquareGoal.history.count() == 1_000

    def test_another_sites_squares_are_refused(self, season):
        stage = open_stage(season, "as found")
        square = make_square(make_grid(make_season().site))
        with pytest.raises(Refused, match="another site"):
            set_goals(stage, [square], drawing_wanted=True, photographs_wanted=True)

    def test_a_goal_is_changed_closed_and_opened_again(self, season):
        square = make_square(make_grid(season.site))
        stage = open_stage(season, "as found")
        set_goals(stage, [square], drawing_wanted=True, photographs_wanted=True)
        goal = square.goals.get()

        goal = change_goal(goal, drawing_wanted=True, photographs_wanted=False, seen_version=1)
        with pytest.raises(Stale):
            change_goal(goal, drawing_wanted=False, photographs_wanted=False, seen_version=1)
        void_goal(goal, "the sand is still on it")
        with pytest.raises(Conflict, match="no longer open"):
            change_goal(goal, drawing_wanted=False, photographs_wanted=False)
        again = set_goals(stage, [square], drawing_wanted=True, photographs_wanted=True)
        assert (again.opened, again.changed) == (1, 0)
        assert square.goals.get().history.count() == 4

    def test_a_goal_with_work_stays(self, season):
        square = make_square(make_grid(season.site))
        stage = open_stage(season, "as found")
        goal = make_goal(stage, square)
        log_task(season, square, stage)

        with pytest.raises(Refused, match="Work is recorded"):
            void_goal(goal, "no")


@pytest.mark.usefixtures("lead")
class TestExceptions:
    @pytest.fixture
    def goal(self, season):
        return make_goal(
            open_stage(season, "as found"),
            make_square(make_grid(season.site)),
            photographs_wanted=False,
        )

    def test_an_exception_is_accepted_with_its_reason_and_taken_back(self, goal):
        accepted = accept_exception(
            goal, Method.DRAWING, ExceptionKind.UNDER_OBJECT, " the gun lies on it "
        )

        assert accepted.reason == "the gun lies on it"
        with pytest.raises(Refused, match="already has an exception"):
            accept_exception(goal, Method.DRAWING, ExceptionKind.NOT_REACHED, "again")
        with pytest.raises(Refused, match="exception of this square first"):
            void_goal(goal, "no")
        void_exception(accepted, "the gun was lifted")
        assert goal.exceptions.standing().count() == 0

    @pytest.mark.parametrize(
        ("method", "kind", "reason", "words"),
        [
            (Method.PHOTOGRAPHS, ExceptionKind.NOT_REACHED, "surge", "nothing to except"),
            (Method.DRAWING, ExceptionKind.NOT_REACHED, "  ", "blank"),
            (Method.DRAWING, "lazy", "no wish", "lazy"),
        ],
    )
    def test_what_is_no_exception_is_refused(self, goal, method, kind, reason, words):
        with pytest.raises(Refused, match=words):
            accept_exception(goal, method, kind, reason)
        assert goal.exceptions.count() == 0

    def test_a_block_is_excepted_where_the_method_is_wanted(self, season, goal):
        others = [make_square(goal.square.grid, column, 5) for column in range(3)]
        set_goals(goal.stage, others, drawing_wanted=True, photographs_wanted=True)
        accept_exception(others[0].goals.get(), Method.PHOTOGRAPHS, "not_reached", "surge")

        accepted = accept_exceptions(
            goal.stage, [goal.square, *others], Method.PHOTOGRAPHS, "not_reached", "surge"
        )

        assert {exception.goal.square for exception in accepted} == set(others[1:])
