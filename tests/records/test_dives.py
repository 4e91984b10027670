"""Dives through their verbs: what is kept, refused, asked, and what history says."""

import datetime
import uuid
from dataclasses import replace
from itertools import count

import pytest

from records.acting import acting_as
from records.models import Cylinder, Dive, DiveMember, DiveTask, Role
from records.queries.dive_changes import changed_since, dive_history
from records.queries.dive_states import entry_of, states
from records.refusals import Closed, Conflict, Faults, SavedAlready, Stale, Unlikely
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry, TaskEntry
from records.verbs.dives import edit_dive, log_dive, surface, void_dive
from tests.factory import (
    DAY,
    make_day,
    make_dive,
    make_dive_member,
    make_diver,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
    make_stage,
)

pytestmark = pytest.mark.django_db


def at(clock: str, day: datetime.date = DAY) -> datetime.datetime:
    """A summer time in Lisbon: an hour ahead of UTC."""
    shown = datetime.datetime.fromisoformat(f"{day} {clock}+01:00")
    return shown.astimezone(datetime.UTC)


@pytest.fixture(autouse=True)
def _after_the_dives(monkeypatch):
    """The season of the tests lies in the future; now is the evening of its day."""
    ticks = count()

    def now():
        return at("20:00") + datetime.timedelta(microseconds=next(ticks))

    monkeypatch.setattr("django.utils.timezone.now", now)


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def day(season):
    return make_day(season)


@pytest.fixture
def pair(season):
    return [
        make_diver(season.site, initials="NO", name="Nuno Ota"),
        make_diver(season.site, initials="JH", name="Jo Hale"),
    ]


@pytest.fixture
def square(season):
    """K7, open in one stage."""
    grid = make_grid(season.site, first_column="K", first_row="7")
    square = make_square(grid)
    make_goal(make_stage(season, name="as found"), square)
    return square


@pytest.fixture
def entry(day, pair, square):
    return DiveEntry(
        day=day,
        left_surface_at=at("09:05"),
        reached_surface_at=at("09:47"),
        greatest_depth_m=18.4,
        visibility_m=5,
        water_temperature_c=13.5,
        members=tuple(
            MemberEntry(diver, gas="air", cylinders=(CylinderEntry(15, 210, 95),)) for diver in pair
        ),
        tasks=(
            TaskEntry("drawing", "done", square, square.goals.get().stage, minutes=36),
            TaskEntry("other", "part", where_in_words="anchor, north of the grid"),
        ),
    )


def log(entry, **more):
    return log_dive(entry.day.season, entry, more.pop("key", uuid.uuid4()), **more)


def refused(entry, **more):
    with pytest.raises(Faults) as told:
        log(entry, **more)
    assert Dive.objects.count() == DiveMember.objects.count() == 0
    return dict(told.value.found)


def asked(entry, **more):
    with pytest.raises(Unlikely) as told:
        log(entry, **more)
    assert Dive.objects.count() == DiveMember.objects.count() == 0
    return told.value.questions


def with_member(entry, index, **changes):
    members = list(entry.members)
    members[index] = replace(members[index], **changes)
    return replace(entry, members=tuple(members))


def with_cylinder(entry, **changes):
    cylinder = replace(entry.members[0].cylinders[0], **changes)
    return with_member(entry, 0, cylinders=(cylinder,))


def test_a_dive_keeps_everything_that_was_said(crew, entry):
    dive = log(entry)

    assert dive.number == f"{dive.season.code}-dive-1"
    assert dive.made_by == crew
    assert entry_of(dive).settled() == entry.settled()
    assert [state.entry.settled() for state in states(dive)] == [entry.settled()]


def test_the_same_form_sent_twice_is_one_dive_and_another_content_is_told(crew, entry):
    key = uuid.uuid4()
    first = log(entry, key=key)

    assert log(entry, key=key) == first
    assert Dive.objects.count() == 1
    with pytest.raises(SavedAlready) as told:
        log(replace(entry, greatest_depth_m=19), key=key)
    assert told.value.record == first


def test_a_row_of_another_dive_cannot_be_borrowed(crew, entry):
    log(entry)
    later = replace(
        entry, left_surface_at=at("13:00"), reached_surface_at=at("13:40"), members=entry.members
    )

    with pytest.raises(Conflict):
        log(later)


def test_a_dive_under_way_has_no_end_and_surfaces_once(crew, entry):
    under_way = with_cylinder(replace(entry, reached_surface_at=None), bar_out=None)
    dive = log(under_way)
    assert dive.is_under_way

    surface(dive, at("09:47").replace(second=41))

    dive.refresh_from_db()
    assert dive.reached_surface_at == at("09:47")
    assert (dive.version, dive.is_under_way) == (2, False)
    assert surface(dive, at("09:47")) == dive
    with pytest.raises(Conflict):
        surface(dive, at("09:50"))


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"reached_surface_at": at("09:00")}, "reached_surface_at"),
        ({"reached_surface_at": at("09:05")}, "reached_surface_at"),
        ({"left_surface_at": at("09:05", DAY - datetime.timedelta(1))}, "left_surface_at"),
        ({"reached_surface_at": at("23:30")}, "reached_surface_at"),
        ({"greatest_depth_m": -1.0}, "greatest_depth_m"),
        ({"greatest_depth_m": 351.0}, "greatest_depth_m"),
        ({"visibility_m": -0.5}, "visibility_m"),
        ({"water_temperature_c": 60.0}, "water_temperature_c"),
        ({"bottom_minutes": 43}, "bottom_minutes"),
        ({"purpose": "leisure"}, "purpose"),
        ({"members": ()}, "members"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(crew, entry, change, place):
    assert place in refused(replace(entry, **change))


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"left_surface_at": at("09:00")}, "left_surface_at"),
        ({"reached_surface_at": at("09:48")}, "reached_surface_at"),
        (
            {"left_surface_at": at("09:30"), "reached_surface_at": at("09:20")},
            "reached_surface_at",
        ),
        ({"greatest_depth_m": 18.5}, "greatest_depth_m"),
        ({"role": "passenger"}, "role"),
        ({"oxygen_percent": 32.0}, "oxygen_percent"),
    ],
)
def test_a_members_own_values_lie_within_the_dive(crew, entry, change, place):
    assert f"members.1.{place}" in refused(with_member(entry, 1, **change))


@pytest.mark.parametrize(
    ("change", "place"),
    [({"bar_out": 211}, "bar_out"), ({"bar_in": 420}, "bar_in"), ({"size_l": 0.0}, "size_l")],
)
def test_a_cylinder_that_cannot_be_is_refused(crew, entry, change, place):
    assert f"members.0.cylinders.0.{place}" in refused(with_cylinder(entry, **change))


def test_a_dive_that_has_not_been_yet_is_refused(crew, entry, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: at("09:41"))

    assert set(refused(entry)) == {"reached_surface_at"}


def test_a_tablet_clock_a_little_ahead_is_forgiven(crew, entry, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: at("09:43"))

    assert log(entry).n == 1


def test_the_same_diver_twice_and_a_voided_or_foreign_diver_are_refused(crew, entry, pair):
    assert set(refused(with_member(entry, 1, diver=pair[0]))) == {
        "members.0.diver",
        "members.1.diver",
    }
    stranger = make_diver(make_season().site)
    assert "members.1.diver" in refused(with_member(entry, 1, diver=stranger))
    gone = make_diver(entry.day.season.site, voided_at=at("08:00"), voided_by=crew, void_reason="x")
    assert "members.1.diver" in refused(with_member(entry, 1, diver=gone))


def test_a_dive_of_a_now_voided_diver_can_still_be_mended(crew, entry, pair):
    dive = log(entry)
    pair[1].voided_at, pair[1].voided_by, pair[1].void_reason = at("12:00"), crew, "left"
    pair[1].save()

    assert edit_dive(dive, replace(entry, visibility_m=6), 1).visibility_m == 6


def test_a_square_must_be_open_in_the_stage(crew, entry, season, square):
    other = make_stage(season, name="cleaned")
    closed = make_square(square.grid, 3, 3)
    found = refused(
        replace(
            entry,
            tasks=(
                TaskEntry("drawing", "done", square, other),
                TaskEntry("drawing", "done", closed, entry.tasks[0].stage),
                TaskEntry("drawing", "done", square, None),
                TaskEntry("drawing", "done", square, entry.tasks[0].stage, "also in words"),
                TaskEntry("drawing", "done"),
            ),
        )
    )

    assert set(found) == {
        "tasks.0.square",
        "tasks.1.square",
        "tasks.2.square",
        "tasks.3.where_in_words",
        "tasks.4.where_in_words",
    }


def test_the_same_work_on_a_square_twice_is_refused(crew, entry):
    again = replace(entry.tasks[0], id=uuid.uuid4(), minutes=3)

    assert "tasks.2.square" in refused(replace(entry, tasks=(*entry.tasks, again)))


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"greatest_depth_m": 50.5}, "greatest_depth_m"),
        ({"reached_surface_at": at("11:06")}, "duration"),
        ({"reached_surface_at": at("09:07")}, "duration"),
        ({"visibility_m": 41.0}, "visibility_m"),
        ({"water_temperature_c": -0.5}, "water_temperature_c"),
        ({"water_temperature_c": 33.0}, "water_temperature_c"),
    ],
)
def test_what_is_unlikely_is_asked_once_and_kept_with_the_answer(crew, entry, change, key):
    doubtful = replace(entry, tasks=(), **change)
    questions = asked(doubtful)
    assert list(questions) == [key]

    dive = log(doubtful, answers=questions)

    kept = dive.answers[key]
    assert kept["question"] == questions[key]
    assert (kept["by"], kept["at"]) == (str(crew.pk), "2031-06-10T19:00:00+00:00")
    assert edit_dive(dive, replace(doubtful, remarks="Kelp."), 1).answers == dive.answers


def test_another_unlikely_value_asks_again(crew, entry):
    deep = replace(entry, greatest_depth_m=51.0)
    dive = log(deep, answers=asked(deep))

    with pytest.raises(Unlikely):
        edit_dive(dive, replace(deep, greatest_depth_m=52.0), 1)
    assert edit_dive(dive, replace(deep, greatest_depth_m=20.0), 1).answers == {}


def test_far_deeper_than_before_is_asked(crew, entry, day):
    make_dive(day, greatest_depth_m=18.0, left_surface_at=at("06:00"))

    with pytest.raises(Unlikely) as told:
        log(replace(entry, greatest_depth_m=28.1))
    assert set(told.value.questions) == {"greatest_depth_m"}
    assert log(replace(entry, greatest_depth_m=28.0)).n == 2


def test_a_cylinder_nearly_empty_or_untouched_is_asked(crew, entry):
    assert len(asked(with_cylinder(entry, bar_out=19))) == 1
    assert len(asked(with_cylinder(entry, bar_out=210))) == 1
    assert log(with_cylinder(entry, bar_out=20)).n == 1


def test_a_diver_alone_and_nitrox_without_its_oxygen_are_asked(crew, entry, pair):
    assert set(asked(with_member(entry, 1, role="standby"))) == {"alone"}
    assert set(asked(with_member(entry, 1, gas="nitrox"))) == {f"oxygen.{pair[1].pk}"}


def test_work_longer_than_the_dive_is_asked(crew, entry):
    longer = replace(entry, tasks=(replace(entry.tasks[0], minutes=43),))

    assert len(asked(longer)) == 1


@pytest.mark.parametrize(
    ("left", "reached", "answer"),
    [
        ("09:30", "10:00", "two at once"),
        ("08:30", "09:06", "two at once"),
        ("08:30", None, "two at once"),
        ("09:10", "09:40", "two at once"),
        ("09:47", "10:20", "asked"),
        ("09:56", "10:20", "asked"),
        ("08:20", "08:58", "asked"),
        ("09:57", "10:30", "fine"),
        ("08:20", "08:55", "fine"),
        ("09:57", None, "fine"),
    ],
)
def test_a_diver_is_in_the_water_in_one_dive_at_a_time(crew, entry, day, left, reached, answer):
    log(entry)
    other = replace(
        entry,
        left_surface_at=at(left),
        reached_surface_at=at(reached) if reached else None,
        members=(
            MemberEntry(make_diver(day.season.site)),
            MemberEntry(entry.members[1].diver),
        ),
        tasks=(),
    )

    if answer == "two at once":
        with pytest.raises(Faults) as told:
            log(other)
        assert [place for place, _words in told.value.found] == ["members.1.diver"]
    elif answer == "asked":
        with pytest.raises(Unlikely):
            log(other)
    else:
        assert log(other).n == 2


def test_a_dive_under_way_holds_its_divers_until_it_surfaces(crew, entry, day):
    dive = log(replace(entry, reached_surface_at=None))
    later = replace(
        entry,
        left_surface_at=at("13:00"),
        reached_surface_at=at("13:40"),
        members=tuple(MemberEntry(member.diver) for member in entry.members),
        tasks=(),
    )
    earlier = replace(later, left_surface_at=at("07:00"), reached_surface_at=at("07:40"))

    with pytest.raises(Faults, match="NO is still down on dive 1, since 09:05"):
        log(later)
    log(earlier)
    surface(dive, at("09:47"))
    assert log(replace(later, members=tuple(MemberEntry(m.diver) for m in entry.members))).n == 3


def test_own_times_standby_and_voided_dives_leave_a_diver_free(crew, entry, day, pair):
    early_up = with_member(entry, 1, reached_surface_at=at("09:20"))
    dive = log(early_up)
    other = replace(
        entry,
        left_surface_at=at("09:31"),
        reached_surface_at=at("10:00"),
        members=(
            MemberEntry(pair[1]),
            MemberEntry(make_diver(day.season.site)),
            MemberEntry(pair[0], role="tender"),
        ),
        tasks=(),
    )
    assert log(other).n == 2

    lead = make_member(day.season.site, Role.LEAD).account
    with acting_as(lead):
        void_dive(dive, "logged twice")
    clash = replace(
        entry,
        left_surface_at=at("09:10"),
        reached_surface_at=at("09:20"),
        members=(MemberEntry(pair[0]), MemberEntry(make_diver(day.season.site))),
        tasks=(),
    )
    assert log(clash).n == 3


def test_an_edit_changes_only_what_differs_and_raises_the_version_once(crew, entry, pair):
    dive = log(entry)
    third = make_diver(dive.season.site, initials="KA")
    kept, gone = entry.members
    changed = replace(
        entry,
        visibility_m=7,
        members=(
            replace(kept, cylinders=(replace(kept.cylinders[0], bar_out=90),), narrative="Cold."),
            MemberEntry(third),
        ),
        tasks=(replace(entry.tasks[0], outcome="part"),),
    )

    edit_dive(dive, changed, 1)

    dive.refresh_from_db()
    assert dive.version == 2
    assert entry_of(dive).settled() == changed.settled()
    assert [state.entry.settled() for state in states(dive)] == [
        entry.settled(),
        changed.settled(),
    ]
    assert DiveMember.objects.get(pk=kept.id).version == 2
    assert not DiveMember.objects.filter(pk=gone.id).exists()
    assert DiveMember.history.filter(id=gone.id, history_type="-").count() == 1
    assert Cylinder.objects.filter(member__dive=dive).count() == 1
    assert DiveTask.objects.get(dive=dive).outcome == "part"


def test_history_tells_what_changed_in_the_words_of_the_form(crew, entry):
    dive = log(entry)
    changed = with_cylinder(replace(entry, visibility_m=7, tasks=entry.tasks[:1]), bar_out=90)
    edit_dive(dive, changed, 1)

    latest, first = dive_history(dive)

    assert (first.what, first.changes, latest.who) == ("made", [], crew.name)
    assert {(change.label, change.was, change.now) for change in latest.changes} == {
        ("visibility", "5 m", "7 m"),
        ("NO, cylinder 1: pressure out", "95 bar", "90 bar"),
        (
            "anchor, north of the grid",
            "anchor, north of the grid: other work, part done",
            "",
        ),
    }


def test_divers_swapped_between_two_rows_are_still_one_member_each(crew, entry, pair):
    dive = log(entry)
    one, two = entry.members
    swapped = replace(
        entry, members=(replace(one, diver=two.diver), replace(two, diver=one.diver, gas="nitrox"))
    )

    edit_dive(dive, with_member(swapped, 1, oxygen_percent=32.0), 1)

    rows = {row.diver_id: row for row in dive.members.prefetch_related("cylinders")}
    assert (rows[pair[0].pk].gas, rows[pair[1].pk].gas) == ("nitrox", "air")
    assert {len(row.cylinders.all()) for row in rows.values()} == {1}


def test_a_mistapped_diver_is_corrected_on_the_same_row(crew, entry):
    dive = log(entry)
    third = make_diver(dive.season.site)

    edit_dive(dive, with_member(entry, 1, diver=third), 1)

    assert DiveMember.objects.get(pk=entry.members[1].id).diver == third


def test_saving_without_a_change_writes_nothing(crew, entry):
    dive = log(entry)

    edit_dive(dive, entry, 1)

    assert Dive.history.count() == 1
    assert DiveMember.history.count() == 2


def test_a_stale_save_is_told_what_changed_and_overwrites_nothing(crew, entry):
    dive = log(entry)
    edit_dive(dive, replace(entry, visibility_m=7), 1)

    with pytest.raises(Stale):
        edit_dive(dive, replace(entry, remarks="Kelp."), 1)
    (change,) = changed_since(dive, 1)
    assert (change.label, change.was, change.now) == ("visibility", "5 m", "7 m")
    assert edit_dive(dive, replace(entry, visibility_m=7), 1).version == 2


def test_a_child_alone_makes_a_save_stale(crew, entry):
    dive = log(entry)
    edit_dive(dive, with_member(entry, 0, narrative="Saw a jar."), 1)

    with pytest.raises(Stale):
        edit_dive(dive, replace(entry, visibility_m=7), 1)


def test_a_voided_dive_keeps_its_number_and_takes_no_changes(crew, entry):
    dive = log(entry)
    with acting_as(make_member(dive.season.site, Role.LEAD).account):
        void_dive(dive, "logged twice")

    for write in (
        lambda: edit_dive(dive, replace(entry, visibility_m=7), 2),
        lambda: surface(dive, at("10:00")),
    ):
        with pytest.raises(Conflict):
            write()
    again = replace(
        entry,
        members=tuple(MemberEntry(member.diver) for member in entry.members),
        tasks=(),
    )
    assert log(again).n == 2
    assert dive_history(dive)[0].changes[-1].now == "logged twice"


def test_closed_fieldwork_takes_no_dive(crew, entry):
    entry.day.season.events.create(kind="fieldwork_closed", reason="done")

    with pytest.raises(Closed):
        log(entry)


def test_states_ask_the_same_number_of_queries_for_a_long_history(
    crew, entry, django_assert_num_queries
):
    dive = log(entry)
    for version in range(1, 5):
        edit_dive(dive, with_member(entry, 0, narrative=f"Note {version}."), version)

    with django_assert_num_queries(8):
        assert len(states(dive)) == 5


def test_rows_made_directly_stand_in_the_state_too(day):
    dive = make_dive(day)
    make_dive_member(dive, make_diver(day.season.site))

    assert len(entry_of(dive).members) == 1
