"""Long work seen in the browser: a copy that ends while one looks, pictures that fill in."""

import io

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from records.acting import acting_as
from records.intake.pictures import bring_in_picture
from records.jobs import _claim, perform
from records.models import Job, JobState, Role
from records.queries.pictures import pictures_for
from tests import made_files as made
from tests.browser.conftest import assert_accessible, assert_reflows, assert_touchable
from tests.factory import make_member, make_season

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def season():
    return make_season()


@pytest.fixture
def director(season):
    return make_member(season.site, Role.DIRECTOR).account


@pytest.fixture
def signed_in(page, director, go_under):
    go_under(director)
    return page


def work_off(kind: str) -> None:
    job = Job.objects.get(kind=kind, state=JobState.WAITING)
    perform(_claim(str(job.pk)))


def test_the_director_copies_the_record_and_sees_it_end(
    signed_in, live_server, season, director, tmp_path
):
    page, drive = signed_in, tmp_path / "drive"
    drive.mkdir()
    with acting_as(director):
        bring_in_picture(season, io.BytesIO(made.jpeg(seed=200)), "P0200.JPG")
    page.goto(live_server.url + reverse("copies", args=[season.code]))
    assert_accessible(page)
    page.get_by_label("Folder on the second drive").fill(str(tmp_path / "not there"))
    page.get_by_role("button", name="Copy now").click()
    page.get_by_text("Is the drive plugged in?").first.wait_for()

    page.get_by_label("Folder on the second drive").fill(str(drive))
    page.get_by_role("button", name="Copy now").click()
    page.get_by_role("heading", name="Copying the record to the second drive").wait_for()
    page.get_by_text("Waiting for its turn.").wait_for()
    assert_accessible(page)
    assert_touchable(page)
    work_off("second_copy")

    page.get_by_text("The database and 1 original stand in the folder").wait_for()
    page.get_by_role("button", name="Copy now").wait_for()
    assert_reflows(page)


def test_work_is_stopped_with_one_tap(signed_in, live_server, season, tmp_path):
    page = signed_in
    page.goto(live_server.url + reverse("copies", args=[season.code]))
    page.get_by_role("button", name="Look over the originals").click()
    page.get_by_role("button", name="Stop").click()

    page.get_by_role("button", name="Look over the originals").wait_for()
    assert Job.objects.get(kind="sweep").state == JobState.STOPPED


def test_a_picture_fills_in_once_it_is_made(signed_in, live_server, season, director):
    page = signed_in
    with acting_as(director):
        bring_in_picture(season, io.BytesIO(made.jpeg(600, 400, seed=201)), "P0201.JPG")
    (picture,) = pictures_for(season, may_lead=True)
    shown = render_to_string(
        "pictures/_shown.html",
        {"picture": picture, "recipe": "thumb", "frame": {"season": season}},
    )
    page.goto(live_server.url + reverse("pictures", args=[season.code]))
    page.evaluate(
        "(html) => document.querySelector('main').insertAdjacentHTML('beforeend', html)", shown
    )
    page.add_script_tag(url="/static/js/making.js")
    page.evaluate("htmx.trigger(document.body, 'htmx:load')")
    image = page.locator("main img").last
    assert image.get_attribute("data-making") == str(picture.pk)
    assert image.get_attribute("alt") == "P0201.JPG"
    work_off("derivatives")

    page.wait_for_function(
        "() => { const made = [...document.querySelectorAll('main img')].at(-1);"
        " return made.complete && made.naturalWidth === 320 && !made.dataset.making; }"
    )
