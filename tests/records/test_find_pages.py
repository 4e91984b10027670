"""The pages of finds: forms as browsers send them, who sees what, how many queries."""

import csv
import datetime
import io
import re
from uuid import uuid4

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.acting import acting_as
from records.archive.printing import print_name
from records.archive.registers import REGISTERS
from records.models import (
    Find,
    FindPicture,
    Fix,
    Photograph,
    Picture,
    Restriction,
    Role,
    SeasonEvent,
)
from records.verbs.find_entry import FindEntry, FixEntry
from records.verbs.find_pictures import ShotEntry, add_find_picture
from records.verbs.finds import register_find, void_find
from records.verbs.fixes import fix_by_offsets
from tests.factory import (
    make_block,
    make_day,
    make_dive,
    make_dive_member,
    make_diver,
    make_goal,
    make_grid,
    make_job,
    make_member,
    make_season,
    make_square,
    make_stage,
)
from tests.factory_pictures import make_picture
from tests.made_files import jpeg
from tests.records.walking import every_url

pytestmark = pytest.mark.django_db
BONES = "thighbone"


@pytest.fixture
def season():
    begins = datetime.date(2021, 6, 10)
    return make_season(
        starts_on=begins,
        ends_on=begins + datetime.timedelta(days=20),
        tell_human_remains="Ines Duarte, police liaison",
    )


@pytest.fixture
def goal(season):
    grid = make_grid(season.site)
    return make_goal(make_stage(season, name="as found"), make_square(grid, 10, 6))


@pytest.fixture
def come(season, client):
    """Sign in with a role of the site."""

    def signed_in(role):
        member = make_member(season.site, role)
        client.force_login(member.account, backend="records.sign_in.PasswordBackend")
        return member.account

    return signed_in


@pytest.fixture
def look(season, client):
    def get(name, *args, query="", **headers):
        return client.get(reverse(name, args=[season.code, *args]) + query, headers=headers)

    return get


@pytest.fixture
def send(season, client):
    def post(name, *args, **said):
        return client.post(reverse(name, args=[season.code, *args]), said)

    return post


@pytest.fixture
def lead(season):
    return make_member(season.site, Role.LEAD).account


@pytest.fixture
def entry(season, goal):
    return FindEntry("jar", season.starts_on, square=goal.square, stage=goal.stage)


def a_find(season, account, **said):
    with acting_as(account):
        return register_find(season, FindEntry(**said), uuid4())


def typed(season, **said):
    return {
        "id": uuid4(),
        "version": 0,
        "object_name": "jar",
        "square": "K7",
        "found_on": season.starts_on,
        "whereabouts": "in_place",
        "count": "1",
    } | said


def test_the_finds_place_begins_with_its_answer(season, come, look, lead, entry):
    come(Role.CREW)
    assert "No find is registered yet." in look("finds").content.decode()
    with acting_as(lead):
        register_find(season, entry, uuid4())

    assert "1 find; 1 on a square still wants its position." in look("finds").content.decode()


def test_a_find_is_registered_on_its_present_stage_and_asked_for_its_position(
    season, goal, come, send
):
    come(Role.CREW)

    answer = send("find_register", **typed(season, length_mm="120", weight_g="1,5"))

    find = Find.objects.get()
    assert answer.status_code == 303
    assert answer.url == reverse("find_fix", args=[season.code, find.pk])
    assert (find.square, find.stage, find.length_mm, find.weight_g) == (
        goal.square,
        goal.stage,
        120,
        1.5,
    )


def test_a_name_that_the_list_lacks_is_said_in_words(season, goal, come, send):
    come(Role.CREW)

    send("find_register", **typed(season, object_name="-", other_name="bung"))

    assert Find.objects.get().object_name == "bung"
    both = send("find_register", **typed(season, other_name="bung"))
    assert "not both" in both.content.decode()
    neither = send("find_register", **typed(season, object_name=""))
    assert neither.status_code == 422
    assert Find.objects.count() == 1


def test_a_tag_out_of_a_block_is_offered_and_used(season, goal, come, look, send):
    make_block(season, first=201, last=220, given_to="pair 3")
    come(Role.CREW)
    assert "201–220 (pair 3)" in look("find_register").content.decode()

    send("find_register", **typed(season, tag="205"))

    assert Find.objects.get().n == 205
    again = send("find_register", **typed(season, tag="205"))
    assert "205 has ended already" in again.content.decode()


def test_what_is_unlikely_is_asked_once(season, goal, come, send):
    come(Role.CREW)
    asked = send("find_register", **typed(season, count="1000"))
    assert asked.status_code == 422
    words = "1000 pieces are very many."
    assert words in asked.content.decode()

    send("find_register", **typed(season, count="1000", answer_count=words))

    assert Find.objects.get().answers["count"]["question"] == words


def test_a_link_brings_square_and_dive_along(season, goal, come, look):
    dive = make_dive(make_day(season, date=season.starts_on))
    diver = make_diver(season.site)
    make_dive_member(dive, diver)
    come(Role.CREW)

    question = look("find_new", query=f"?square=K7&dive={dive.n}").content.decode()
    assert f"finds/new/form?square=K7&amp;dive={dive.n}" in question

    form = look("find_register", query=f"?square=K7&dive={dive.pk}").content.decode()
    assert 'value="K7"' in form
    assert f'value="{season.starts_on.isoformat()}"' in form
    assert look("find_register", query="?dive=nonsense&stage=nonsense").status_code == 200


def test_an_edit_keeps_what_stands_and_tells_what_others_changed(
    season, goal, come, look, send, entry, client
):
    mine = come(Role.CREW)
    find = a_find(season, mine, **entry.__dict__ | {"object_name": "bung"})
    goal.delete()  # closed since: the find may stay where it was
    shown = look("find_edit", find.pk).content.decode()
    assert 'value="bung"' in shown

    said = typed(season, object_name="-", other_name="bung", version=1, material="oak")
    assert send("find_edit", find.pk, **said).status_code == 303
    stale = send("find_edit", find.pk, **said | {"material": "elm"})

    find.refresh_from_db()
    assert (stale.status_code, find.material, find.stage) == (409, "oak", goal.stage)
    assert "oak" in stale.content.decode()


def test_offsets_give_the_position_and_a_little_outside_is_asked(
    season, goal, come, look, send, entry
):
    find = a_find(season, come(Role.CREW), **entry.__dict__)
    said = {"id": uuid4(), "version": 1, "offset_y_m": "0,55", "depth_m": "18.3", "sure": "0.02"}

    assert "RMS; Green, Maritime Archaeology" in look("find_fix", find.pk).content.decode()
    assert send("find_fix", find.pk, **said, offset_x_m="1.04").status_code == 422
    assert send("find_fix", find.pk, **said, offset_x_m="0.42").status_code == 303

    fix = Fix.objects.get()
    assert (fix.x_m, fix.y_m, fix.sigma_m) == pytest.approx((10.42, 6.55, 0.02))
    text = look("find", find.pk).content.decode()
    assert "Jar on K7 at x 0.42 m, y 0.55 m, in place." in text
    assert "position: x 0.42 m, y 0.55 m, depth 18.3 m, σ 0.02 m" in text  # its history


def test_another_sigma_is_typed(season, goal, come, send, entry):
    find = a_find(season, come(Role.CREW), **entry.__dict__)
    said = {"id": uuid4(), "version": 1, "offset_x_m": "0.4", "offset_y_m": "0.5", "sure": "-"}

    assert send("find_fix", find.pk, **said).status_code == 422
    assert send("find_fix", find.pk, **said, sigma_m="0.15").status_code == 303
    assert Fix.objects.get().sigma_m == 0.15


@pytest.fixture
def own_files(settings, tmp_path):
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "records.intake.storage.DurableStorage",
            "OPTIONS": {"location": str(tmp_path)},
        },
    }


def test_pictures_are_kept_each_for_itself(season, goal, come, look, send, entry, own_files):
    find = a_find(season, come(Role.CREW), **entry.__dict__)
    files = [
        SimpleUploadedFile("one.jpg", jpeg(seed=1)),
        SimpleUploadedFile("torn.jpg", jpeg(seed=2)[:300]),
        SimpleUploadedFile("two.jpg", jpeg(seed=3)),
    ]

    answer = send("find_pictures", find.pk, pictures=files, facing="north")

    assert answer.status_code == 422
    assert "torn.jpg" in answer.content.decode()
    assert "2 pictures are kept." in answer.content.decode()
    assert [one.facing for one in Photograph.objects.all()] == ["north", "north"]
    assert f"{season.code}-photo-2" in look("find", find.pk).content.decode()

    link = FindPicture.objects.order_by("made_at").first()
    assert send("find_picture_away", find.pk, link.pk, reason="another jar").status_code == 303
    assert f"{season.code}-photo-1\n" not in look("find", find.pk).content.decode()


def test_without_a_file_nothing_happens(season, goal, come, send, entry, own_files):
    find = a_find(season, come(Role.CREW), **entry.__dict__)

    answer = send("find_pictures", find.pk)

    assert answer.status_code == 422
    assert "Choose a picture" in answer.content.decode()
    assert not Picture.objects.exists()


def test_search_finds_by_word_number_and_square(season, goal, come, look, lead, entry):
    a_find(season, lead, **entry.__dict__ | {"material": "Öltonne"})
    a_find(season, lead, object_name="anchor", found_on=entry.found_on, where_in_words="far north")
    come(Role.CREW)

    def found(query):
        return {n for n in (1, 2) if f"find-{n}<" in look("finds", query=query).content.decode()}

    assert found("?q=öLTONNE") == {1}
    assert found("?q=k7") == {1}
    assert found("?q=north") == {2}
    assert found("?q=jar+anchor") == set()
    assert found("?only=no-position") == {1}
    assert found("?only=nonsense") == {1, 2}
    come(Role.READER)
    assert found("?q=north") == set()


def test_readers_see_the_find_and_no_person_no_place_and_no_button(
    season, goal, come, look, lead, entry
):
    diver = make_diver(season.site, name="Secretdiver", initials="QX")
    find = a_find(season, lead, **entry.__dict__ | {"found_by": diver})
    with acting_as(lead):
        fix_by_offsets(find, FixEntry(0.42, 0.55, None, 0.02))
    come(Role.READER)

    text = look("find", find.pk).content.decode() + look("finds").content.decode()

    assert "x 0.42 m, y 0.55 m" in text
    assert not re.search(r"\bQX\b", text)  # a form's token may hold the letters
    for secret in ("Secretdiver", "On the site", "History", lead.name, "Edit", "Register a"):
        assert secret not in text


def test_after_fieldwork_only_what_may_be_said_is_offered(
    season, goal, come, look, send, lead, entry
):
    find = a_find(season, lead, **entry.__dict__)
    SeasonEvent.objects.create(season=season, kind="fieldwork_closed", reason="done")
    come(Role.CREW)

    text = look("find", find.pk).content.decode()
    assert "Edit the find" in text
    assert "Give its position" not in text
    assert "Register a find" not in look("finds").content.decode()
    assert send("find_register", **typed(season)).status_code == 409
    stop = look("find_stop", "human_remains").content.decode()
    assert "Ines Duarte" in stop
    assert "Save the report" not in stop


def test_queries_do_not_grow_with_the_finds(season, goal, come, look, lead, entry):
    def register(count):
        with acting_as(lead):
            for _again in range(count):
                find = register_find(season, entry, uuid4())
                fix_by_offsets(find, FixEntry(0.42, 0.55, None, 0.02))
                for _picture in range(2):
                    add_find_picture(find, make_picture(season.site))
        return find

    def asked(name, *keys):
        with CaptureQueriesContext(connection) as caught:
            assert look(name, *keys).status_code == 200
        return len(caught)

    first = register(2)
    come(Role.LEAD)
    few = {"finds": asked("finds"), "find": asked("find", first.pk)}
    last = register(4)

    assert {"finds": asked("finds"), "find": asked("find", last.pk)} == few
    assert max(few.values()) <= 24


class TestStop:
    def test_it_says_stop_leave_tell_whom_the_season_names(self, season, goal, come, look):
        come(Role.CREW)

        text = look("find_stop", "human_remains", query="?square=K7").content.decode()

        for words in ("Stop.", "Leave it where it lies.", "Ines Duarte", "Local regulations"):
            assert words in text
        assert 'value="K7"' in text

    def test_it_says_to_those_only_who_will_not_see_it_that_they_will_not(self, goal, come, look):
        for role, is_told in ((Role.CREW, True), (Role.LEAD, False)):
            come(role)
            text = look("find_stop", "ordnance").content.decode()
            assert ("it is not shown to you again" in text) == is_told, role

    def test_where_nobody_is_named_it_says_so(self, season, goal, come, look):
        come(Role.CREW)

        text = look("find_stop", "ordnance").content.decode()

        assert "Keep everybody away from it" in text
        assert "nobody is named for this season" in text
        assert "Tell the diving supervisor and the director." in text
        assert look("find_stop", "jars").status_code == 404

    def test_the_reporter_is_led_away_from_the_record(self, season, goal, come, look, send):
        come(Role.CREW)
        said = {"id": uuid4(), "square": "K7", "found_on": season.starts_on, "description": BONES}

        answer = send("find_stop", "human_remains", **said)

        find = Find.objects.get()
        assert answer.status_code == 303
        assert answer.url == reverse("find_told", args=[season.code, "human_remains"])
        assert find.restriction == Restriction.HUMAN_REMAINS
        told = look("find_told", "human_remains").content.decode()
        assert "Ines Duarte" in told
        assert find.number not in told
        again = send("find_stop", "human_remains", **said)  # the tablet sends it twice
        assert again.status_code == 303
        assert Find.objects.count() == 1

    def test_lifting_is_not_offered(self, season, goal, come, look):
        come(Role.CREW)

        assert "lifted" not in look("find_stop", "ordnance").content.decode()

    def test_a_find_may_turn_out_to_be_one_and_a_lead_may_clear_it(
        self, season, goal, come, look, send, entry
    ):
        find = a_find(season, come(Role.CREW), **entry.__dict__)
        send("find_restrict", find.pk, restriction="ordnance")
        assert look("find", find.pk).status_code == 404
        come(Role.LEAD)
        assert send("find_restrict", find.pk, restriction="none").status_code == 422
        send("find_restrict", find.pk, restriction="none", reason="a pipe, says the navy")

        come(Role.CREW)
        assert look("find", find.pk).status_code == 200


@pytest.fixture
def bones(season, goal, lead):
    """A restricted find with position and photograph, and an ordinary one beside it."""
    lies = {"square": goal.square, "stage": goal.stage, "found_on": season.starts_on}
    a_find(season, lead, object_name="jar", **lies)
    find = a_find(
        season,
        lead,
        object_name=BONES,
        description=BONES,
        material=BONES,
        restriction=Restriction.HUMAN_REMAINS,
        **lies,
    )
    with acting_as(lead):
        fix_by_offsets(find, FixEntry(0.42, 0.55, 12.0, 0.02))
        picture = make_picture(season.site, caption=BONES, original_name=f"{BONES}.jpg")
        add_find_picture(find, picture, ShotEntry(subject=BONES))
    return find


class TestRestrictedFindsAreForLeads:
    """By any URL, list, search, CSV, count, plan, picture or history."""

    @pytest.mark.parametrize("role", [Role.READER, Role.CREW])
    def test_no_url_of_the_find_or_its_picture_answers(self, bones, season, come, client, role):
        come(role)
        link = bones.pictures.get()
        named = {"season_code": season.code, "find_id": bones.pk, "link_id": link.pk}
        named |= {"picture_id": link.picture_id, "recipe": "screen"}
        asked = 0
        for pattern in every_url():
            needed = pattern.pattern.converters
            if not {"find_id", "picture_id"} & set(needed):
                continue
            if not set(needed) <= set(named):
                continue
            asked += 1
            url = reverse(pattern.name, kwargs={name: named[name] for name in needed})
            for answer in (client.get(url), client.post(url, {"reason": "x"})):
                assert answer.status_code in {403, 404, 405}, url
                assert BONES not in answer.content.decode(), url
        assert asked >= 10
        assert FindPicture.objects.standing().count() == 1

    @pytest.mark.parametrize(("role", "seen"), [(Role.CREW, False), (Role.LEAD, True)])
    def test_registers_and_their_files(self, bones, season, come, look, role, seen):
        come(role)
        for name in REGISTERS:
            sent = [look("register", name).content.decode()]
            for use, query in (("archive", f"?q={BONES}"), ("spreadsheet", "?order=-n")):
                whole = look("register_file", name, use, query=query)
                sent.append(b"".join(whole.streaming_content).decode())
            has = name in ("finds", "photographs") and seen
            assert all((BONES in text) == has for text in sent), name

    @pytest.mark.parametrize(("role", "count"), [(Role.READER, 1), (Role.CREW, 1), (Role.LEAD, 2)])
    def test_lists_counts_and_searches(self, bones, season, come, look, role, count):
        come(role)

        assert f"{count} find" in look("finds").content.decode()
        searched = look("finds", query=f"?q={BONES}").content.decode()
        assert (bones.number in searched) == (count == 2)
        by_number = look("finds", query=f"?q={bones.n}").content.decode()
        assert (bones.number in by_number) == (count == 2)
        counted = {one.name: n for one, n in look("archive_index").context["registers"]}
        assert (counted["finds"], counted["photographs"]) == (count, count - 1)

    @pytest.mark.parametrize(("role", "seen"), [(Role.CREW, False), (Role.LEAD, True)])
    def test_the_index_by_square_and_the_numbers(self, bones, season, come, look, lead, role, seen):
        come(role)
        sent = b"".join(look("cross_index_file", "archive").streaming_content).decode()
        (row,) = csv.DictReader(io.StringIO(sent))
        assert (row["finds"], row["photos"]) == (("1–2", "1") if seen else ("1", ""))
        with acting_as(lead):
            void_find(bones, BONES)

        numbers = look("numbers").content.decode()

        assert (BONES in numbers) == seen
        assert "Every number is accounted for." in numbers

    def test_a_print_made_as_a_lead_is_closed_to_who_is_crew_now(
        self, bones, season, come, client, own_files
    ):

        account = come(Role.LEAD)
        job = make_job(
            season.site,
            kind="print_index",
            state="done",
            asked_by=account,
            argument={"season": str(season.pk)},
            result={"shows_restricted": True},
        )
        default_storage.save(print_name(job.pk), ContentFile(b"%PDF"))
        url = reverse("index_pdf", args=[season.code, job.pk])
        assert client.get(url).status_code == 200
        member = account.memberships.get()
        member.role = Role.CREW
        member.save()

        assert client.get(url).status_code == 404
