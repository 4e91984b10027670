"""The pages of diving: forms as browsers send them, what is seen by whom, how many queries."""

import datetime
import uuid
from dataclasses import replace

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from records.acting import acting_as
from records.local_time import to_the_minute
from records.models import Dive, DivingDay, Role
from records.queries.dive_changes import dive_history
from records.queries.dive_states import entry_of
from records.verbs.dive_entry import CylinderEntry, DiveEntry, MemberEntry, TaskEntry
from records.verbs.dives import edit_dive, log_dive
from tests.factory import (
    make_account,
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
from tests.factory_drawings import make_drawing

pytestmark = pytest.mark.django_db
ZONE = "Etc/GMT-2"  # two hours ahead of UTC all year
AHEAD = datetime.timedelta(hours=2)


@pytest.fixture
def now():
    return to_the_minute(timezone.now())


@pytest.fixture
def season(now):
    days = datetime.timedelta(days=5)
    today = (now + AHEAD).date()
    return make_season(zone=ZONE, starts_on=today - days, ends_on=today + days)


@pytest.fixture
def day(season):
    """Yesterday's: all its hours are gone by, whenever the tests run."""
    return make_day(season, date=season.today() - datetime.timedelta(days=1))


@pytest.fixture
def pair(season):
    return [make_diver(season.site, initials="NO"), make_diver(season.site, initials="JH")]


@pytest.fixture
def squares(season):
    """K7, L7, M7 of a grid, open in one stage."""
    grid = make_grid(season.site, code="P", first_column="K", first_row="7")
    stage = make_stage(season, name="as found")
    made = [make_square(grid, column) for column in range(3)]
    for square in made:
        make_goal(stage, square)
    return made


def signed_in(season, role=Role.CREW):
    client = Client()
    client.force_login(make_member(season.site, role).account, "records.sign_in.PasswordBackend")
    return client


@pytest.fixture
def crew(season):
    return signed_in(season)


def at(name, season, *more, query=""):
    return reverse(name, args=[season.code, *more]) + query


def rows(prefix, *every):
    told = {f"{prefix}-TOTAL_FORMS": len(every), f"{prefix}-INITIAL_FORMS": 0}
    for index, row in enumerate(every):
        row = {"id": uuid.uuid4(), **row}
        told |= {f"{prefix}-{index}-{name}": value for name, value in row.items()}
    return told


def member(index, diver, **more):
    bottle = {"size_l": "15", "bar_in": "210", "bar_out": "95"} | more.pop("bottle", {})
    bottles = rows(f"members-{index}-cylinders", bottle)
    return {"diver": diver.pk, "role": "diver", "gas": "air", **more}, bottles


def sent(day, pair, *tasks, **more):
    """The form of a dive from 09:05 to 09:47, as a browser sends it."""
    members = [member(index, diver) for index, diver in enumerate(pair)]
    told = {
        "id": uuid.uuid4(),
        "version": "0",
        "day": day.pk,
        "left_surface_at": "0905",
        "reached_surface_at": "9:47",
        "greatest_depth_m": "18,4",
        "visibility_m": "5",
        "water_temperature_c": "13.5",
        "purpose": "record",
        **rows("members", *(told for told, _bottles in members)),
        **rows("tasks", *tasks),
    }
    for _told, bottles in members:
        told |= bottles
    return told | more


def drawing(squares, **more):
    return {"squares": squares, "method": "drawing", "outcome": "done", "minutes": "36"} | more


def logged(crew, season, data, status=303):
    answer = crew.post(at("dive_new", season), data)
    assert answer.status_code == status, answer.content.decode()[:4000]
    return answer


def test_a_dive_logged_by_form_stands_as_typed_in_the_seasons_zone(
    crew, season, day, pair, squares
):
    data = sent(day, pair, drawing("k7"), remarks="Kelp.")
    data["members-1-left_surface_at"] = "09:10"
    data["members-1-narrative"] = "Saw a jar."

    answer = logged(crew, season, data)

    dive = Dive.objects.get()
    assert answer.url == at("dive", season, dive.pk)
    local = dive.left_surface_at.astimezone(season.tz)
    assert (local.date(), f"{local:%H:%M}") == (day.date, "09:05")
    entry = entry_of(dive)
    assert (entry.greatest_depth_m, entry.visibility_m, entry.remarks) == (18.4, 5.0, "Kelp.")
    assert {m.diver.initials for m in entry.members} == {"NO", "JH"}
    own = next(m for m in entry.members if m.diver == pair[1])
    assert own.left_surface_at - entry.left_surface_at == datetime.timedelta(minutes=5)
    assert own.cylinders[0].bar_out == 95
    (task,) = entry.tasks
    assert (task.square, str(task.stage), task.minutes) == (squares[0], "as found", 36)


def test_the_same_form_sent_again_is_the_same_dive_and_other_content_is_asked_about(
    crew, season, day, pair
):
    data = sent(day, pair)
    logged(crew, season, data)

    again = logged(crew, season, data)
    other = logged(crew, season, data | {"visibility_m": "7"}, status=409)
    knowingly = logged(crew, season, data | {"visibility_m": "7", "version": "1"})

    dive = Dive.objects.get()
    assert again.url == knowingly.url == at("dive", season, dive.pk)
    assert 'name="version" value="1"' in other.content.decode()
    assert dive.visibility_m == 7


def test_a_logged_dive_leads_on_to_its_card_and_drawings_until_they_are_in(
    crew, season, day, pair, squares
):
    work = drawing("K7"), drawing("L7", method="photographs", outcome="part")
    logged(crew, season, sent(day, pair, *work))
    dive = Dive.objects.get()
    card, sheet = at("card_new", season, query=f"?dive={dive.pk}"), at("drawing_new", season)
    page = crew.get(at("dive", season, dive.pk)).content.decode()
    assert f'href="{card}"' in page
    assert f'href="{sheet}?dive={dive.n}"' in page

    make_drawing(season, dive=dive)
    page = crew.get(at("dive", season, dive.pk)).content.decode()
    assert f'href="{card}"' in page
    assert sheet not in page


def test_the_diving_days_stand_the_latest_first(crew, season):
    for ago in (3, 1, 5, 2, 4):
        make_day(season, date=season.today() - datetime.timedelta(days=ago))

    dates = [day.date for day in crew.get(at("days", season)).context["days"]]
    assert dates == sorted(dates, reverse=True)


def test_a_dive_under_way_leads_back_to_the_shed_and_surfaces_there(
    crew, season, pair, squares, now
):
    today = make_day(season, date=season.today())
    early = now - datetime.timedelta(minutes=30)
    if season.local(early).date() != today.date:
        pytest.skip("half an hour after the season's midnight")
    clock = f"{season.local(early):%H:%M}"
    data = sent(today, pair, drawing("K7", outcome="", minutes=""), left_surface_at=clock)
    data["reached_surface_at"] = ""
    answer = logged(crew, season, data)
    dive = Dive.objects.get()
    assert answer.url == at("shed", season)
    assert dive.tasks.get().outcome == "not_started"
    assert "NO, JH under water" in crew.get(answer.url).content.decode()

    answer = crew.post(at("dive_surface", season, dive.pk))

    dive.refresh_from_db()
    assert (answer.status_code, answer.url) == (303, at("dive_edit", season, dive.pk))
    assert now <= dive.reached_surface_at <= now + datetime.timedelta(minutes=2)


def test_a_surfacing_time_may_be_typed_and_a_doubtful_one_is_asked(crew, season, day, pair):
    data = sent(day, pair, reached_surface_at="", greatest_depth_m="")
    logged(crew, season, data)
    dive = Dive.objects.get()

    asked = crew.post(at("dive_surface", season, dive.pk), {"at": "11:30"})
    name, question = "answer_duration", "From leaving to reaching the surface are 145 min."
    assert (asked.status_code, question in asked.content.decode()) == (422, True)
    answer = crew.post(at("dive_surface", season, dive.pk), {"at": "11:30", name: question})

    dive.refresh_from_db()
    assert answer.status_code == 303
    assert dive.duration == datetime.timedelta(minutes=145)
    assert dive.answers["duration"]["question"] == question


def test_a_dive_may_pass_midnight(crew, season, pair):
    """Of a day whose midnight lies a day back, so that the tests may run at any hour."""
    day = make_day(season, date=season.today() - datetime.timedelta(days=2))
    logged(crew, season, sent(day, pair, left_surface_at="23:50", reached_surface_at="0:20"))

    assert Dive.objects.get().duration == datetime.timedelta(minutes=30)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"reached_surface_at": "09:00"}, "reached the surface before it left it"),
        ({"left_surface_at": ""}, "or tap Now"),
        ({"left_surface_at": "25:10"}, "hours and minutes"),
        ({"purpose": ""}, "Choose what the dive was for"),
        ({"greatest_depth_m": "deep"}, "Give a number in metres"),
        ({"members-0-cylinders-0-bar_out": "230"}, "cannot come back fuller"),
        ({"members-0-cylinders-0-size_l": ""}, "Give the size of the cylinder"),
        ({"members-0-diver": ""}, "Choose the diver of this row"),
        ({"members-1-greatest_depth_m": "20"}, "Nobody can have been deeper"),
        ({"members-1-reached_surface_at": "10:00"}, "this lies outside it"),
        ({"tasks-0-squares": "Z99"}, "is no square of this site"),
        ({"tasks-0-outcome": ""}, "Say how it went"),
        ({"tasks-0-squares": ""}, "Name the square, or say in words where it was"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_what_was_typed_stays(
    crew, season, day, pair, squares, change, words
):
    data = sent(day, pair, drawing("K7"), remarks="Long story.") | change

    page = logged(crew, season, data, status=422).content.decode()

    assert words in page
    assert "Long story." in page
    assert str(data["id"]) in page
    assert Dive.objects.count() == 0


def test_all_that_is_wrong_is_said_at_once(crew, season, day, pair, squares):
    work = drawing("Z99", outcome="")
    data = sent(day, pair, work, purpose="", reached_surface_at="09:00")
    data |= {
        "members-0-diver": "",
        "members-1-cylinders-0-bar_out": "230",
        "visibility_m": "far",
    }

    page = logged(crew, season, data, status=422).content.decode()

    for words in (
        "Choose what the dive was for",
        "reached the surface before it left it",
        "Choose the diver of this row",
        "cannot come back fuller",
        "Give a number in metres",
        "is no square of this site",
    ):
        assert words in page, words
    for follows in ("Name at least one diver", "cannot be blank", "say in words where it was"):
        assert follows not in page, follows


def test_the_same_diver_twice_is_said_at_both_rows(crew, season, day, pair):
    page = logged(crew, season, sent(day, [pair[0], pair[0]]), status=422).content.decode()

    assert page.count('id="id_members-0-diver_error"') == 1
    assert page.count('id="id_members-1-diver_error"') == 1


def test_blank_rows_and_rows_taken_out_count_for_nothing(crew, season, day, pair, squares):
    third = make_diver(season.site)
    data = sent(day, [*pair, third], drawing("K7"), drawing("L7"), {"method": ""})
    data |= {"members-2-DELETE": "on", "tasks-1-DELETE": "on", "members-2-gas": "nonsense"}

    logged(crew, season, data)

    dive = Dive.objects.get()
    assert (dive.members.count(), dive.tasks.count()) == (2, 1)


def test_one_row_of_work_may_name_many_squares_and_share_its_minutes(
    crew, season, day, pair, squares
):
    logged(crew, season, sent(day, pair, drawing("K7–M7", minutes="20")))

    dive = Dive.objects.get()
    tasks = dive.tasks.order_by("square__column")
    assert [(task.square, task.minutes) for task in tasks] == [
        (squares[0], 7),
        (squares[1], 7),
        (squares[2], 6),
    ]
    page = crew.get(at("dive_edit", season, dive.pk)).content.decode()
    assert 'value="K7 L7 M7"' in page
    assert 'name="tasks-0-minutes" value="20"' in page


def test_editing_without_a_change_changes_nothing(crew, season, day, pair, squares):
    logged(
        crew,
        season,
        sent(
            day,
            pair,
            drawing("K7 L7"),
            drawing("M7", outcome="part", minutes="3"),
            {"where_in_words": "anchor", "method": "other", "outcome": "done"},
        ),
    )
    dive = Dive.objects.get()

    answer = crew.post(at("dive_edit", season, dive.pk), as_shown(crew, season, dive))

    dive.refresh_from_db()
    assert (answer.status_code, dive.version, dive.tasks.count()) == (303, 1, 4), [
        vars(change) for change in dive_history(dive)[0].changes
    ]


def as_shown(client, season, dive):
    """The edit form's own values, as a browser would send them back."""
    sheet = client.get(at("dive_edit", season, dive.pk)).context["sheet"]
    with timezone.override(season.tz):
        return values_of(sheet)


def values_of(sheet):
    forms = [sheet.form, *sheet.rows]
    told = {}
    sets = [sheet.members, sheet.tasks, *(row.cylinders for row in sheet.members)]
    for one in [*forms, *(rows.management_form for rows in sets)]:
        for field in one:
            value = field.value()
            shown = getattr(value, "pk", value)
            if isinstance(shown, datetime.time):
                shown = f"{shown:%H:%M}"
            told[field.html_name] = "" if shown is None else str(shown)
    return told


def test_an_edit_changes_one_value_and_history_tells_it(crew, season, day, pair):
    logged(crew, season, sent(day, pair))
    dive = Dive.objects.get()

    data = as_shown(crew, season, dive) | {"visibility_m": "7"}
    crew.post(at("dive_edit", season, dive.pk), data)

    page = crew.get(at("dive", season, dive.pk)).content.decode()
    assert "<del>5 m</del>" in page
    assert "<ins>7 m</ins>" in page


def test_a_stale_edit_shows_what_changed_and_can_be_saved_knowingly(crew, season, day, pair):
    logged(crew, season, sent(day, pair))
    dive = Dive.objects.get()
    mine = as_shown(crew, season, dive) | {"remarks": "Mine."}
    with acting_as(make_member(season.site).account):
        edit_dive(dive, replace(entry_of(dive), visibility_m=7), 1)

    answer = crew.post(at("dive_edit", season, dive.pk), mine)

    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Mine." in page
    assert "<td>5 m</td><td>7 m</td>" in page
    assert crew.post(at("dive_edit", season, dive.pk), mine | {"version": "2"}).status_code == 303
    dive.refresh_from_db()
    assert (dive.remarks, dive.version) == ("Mine.", 3)


def test_a_link_from_the_plan_brings_its_square_along(crew, season, day, squares):
    for told in ("L7", squares[1].pk):
        query = f"?day={day.pk}&square={told}&stage={squares[1].goals.get().stage_id}"
        row = crew.get(at("dive_new", season, query=query)).context["sheet"].tasks[0]
        assert row["squares"].value() == "L7"
        assert row["stage"].value() == squares[1].goals.get().stage_id


def test_the_last_team_is_offered_and_only_filled_in_on_request(crew, season, day, pair):
    logged(crew, season, sent(day, pair))
    dive = Dive.objects.get()
    query = f"?day={day.pk}"
    plain = crew.get(at("dive_new", season, query=query))
    assert "Same team as dive 1: NO, JH" in plain.content.decode()
    assert not any(row["diver"].value() for row in plain.context["sheet"].members)

    offered = crew.get(at("dive_new", season, query=f"{query}&same_team={dive.pk}"))

    rows = list(offered.context["sheet"].members)[:2]
    assert [row["diver"].value() for row in rows] == [diver.pk for diver in pair]
    assert [row.cylinders[0]["size_l"].value() for row in rows] == [15, 15]
    assert [row.cylinders[0]["bar_in"].value() for row in rows] == [None, None]


def test_without_an_open_day_the_day_comes_first(crew, season):
    answer = crew.get(at("dive_new", season))

    assert answer.url == at("day_new", season, query="?then=dive")


def test_an_hour_that_the_clocks_repeat_is_asked(crew):
    """Lisbon, 26 October 2025: 01:30 came twice."""
    season = make_season(starts_on="2025-10-01", ends_on="2025-10-31")
    season.refresh_from_db()
    here = signed_in(season)
    day = make_day(season, date=datetime.date(2025, 10, 26))
    pair = [make_diver(season.site), make_diver(season.site)]
    data = sent(day, pair, left_surface_at="01:30", reached_surface_at="02:10")

    asked = logged(here, season, data, status=422).content.decode()
    assert "showed this time twice" in asked
    assert 'name="left_hour"' in asked
    logged(here, season, data | {"left_hour": "second"})

    assert Dive.objects.get().duration == datetime.timedelta(minutes=40)


def test_an_hour_that_the_clocks_skip_is_refused(crew):
    season = make_season(starts_on="2025-03-01", ends_on="2025-03-31")
    season.refresh_from_db()
    day = make_day(season, date=datetime.date(2025, 3, 30))
    pair = [make_diver(season.site), make_diver(season.site)]
    data = sent(day, pair, left_surface_at="01:30", reached_surface_at="02:10")

    page = logged(signed_in(season), season, data, status=422).content.decode()

    assert "it was never shown" in page


def test_leaving_the_squares_field_tells_what_is_wanted_there(crew, season, squares):
    doubts = {}

    def told(text):
        query = {"tasks-0-squares": text}
        answer = crew.get(at("dive_squares", season), query)
        doubts[text] = answer.headers.get("X-Told") == "doubt"
        return answer.content.decode()

    assert told("K7") == "K7: drawing wanted; photographs wanted (as found)."
    assert told("Q1").startswith("“Q1” is no square of this site.")
    assert told("") == ""
    make_square(squares[0].grid, 5, 5)
    assert told("P12").startswith("Not open in any stage: P12.")
    assert doubts == {"K7": False, "Q1": True, "": False, "P12": True}


def opened(season, **more):
    return {
        "id": uuid.uuid4(),
        "version": "0",
        "date": season.today(),
        "vessel": "Gannet",
        "place": "over the anchor",
        "contractor": "Own team",
        **rows("supervisors", {"name": "Ana Reis", "from_time": "8:00"}),
    } | more


def test_a_day_opens_once_and_leads_on(crew, season):
    data = opened(season)

    answer = crew.post(at("day_new", season, query="?then=dive"), data)

    day = DivingDay.objects.get()
    assert answer.url == at("dive_new", season, query=f"?day={day.pk}")
    assert crew.post(at("day_new", season), data).url == at("shed", season)
    again = crew.post(at("day_new", season), opened(season))
    assert again.status_code == 422
    assert "is open already" in again.content.decode()
    assert str(day.supervisors.get().from_time) == "08:00:00"


def test_yesterdays_operation_is_offered_and_only_filled_in_on_request(crew, season):
    yesterday = season.today() - datetime.timedelta(days=1)
    crew.post(at("day_new", season), opened(season, date=yesterday, weather="rain"))

    plain = crew.get(at("day_new", season)).context["sheet"].form
    assert plain["vessel"].value() is None

    sheet = crew.get(at("day_new", season, query="?same_operation=yes")).context["sheet"]
    assert sheet.form["vessel"].value() == "Gannet"
    assert sheet.form["weather"].value() is None
    assert next(iter(sheet.supervisors))["name"].value() == "Ana Reis"


def test_readers_see_no_place_and_no_personal_data(season, day, pair, crew):
    day.place = "61.2 N 5.1 E"
    day.diary = "Ana was sick."
    day.save()
    data = sent(day, pair, {"where_in_words": "by the cave", "method": "other", "outcome": "done"})
    data |= {"members-0-narrative": "I felt cold.", "remarks": "JH overslept."}
    logged(crew, season, data)
    dive = Dive.objects.get()
    reader = signed_in(season, Role.READER)
    secret = [
        "61.2",
        "sick",
        "felt cold",
        "overslept",
        "by the cave",
        "210 bar",
        "NO, JH",
        pair[0].name,
        dive.made_by.name,
    ]
    for address in (
        at("dive", season, dive.pk),
        at("day", season, day.pk),
        at("dives", season),
        at("days", season),
        at("shed", season),
    ):
        page = reader.get(address).content.decode()
        assert [words for words in secret if words in page] == [], address
    assert "2 people, " in reader.get(at("dive", season, dive.pk)).content.decode()
    seen = crew.get(at("dive", season, dive.pk)).content.decode()
    assert [words for words in ("felt cold", "overslept", "by the cave") if words not in seen] == []
    assert "61.2" in crew.get(at("day", season, day.pk)).content.decode()


def test_a_lead_voids_a_dive_with_a_reason(season, day, pair, crew):
    logged(crew, season, sent(day, pair))
    dive = Dive.objects.get()
    lead = signed_in(season, Role.LEAD)

    assert crew.post(at("dive_void", season, dive.pk), {"reason": "twice"}).status_code == 403
    assert lead.post(at("dive_void", season, dive.pk), {"reason": " "}).status_code == 422
    answer = lead.post(at("dive_void", season, dive.pk), {"reason": "Logged twice."})

    assert answer.url == at("dive", season, dive.pk)
    assert "Logged twice." in lead.get(answer.url).content.decode()
    assert crew.get(at("dive_edit", season, dive.pk)).status_code == 404
    assert '<tr class="void">' in crew.get(at("dives", season)).content.decode()


def test_another_sites_dive_and_day_are_not_found(crew, season, day):
    dive = make_dive(make_day(make_season()))

    for name, key in (("dive", dive.pk), ("dive_edit", dive.pk), ("day", dive.day_id)):
        assert crew.get(at(name, season, key)).status_code == 404


def test_the_register_filters_by_day_diver_and_square(crew, season, day, pair, squares):
    logged(crew, season, sent(day, pair, drawing("K7")))
    other = make_day(season, date=season.starts_on)
    make_dive_member(make_dive(other), pair[1])

    def numbers(**query):
        return [line.dive.n for line in crew.get(at("dives", season), query).context["lines"]]

    assert numbers() == [2, 1]
    assert numbers(day=day.pk) == [1]
    assert numbers(diver=pair[0].pk) == [1]
    assert numbers(diver=pair[1].pk) == [2, 1]
    assert numbers(squares="K7") == [1]
    assert numbers(squares="L7") == []
    assert numbers(squares="nonsense") == [2, 1]


def many_dives(season, day, squares, count):
    """Full dives at six-hour steps into the past, each with two divers and two squares."""
    stage = squares[0].goals.get().stage
    with acting_as(make_member(season.site).account):
        for _n in range(count):
            pair = [make_diver(season.site), make_diver(season.site)]
            left = season.local().replace(hour=9, minute=5, second=0, microsecond=0)
            left = left.replace(year=day.date.year, month=day.date.month, day=day.date.day)
            log_dive(
                season,
                DiveEntry(
                    day=day,
                    left_surface_at=left,
                    reached_surface_at=left + datetime.timedelta(minutes=40),
                    members=tuple(
                        MemberEntry(diver, gas="air", cylinders=(CylinderEntry(15, 200, 90),))
                        for diver in pair
                    ),
                    tasks=tuple(
                        TaskEntry("drawing", "done", square, stage) for square in squares[:2]
                    ),
                ),
                uuid.uuid4(),
            )


def test_lists_ask_as_many_queries_for_eight_dives_as_for_two(
    crew, season, day, squares, monkeypatch
):
    """The day counts as today, so that the shed page shows its dives."""
    monkeypatch.setattr("records.models.Season.today", lambda season: day.date)
    most = {"dives": 12, "shed": 30, "days": 6}
    asked = []
    for count in (2, 6):
        many_dives(season, day, squares, count)
        asked.append({})
        for name in most:
            with CaptureQueriesContext(connection) as queries:
                crew.get(at(name, season))
            asked[-1][name] = len(queries)

    assert asked[0] == asked[1]
    assert {name: n for name, n in asked[0].items() if n > most[name]} == {}


def test_a_visitor_without_membership_finds_nothing(season, day):
    client = Client()
    client.force_login(make_account(), "records.sign_in.PasswordBackend")

    assert client.get(at("shed", season)).status_code == 404


def test_a_closed_season_says_so_before_anybody_types(crew, season, day, pair, squares):
    logged(crew, season, sent(day, pair, drawing("K7")))
    dive = Dive.objects.get()
    assert at("dive_new", season) in crew.get(at("day", season, day.pk)).content.decode()
    shown = as_shown(crew, season, dive) | {"remarks": "Typed before."}
    season.events.create(kind="fieldwork_closed", reason="done")

    for name, *keys in (
        ("dive_new",),
        ("day_new",),
        ("dive_edit", dive.pk),
        ("day_edit", day.pk),
        ("dive_surface", dive.pk),
    ):
        answer = crew.get(at(name, season, *keys))
        assert (answer.status_code, "closed" in answer.content.decode()) == (409, True), name
    for name, *keys in (("shed",), ("day", day.pk), ("dive", dive.pk), ("days",)):
        page = crew.get(at(name, season, *keys)).content.decode()
        assert at("dive_new", season) not in page
        assert at("day_new", season) not in page
        assert at("dive_edit", season, dive.pk) not in page
    answer = crew.post(at("dive_edit", season, dive.pk), shown)
    assert (answer.status_code, "Typed before." in answer.content.decode()) == (409, True)
