"""A picture's bytes over the web: who gets what, and what a page shows meanwhile."""

import io
import uuid

import pytest
from django.urls import reverse

from records.acting import acting_as
from records.intake.pictures import bring_in_picture
from records.jobs import _claim, perform
from records.models import FindPicture, Job, JobState, PictureToMake, Restriction, Role
from tests import made_files as made
from tests.factory import make_find, make_member, make_season

pytestmark = pytest.mark.django_db
NAME = 'K7 "north" ../Tür\n.jpg'


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def picture(season, django_capture_on_commit_callbacks):
    account = make_member(season.site, Role.CREW).account
    with acting_as(account), django_capture_on_commit_callbacks(execute=True):
        return bring_in_picture(season, io.BytesIO(made.jpeg(900, 600, seed=90)), NAME)


def make_all() -> None:
    job = Job.objects.get(kind="derivatives", state=JobState.WAITING)
    perform(_claim(str(job.pk)))


def as_role(client, season, role):
    client.force_login(make_member(season.site, role).account)
    return client


def url(name, season, picture, *more):
    return reverse(name, args=[season.code, picture.pk, *more])


def test_while_it_is_made_words_stand_in_its_place(client, season, picture):
    as_role(client, season, Role.READER)

    answer = client.get(url("picture_file", season, picture, "thumb"))

    assert answer["Content-Type"] == "image/svg+xml"
    assert "being made" in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]
    assert Job.objects.filter(kind="derivatives").count() == 1


def test_once_made_it_is_shown_and_asked_for_again_only_when_changed(client, season, picture):
    make_all()
    as_role(client, season, Role.READER)
    address = url("picture_file", season, picture, "screen")

    first = client.get(address)
    second = client.get(address, headers={"If-None-Match": first["ETag"]})

    assert first["Content-Type"] == "image/jpeg"
    assert b"".join(first.streaming_content).startswith(b"\xff\xd8")
    assert first["Cache-Control"] == "private, no-cache"
    assert picture.file.sha256 not in first["ETag"]
    assert second.status_code == 304


def test_a_derivative_that_is_gone_is_asked_for_anew(
    client, season, picture, django_capture_on_commit_callbacks
):
    make_all()
    as_role(client, season, Role.READER)

    with django_capture_on_commit_callbacks(execute=True):
        answer = client.get(url("picture_file", season, picture, "large"))

    assert "being made" in answer.content.decode()
    assert PictureToMake.objects.get().recipes == "large"
    make_all()
    assert client.get(url("picture_file", season, picture, "large"))["Content-Type"] == "image/jpeg"


def test_originals_are_for_the_crew_and_their_names_do_no_harm(client, season, picture):
    assert (
        as_role(client, season, Role.READER)
        .get(url("picture_original", season, picture))
        .status_code
        == 403
    )
    as_role(client, season, Role.CREW)

    answer = client.get(url("picture_original", season, picture))

    assert b"".join(answer.streaming_content) == made.jpeg(900, 600, seed=90)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    # RFC 8187: the name percent-encoded in UTF-8
    assert answer["Content-Disposition"] == (
        "attachment; filename*=utf-8''K7%20_north_%20.._T%C3%BCr%E2%90%8A.jpg"
    )


def test_another_sites_picture_is_not_there(client, season, picture):
    make_all()
    other = make_season()
    as_role(client, other, Role.DIRECTOR)

    for name, more in (("picture_file", ["thumb"]), ("picture_original", [])):
        assert client.get(url(name, season, picture, *more)).status_code == 404
        assert client.get(url(name, other, picture, *more)).status_code == 404


def test_pictures_of_restricted_finds_are_for_the_lead(client, season, picture):
    make_all()
    find = make_find(season, restriction=Restriction.HUMAN_REMAINS)
    FindPicture.objects.create(find=find, picture=picture)
    address = url("picture_file", season, picture, "thumb")

    assert as_role(client, season, Role.CREW).get(address).status_code == 404
    assert as_role(client, season, Role.LEAD).get(address).status_code == 200


def test_a_page_asks_for_all_its_pictures_at_once(
    client, season, picture, django_assert_num_queries
):
    as_role(client, season, Role.READER)
    address = reverse("pictures_made", args=[season.code])
    asked = {"id": [str(picture.pk), str(uuid.uuid4()), "nonsense"]}
    assert client.get(address, asked).json() == {"made": []}

    make_all()

    with django_assert_num_queries(5):  # session, account, season, membership, pictures
        assert client.get(address, asked).json() == {"made": [str(picture.pk)]}
