"""A tower's base found by its printed markers: proposed, looked at, confirmed."""

import re

import cv2
import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from records.intake.corners import BASE, VERSIONS
from records.jobs import _claim, perform
from records.models import Job, JobState, PictureCorners, Placement, Role
from records.refusals import Refused
from records.verbs.set_up_versions import BaseSizes, note_base_markers
from survey.placement import to_plane
from tests.factory import make_member
from tests.factory_pictures import make_picture, make_stored_file, make_tower_set_up
from tests.made_boards import base_plate, taken

SIZE = (900, 600)
# Metres on the base to pixels: 580 px a metre, seen a little aslant and turned.
VIEW = np.array([[575.0, 12.0, 449.5], [9.0, -578.0, 299.5], [0.012, -0.02, 1.0]])


@pytest.fixture
def lead(client, season):
    client.force_login(make_member(season.site, Role.LEAD).account)
    return client


@pytest.fixture
def set_up(season):
    made = make_tower_set_up(season, picture_width_px=SIZE[0], picture_height_px=SIZE[1])
    return note_base_markers(season, made, BaseSizes(1.0, 0.7, 80.0), made.version)


@pytest.fixture
def desk_of(season, set_up, lead, django_capture_on_commit_callbacks):
    """The desk of a frame of the base that was brought in, before and after the worker."""

    def desk_of(plate, seed=1):
        png = cv2.imencode(".png", taken(plate, VIEW, SIZE, seed=seed))[1].tobytes()
        file = SimpleUploadedFile(f"base{seed}.png", png)
        page = reverse("set_up_base", args=[season.code, set_up.pk])
        with django_capture_on_commit_callbacks(execute=True):
            url = lead.post(page, {"file": file}).url
        before = lead.get(url)
        for job in Job.objects.filter(state=JobState.WAITING):
            perform(_claim(str(job.pk)))
        return url, before, lead.get(url)

    return desk_of


def filled(page):
    """What the desk's form would send, as it was shown."""
    form, rows = page.context["form"], page.context["rows"]
    sent = {field.html_name: field.value() for field in form if field.value() is not None}
    for name in ("TOTAL_FORMS", "INITIAL_FORMS"):
        sent[f"points-{name}"] = rows.management_form[name].value()
    for row in rows:
        sent |= {field.html_name: field.value() for field in row if field.value() is not None}
    return sent | {"lay_anew": ""}


def test_the_markers_of_a_base_propose_sixteen_marks_that_a_person_confirms(lead, set_up, desk_of):
    url, before, desk = desk_of(base_plate(1000, 700, 80))

    assert "are being looked for" in before.text
    assert "16 corners of the base" in desk.text
    assert "hx-trigger" not in desk.text.split('id="base-seen"')[1].split(">")[0]
    assert set_up.versions() == [set_up.placement]  # nothing is taken silently
    answer = lead.post(url, filled(desk))
    assert answer.status_code == 303

    placed = set_up.placement
    assert (placed.degrees_of_freedom, placed.marks.count()) == (24, 16)
    assert placed.rms_px < 0.3
    truth = np.linalg.inv(VIEW)
    for place in [(0, 0), (899, 0), (899, 599), (0, 599), (450, 300)]:
        x, y, w = truth @ [*place, 1]
        assert to_plane(placed.as_value, place) == pytest.approx((x / w, y / w), abs=0.001)
    assert "16 points agree within" in lead.get(answer.url).text
    assert lead.get(url).context["start"].by == "hand"  # as it was confirmed, to be looked at again


def looked_at(season, set_up, width_m=1.0, numbers=(1, 2, 3, 4)):
    """A picture in which these markers were found, of a base of this width; its desk."""
    file = make_stored_file(width_px=SIZE[0], height_px=SIZE[1])
    picture = make_picture(season.site, file=file)
    found = []
    for number in numbers:
        x, y = ((-1, -1), (1, -1), (1, 1), (-1, 1))[number - 1]
        middle = np.array([x * (width_m - 0.08) / 2, y * 0.31])
        corners = middle + 0.04 * np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]])
        seen = np.column_stack([corners, np.ones(4)]) @ VIEW.T
        found.append([number - 1, *(seen[:, :2] / seen[:, 2:]).ravel().tolist()])
    PictureCorners.objects.create(
        file=file, orientation=1, sheet=BASE, recipe_version=VERSIONS[BASE], found=found
    )
    return reverse("set_up_marks", args=[season.code, set_up.pk, picture.pk])


def test_a_marker_that_is_not_seen_is_named_and_left_to_the_hand(lead, season, set_up):
    url = looked_at(season, set_up, numbers=(1, 2, 4))
    desk = lead.get(url)

    assert "Not seen: marker 3." in desk.text
    assert "12 corners" in desk.text
    assert lead.post(url, filled(desk)).status_code == 422
    assert Placement.objects.filter(method="marks").count() == 0
    by_hand = lead.get(f"{url}?by=hand")
    assert "c0_u" not in by_hand.context["form"].initial
    assert "Put their marks on the picture" in by_hand.text


def test_a_base_noted_too_wide_is_told_by_the_size_of_its_markers(lead, season, set_up):
    """94 cm wide and noted as 100: the least squares of the whole find about 94."""
    told = re.search(
        "the base would be (\\d+) × (\\d+) cm", lead.get(looked_at(season, set_up, 0.94)).text
    )

    assert [int(one) for one in told.groups()] == pytest.approx([94, 70], abs=1)
    assert "the base would be" not in lead.get(looked_at(season, set_up)).text


def test_pictures_that_show_none_or_one_are_marked_by_hand(lead, season, set_up):
    none, one = (lead.get(looked_at(season, set_up, numbers=n)).text for n in ((), (2,)))

    assert "markers is seen in this picture" in none
    assert "Only one of the base" in one
    assert "Put their marks" not in none + one


def test_sizes_are_noted_by_a_lead_and_what_cannot_be_is_refused(lead, season, set_up):
    page = reverse("set_up_markers", args=[season.code, set_up.pk])
    assert 'value="100.0"' in lead.get(page).text
    sent = {"width_cm": "90.5", "depth_cm": "60", "marker_mm": "79.5", "version": set_up.version}
    assert lead.post(page, sent).status_code == 303
    set_up.refresh_from_db()
    assert (set_up.base_x_m, set_up.base_marker_mm) == (0.905, 79.5)
    with pytest.raises(Refused, match="do not fit"):
        note_base_markers(season, set_up, BaseSizes(0.1, 0.1, 80.0), set_up.version)
