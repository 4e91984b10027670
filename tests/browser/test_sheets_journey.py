"""From a printed sheet to its square, in a real browser: printed, dropped in, filed, looked at."""

import io

import numpy as np
import pypdfium2
import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import expect

from records.jobs import _claim, perform
from records.models import Drawing, Job, JobState, Role
from tests.browser.conftest import TABLET, assert_accessible, assert_reflows, assert_touchable
from tests.factory import (
    make_goal,
    make_grid,
    make_season,
    make_square,
    make_stage,
)

pytestmark = [pytest.mark.slow, pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def season():
    """K7, to be drawn."""
    season = make_season()
    square = make_square(make_grid(season.site, code="P", first_column="K", first_row="7"))
    make_goal(make_stage(season), square)
    return season


def scanned(pdf):
    """The first page on a table, turned by a quarter."""
    page = pypdfium2.PdfDocument(pdf)[0].render(scale=100 / 72, grayscale=True).to_numpy()
    told = io.BytesIO()
    Image.fromarray(np.rot90(np.pad(page, 40, constant_values=90))).save(told, "JPEG")
    return told.getvalue()


@pytest.fixture
def page_of_crew(context, sign_in):
    sign_in(Role.CREW)
    page = context.new_page()
    page.set_viewport_size(TABLET)
    return page


def test_a_sheet_is_printed_dropped_in_and_files_itself(page_of_crew, live_server, season):
    page = page_of_crew
    page.goto(live_server.url + reverse("sheets", args=[season.code]))
    assert_accessible(page)
    page.get_by_role("link", name="Print drawing sheets").click()
    page.get_by_label("Squares").fill("K7")
    assert_touchable(page)
    page.get_by_role("button", name="Make the sheets").click()
    ready = page.get_by_role("link", name="Open the PDF")
    expect(ready).to_be_visible()
    pdf = page.request.get(live_server.url + ready.get_attribute("href")).body()

    page.goto(live_server.url + reverse("scans", args=[season.code]))
    page.set_input_files(
        "#files", {"name": "k7.jpg", "mimeType": "image/jpeg", "buffer": scanned(pdf)}
    )
    expect(page.get_by_text("is being read …")).to_be_visible()
    for asked in Job.objects.filter(kind="scans", state=JobState.WAITING):
        perform(_claim(str(asked.pk)))
    drawing = Drawing.objects.get()
    expect(page.get_by_role("link", name=str(drawing), exact=True)).to_be_visible(timeout=10_000)
    expect(page.locator("#scans-answer")).to_have_text("Every scan is filed.")
    assert_accessible(page)
    assert_reflows(page)
    assert drawing.squares_on_sheet == "K7"
