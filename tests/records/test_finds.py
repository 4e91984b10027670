"""Finds: registered under tag or number, their one standing fix, their pictures, who may know."""

import datetime
from dataclasses import replace
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied

from records.acting import acting_as
from records.archive.registers import Viewer
from records.models import (
    Find,
    FindPicture,
    Fix,
    NumberEnd,
    Photograph,
    PhotoKind,
    Restriction,
    Role,
    SeasonEvent,
    Whereabouts,
)
from records.queries.finds import finds_on, finds_on_grid
from records.refusals import Closed, Conflict, Refused, SavedAlready, Stale, Unlikely
from records.verbs.find_entry import FindEntry, FixEntry, entry_of
from records.verbs.find_pictures import ShotEntry, add_find_picture, take_away_find_picture
from records.verbs.finds import edit_find, register_find, restrict_find, void_find
from records.verbs.fixes import fix_by_offsets
from tests.factory import (
    DAY,
    make_block,
    make_day,
    make_dive,
    make_dive_member,
    make_diver,
    make_find,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_drawings import make_drawing
from tests.factory_pictures import make_photograph, make_picture, make_stored_file

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    """Long past, so that no day of it is still to come."""
    begins = DAY.replace(year=2021)
    return make_season(starts_on=begins, ends_on=begins + datetime.timedelta(days=20))


@pytest.fixture
def goal(season):
    grid = make_grid(season.site)
    return make_goal(make_stage(season, name="as found"), make_square(grid, 10, 6))


@pytest.fixture
def crew(season):
    return make_member(season.site, Role.CREW).account


@pytest.fixture
def lead(season):
    return make_member(season.site, Role.LEAD).account


@pytest.fixture
def acting(crew):
    with acting_as(crew):
        yield crew


@pytest.fixture
def entry(season, goal):
    return FindEntry("jar", season.starts_on, square=goal.square, stage=goal.stage)


def registered(season, entry, **more):
    return register_find(season, entry, uuid4(), **more)


def questions(act, *given, **more):
    with pytest.raises(Unlikely) as caught:
        act(*given, **more)
    return caught.value.questions


def refused_at(act, *given, **more):
    with pytest.raises(Refused) as caught:
        act(*given, **more)
    return caught.value.field


class TestRegister:
    def test_finds_take_the_next_numbers(self, season, entry, acting):
        assert [registered(season, entry).n for _again in range(3)] == [1, 2, 3]

    def test_a_tag_is_a_number_of_a_block_and_used_by_it(self, season, entry, acting):
        block = make_block(season, first=201, last=203)

        find = registered(season, entry, tag=202)

        assert find.number == f"{season.code}-find-202"
        assert list(block.ends.values_list("n", "end")) == [(202, "used")]
        assert registered(season, entry).n == 1

    def test_a_tag_of_no_block_or_used_before_is_refused(self, season, entry, acting):
        make_block(season, first=201, last=203)
        registered(season, entry, tag=201)

        assert refused_at(registered, season, entry, tag=201) == "tag"
        assert refused_at(registered, season, entry, tag=300) == "tag"
        assert Find.objects.count() == NumberEnd.objects.count() == 1

    def test_a_double_submit_is_one_find_and_other_content_is_told(self, season, entry, acting):
        key = uuid4()
        first = register_find(season, entry, key)

        assert register_find(season, entry, key) == first
        with pytest.raises(SavedAlready):
            register_find(season, replace(entry, material="glass"), key)
        assert Find.objects.count() == 1

    def test_a_name_of_the_list_is_kept_as_the_list_has_it(self, season, entry, acting):
        assert registered(season, replace(entry, object_name=" JAR ")).object_name == "jar"
        assert registered(season, replace(entry, object_name="Bung")).object_name == "Bung"

    def test_off_the_grid_it_says_where_in_words(self, season, acting):
        find = registered(
            season, FindEntry("anchor", season.starts_on, where_in_words="north of the bow")
        )

        assert find.square is None
        assert find.where_in_words == "north of the bow"

    @pytest.mark.parametrize(
        ("changed", "field"),
        [
            ({"square": None, "stage": None}, "square"),
            ({"square": None}, "stage"),
            ({"where_in_words": "by the stern"}, "where_in_words"),
            ({"stage": None}, "square"),
            ({"object_name": "  "}, "object_name"),
            ({"found_on": datetime.date(2999, 1, 1)}, "found_on"),
            ({"length_mm": 0}, "length_mm"),
            ({"weight_g": float("nan")}, "weight_g"),
            ({"count": 0}, "count"),
        ],
    )
    def test_what_cannot_be_is_refused_beside_its_field(
        self, season, entry, acting, changed, field
    ):
        if changed.keys() == {"square"}:
            changed = changed | {"where_in_words": "by the stern"}

        assert refused_at(registered, season, replace(entry, **changed)) == field
        assert not Find.objects.exists()

    def test_the_square_must_be_open_in_the_stage_and_of_the_site(self, season, entry, acting):
        later = make_stage(season)
        elsewhere = make_goal(make_stage(make_season()), make_square(make_grid(make_season().site)))

        assert refused_at(registered, season, replace(entry, stage=later)) == "square"
        other = replace(entry, square=elsewhere.square, stage=elsewhere.stage)
        assert refused_at(registered, season, other) == "square"

    def test_dive_and_diver_are_of_the_season_and_the_site(self, season, entry, acting):
        stray = make_dive(make_day(make_season()))

        assert refused_at(registered, season, replace(entry, dive=stray)) == "dive"
        stranger = make_diver(make_season().site)
        assert refused_at(registered, season, replace(entry, found_by=stranger)) == "found_by"

    def test_what_is_unlikely_is_asked_once_and_kept_with_the_answer(self, season, entry, acting):
        dive = make_dive(make_day(season, date=season.starts_on + datetime.timedelta(days=1)))
        make_dive_member(dive, make_diver(season.site))
        odd = replace(
            entry, dive=dive, found_by=make_diver(season.site), length_mm=6000, count=1000
        )

        asked = questions(registered, season, odd)

        assert set(asked) == {"found_on", "found_by", "length_mm", "count"}
        assert set(registered(season, odd, answers=asked).answers) == set(asked)

    def test_outside_the_season_is_asked(self, season, entry, acting):
        early = replace(entry, found_on=season.starts_on - datetime.timedelta(days=1))

        assert set(questions(registered, season, early)) == {"found_on"}

    def test_readers_register_nothing(self, season, entry):
        with acting_as(make_member(season.site, Role.READER).account):
            with pytest.raises(PermissionDenied):
                registered(season, entry)


class TestEdit:
    def test_all_but_the_number_may_be_mended(self, season, entry, acting):
        find = registered(season, entry)
        changed = replace(entry_of(find), material="glass", count=3, whereabouts="lifted")

        saved = edit_find(find, changed, find.version)

        assert (saved.material, saved.count, saved.n) == ("glass", 3, find.n)
        assert saved.version == find.version + 1

    def test_a_stale_save_is_told(self, season, entry, acting):
        find = registered(season, entry)
        edit_find(find, replace(entry, material="glass"), find.version)

        with pytest.raises(Stale):
            edit_find(find, replace(entry, material="iron"), find.version)

    def test_a_square_that_was_closed_since_may_stay(self, season, entry, goal, acting):
        find = registered(season, entry)
        goal.delete()

        assert edit_find(find, replace(entry, material="glass"), None).material == "glass"

    def test_an_answer_given_before_is_not_asked_again(self, season, entry, acting):
        odd = replace(entry, count=1000)
        find = registered(season, odd, answers=questions(registered, season, odd))

        assert edit_find(find, replace(odd, material="glass"), None).answers.keys() == {"count"}

    def test_the_fix_follows_a_corrected_square_by_its_offsets(self, season, entry, goal, acting):
        find = registered(season, entry)
        fix_by_offsets(find, FixEntry(0.42, 0.55, 18.3, 0.02))
        beside = make_goal(goal.stage, make_square(goal.square.grid, 11, 6))

        edit_find(find, replace(entry, square=beside.square), None)

        fix = Fix.objects.standing().get(find=find)
        assert (fix.x_m, fix.y_m) == pytest.approx((11.42, 6.55))
        assert fix.offsets_m == pytest.approx((0.42, 0.55))
        assert Fix.objects.exclude(voided_at=None).get().void_reason.startswith("replaced")

    def test_a_find_that_lay_off_the_grid_after_all_has_no_fix(self, season, entry, acting):
        find = registered(season, entry)
        fix_by_offsets(find, FixEntry(0.42, 0.55, 18.3, 0.02))

        edit_find(find, replace(entry, square=None, stage=None, where_in_words="spoil"), None)

        assert not Fix.objects.standing().filter(find=find).exists()

    def test_leads_void_it_and_its_number_stays(self, season, entry, crew, lead):
        with acting_as(crew):
            find = registered(season, entry)
            with pytest.raises(PermissionDenied):
                void_find(find, "a stone")
        with acting_as(lead):
            assert void_find(find, "a stone").void_reason == "a stone"
            assert registered(season, entry).n == 2
            with pytest.raises(Conflict):
                edit_find(find, entry, None)


class TestFix:
    def test_offsets_count_from_the_corner_nearest_minus_x_minus_y(self, season, entry, acting):
        """K7 with A and 1 at the origin: column 10, row 6; x = c·s + Δx (the design's table)."""
        fix = fix_by_offsets(registered(season, entry), FixEntry(0.42, 0.55, 18.3, 0.02))

        assert (fix.x_m, fix.y_m, fix.depth_m) == pytest.approx((10.42, 6.55, 18.3))

    def test_wider_squares_count_by_their_side(self, season, acting):
        grid = make_grid(season.site, side_m=2, origin_e_m=100, origin_n_m=200, bearing_deg=90)
        goal = make_goal(make_stage(season), make_square(grid, 3, -1))
        find = registered(season, FindEntry("jar", season.starts_on, goal.square, goal.stage))

        fix = fix_by_offsets(find, FixEntry(1.5, 0.25, None, 0.03))

        assert (fix.x_m, fix.y_m) == pytest.approx((7.5, -1.75))
        # bearing 90: x runs to the south, y to the east
        assert fix.on_site_m == pytest.approx((100 - 1.75, 200 - 7.5))

    def test_one_fix_stands_and_the_former_is_void_with_its_reason(self, season, entry, acting):
        find = registered(season, entry)
        former = fix_by_offsets(find, FixEntry(0.42, 0.55, 18.3, 0.02))
        latter = fix_by_offsets(find, FixEntry(0.44, 0.55, 18.3, 0.02))

        former.refresh_from_db()
        assert former.void_reason.startswith("replaced")
        assert Fix.objects.standing().get(find=find) == latter

    def test_the_version_belongs_to_the_find(self, season, entry, acting):
        find = registered(season, entry)
        fix_by_offsets(find, FixEntry(0.42, 0.55, None, 0.02), uuid4(), find.version)

        with pytest.raises(Stale):
            fix_by_offsets(find, FixEntry(0.5, 0.5, None, 0.02), uuid4(), find.version)

    def test_a_double_submit_is_one_fix(self, season, entry, acting):
        find, key, said = registered(season, entry), uuid4(), FixEntry(0.42, 0.55, None, 0.02)

        assert fix_by_offsets(find, said, key, 1) == fix_by_offsets(find, said, key, 1)
        with pytest.raises(Conflict):
            fix_by_offsets(find, replace(said, depth_m=3.0), key, 1)
        assert Fix.objects.count() == 1

    @pytest.mark.parametrize("offset_m", [-0.1, 1.1, 1.5])
    def test_a_little_outside_is_asked_once(self, season, entry, acting, offset_m):
        find, said = registered(season, entry), FixEntry(offset_m, 0.5, None, 0.02)

        asked = questions(fix_by_offsets, find, said)

        assert set(asked) == {"offset_x_m"}
        assert fix_by_offsets(find, said, answers=asked).answers.keys() == asked.keys()

    @pytest.mark.parametrize("offset_m", [-0.6, 1.6, 42.0, float("nan"), float("inf")])
    def test_what_lies_in_another_square_is_refused(self, season, entry, acting, offset_m):
        find = registered(season, entry)

        assert refused_at(fix_by_offsets, find, FixEntry(0.5, offset_m, None, 0.02)) == "offset_y_m"

    @pytest.mark.parametrize("sigma_m", [0, -0.02, float("nan")])
    def test_no_position_is_exact(self, season, entry, acting, sigma_m):
        find = registered(season, entry)

        assert refused_at(fix_by_offsets, find, FixEntry(0.5, 0.5, None, sigma_m)) == "sigma_m"

    def test_a_depth_that_the_dive_never_reached_is_asked(self, season, entry, acting):
        dive = make_dive(make_day(season, date=season.starts_on), greatest_depth_m=18)
        find = registered(season, replace(entry, dive=dive))

        deep = FixEntry(0.5, 0.5, 25.0, 0.02)
        assert set(questions(fix_by_offsets, find, deep)) == {"depth_m"}
        assert fix_by_offsets(find, replace(deep, depth_m=18.4)).depth_m == 18.4

    def test_off_the_grid_there_is_no_corner(self, season, acting):
        find = registered(season, FindEntry("anchor", season.starts_on, where_in_words="far off"))

        with pytest.raises(Refused, match="off the grid"):
            fix_by_offsets(find, FixEntry(0.5, 0.5, None, 0.02))


class TestPictures:
    def test_a_picture_becomes_a_photograph_of_the_find_with_a_number(self, season, entry, acting):
        find, picture = registered(season, entry), make_picture(season.site)
        make_photograph(season)

        add_find_picture(find, picture, ShotEntry(facing="north", scale_words="20 cm bar"))

        photograph = Photograph.objects.get(picture=picture)
        assert (photograph.n, photograph.kind) == (2, PhotoKind.FIND)
        assert (photograph.square, photograph.stage) == (find.square, find.stage)
        assert find.number in photograph.subject

    def test_a_photograph_of_the_season_keeps_its_number(self, season, entry, acting):
        photograph = make_photograph(season)

        add_find_picture(registered(season, entry), photograph.picture)

        assert Photograph.objects.get() == photograph

    def test_twice_is_once(self, season, entry, acting):
        find, picture = registered(season, entry), make_picture(season.site)

        assert add_find_picture(find, picture) == add_find_picture(find, picture)

    def test_taken_away_it_stays_a_photograph_and_may_come_back(self, season, entry, acting):
        find, picture = registered(season, entry), make_picture(season.site)
        laid = add_find_picture(find, picture)

        with pytest.raises(Refused):
            take_away_find_picture(laid, " ")
        assert take_away_find_picture(laid, "shows another jar").is_voided
        assert Photograph.objects.standing().filter(picture=picture).exists()
        assert not add_find_picture(find, picture).is_voided
        assert FindPicture.objects.count() == 1

    def test_videos_and_drawings_are_refused(self, season, entry, acting):
        find = registered(season, entry)
        video = make_picture(season.site, file=make_stored_file(width_px=None, height_px=None))

        assert refused_at(add_find_picture, find, video) == "file"
        assert refused_at(add_find_picture, find, make_drawing(season).picture) == "file"
        assert not FindPicture.objects.exists()


class TestRestricted:
    @pytest.fixture
    def report(self, season, goal):
        return FindEntry(
            "", season.starts_on, square=goal.square, restriction=Restriction.HUMAN_REMAINS
        )

    def test_crew_report_without_a_stage_and_may_not_write_on_it_again(
        self, season, report, acting, lead
    ):
        find = registered(season, report)

        assert find.object_name == "human remains"
        for act in (
            lambda: edit_find(find, entry_of(find), None),
            lambda: fix_by_offsets(find, FixEntry(0.5, 0.5, None, 0.02)),
            lambda: add_find_picture(find, make_picture(season.site)),
            lambda: restrict_find(find, Restriction.NONE, "a stone"),
        ):
            with pytest.raises(PermissionDenied):
                act()
        with acting_as(lead):
            assert edit_find(find, replace(entry_of(find), material="bone"), None).material

    def test_nothing_unlikely_is_asked(self, season, report, acting):
        early = replace(report, found_on=season.starts_on - datetime.timedelta(days=9))

        assert registered(season, early).answers == {}

    def test_it_is_not_lifted_and_bears_no_tag(self, season, report, acting, lead):
        make_block(season)
        lifted = replace(report, whereabouts=Whereabouts.LIFTED)

        assert refused_at(registered, season, lifted) == "whereabouts"
        assert refused_at(registered, season, report, tag=201) == "tag"
        find = registered(season, report)
        with acting_as(lead):
            lifted = replace(entry_of(find), whereabouts=Whereabouts.LIFTED)
            assert refused_at(edit_find, find, lifted, None) == "whereabouts"

    def test_sent_again_with_more_to_say_its_reporter_is_not_shown_it(self, season, report, acting):
        key = uuid4()
        find = register_find(season, report, key)

        assert register_find(season, report, key) == find
        with pytest.raises(Conflict) as caught:
            register_find(season, replace(report, description="more"), key)
        assert find.number not in caught.value.words

    def test_anyone_who_records_restricts_and_a_lead_says_why_it_is_not(
        self, season, entry, acting, lead
    ):
        find = registered(season, entry)

        assert restrict_find(find, Restriction.ORDNANCE).is_restricted
        with acting_as(lead):
            assert refused_at(restrict_find, find, Restriction.NONE) == "reason"
            cleared = restrict_find(find, Restriction.NONE, "a drain pipe, says the navy")
        assert not cleared.is_restricted
        assert find.history.first().history_change_reason == "a drain pipe, says the navy"

    @pytest.mark.parametrize(
        ("role", "seen"),
        [(Role.READER, 1), (Role.CREW, 1), (Role.LEAD, 2), (Role.DIRECTOR, 2)],
    )
    def test_squares_and_plans_show_it_to_leads_only(
        self, season, entry, report, goal, acting, role, seen
    ):
        registered(season, entry)
        registered(season, report)
        viewer = Viewer(season, role)

        assert len(finds_on(goal.square, viewer)) == seen
        assert len(finds_on_grid(goal.square.grid, None, viewer)) == seen


class TestMarks:
    def test_a_mark_bears_the_standing_fix(self, season, entry, goal, acting):
        find = registered(season, entry)
        fix_by_offsets(find, FixEntry(0.1, 0.1, 18.3, 0.02))
        fix_by_offsets(find, FixEntry(0.42, 0.55, 18.3, 0.02))
        registered(season, entry)

        fixed, unfixed = finds_on(goal.square, Viewer(season, Role.READER))

        assert (fixed.x_m, fixed.y_m, fixed.n) == (pytest.approx(10.42), pytest.approx(6.55), 1)
        assert (unfixed.x_m, unfixed.y_m) == (None, None)

    def test_queries_are_the_same_for_any_number_of_finds(
        self, season, entry, goal, acting, django_assert_num_queries
    ):
        for _again in range(6):
            fix_by_offsets(registered(season, entry), FixEntry(0.1, 0.1, 18.3, 0.02))

        with django_assert_num_queries(2):
            finds_on(goal.square, Viewer(season, Role.READER))
        with django_assert_num_queries(2):
            finds_on_grid(goal.square.grid, goal.stage, Viewer(season, Role.LEAD))


@pytest.mark.parametrize("phase", ["fieldwork_closed", "deposited"])
def test_new_finds_and_fixes_close_with_fieldwork_the_rest_with_the_archive(
    season, entry, lead, phase
):
    find = make_find(season, square=entry.square, stage=entry.stage, found_on=season.starts_on)
    find.where_in_words = ""
    find.save()
    SeasonEvent.objects.create(season=season, kind=phase, reason="done")

    with acting_as(lead):
        for act in (
            lambda: registered(season, entry),
            lambda: fix_by_offsets(find, FixEntry(0.5, 0.5, None, 0.02)),
        ):
            with pytest.raises(Closed):
                act()
        if phase == "deposited":
            with pytest.raises(Closed):
                edit_find(find, entry, None)
        else:
            assert edit_find(find, replace(entry, material="glass"), None).material == "glass"
