"""Windows of a grid: drawn by the worker from placed pictures, shown to those who may see these."""

import io
import uuid

import numpy as np
import pytest
from django.urls import reverse
from PIL import Image

from records.intake.pictures import bring_in_picture
from records.intake.windows import GridWindow, open_window
from records.jobs import _claim, perform
from records.models import FindPicture, Job, JobState, Restriction, Role, WindowToMake
from records.verbs.drawn_squares import SquareMarks, place_drawn_square
from records.verbs.windows import want_window
from tests import made_files as made
from tests.factory import (
    make_find,
    make_goal,
    make_grid,
    make_member,
    make_season,
    make_square,
)
from tests.factory_drawings import make_drawing

pytestmark = pytest.mark.django_db

# Corners of the square on a picture of 1600 × 1200 px, seen at a slant.
CORNERS = [(240.0, 1040.0), (1300.0, 1080.0), (1180.0, 210.0), (330.0, 150.0)]


def crossing_of_diagonals(corners):
    """Where a square's middle is seen: a projection keeps lines straight (textbook geometry)."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = corners
    across = np.array([[cx - ax, -(dx - bx)], [cy - ay, -(dy - by)]])
    t, _s = np.linalg.solve(across, [bx - ax, by - ay])
    return ax + t * (cx - ax), ay + t * (cy - ay)


MIDDLE = crossing_of_diagonals(CORNERS)


@pytest.fixture
def grid(season):
    return make_grid(season.site, first_column="K", first_row="7")


def place(season, grid, stage, content, at=(2, 1), corners=CORNERS):
    square = make_square(grid, *at)
    make_goal(stage, square)
    picture = bring_in_picture(season, io.BytesIO(content), "sheet")
    drawing = make_drawing(season, picture=picture)
    return place_drawn_square(drawing, square, stage, "whole", SquareMarks(corners))


def dotted(kind="PNG", scale=1, colour=(255, 255, 255)):
    """A sheet with a soft-edged dot of 5 px radius where its square has its middle."""
    u, v = ((one + 0.5) * scale - 0.5 for one in MIDDLE)
    paper = np.full((1200 * scale, 1600 * scale, 3), colour, np.uint8)
    left, top, reach = int(u) - 6 * scale, int(v) - 6 * scale, 12 * scale
    across, down = np.meshgrid(np.arange(left, left + reach), np.arange(top, top + reach))
    light = np.clip(np.hypot(across - u, down - v) - 5 * scale + 0.5, 0, 1)
    paper[top : top + reach, left : left + reach] = light[:, :, None] * colour
    return made.encoded(Image.fromarray(paper), kind)


def drawn(season, window):
    want_window(season, window)
    want_window(season, window)
    job = Job.objects.filter(kind="windows", state=JobState.WAITING).first()
    if job is None:
        from records.jobs import ask

        job = ask("windows", site=None)
    perform(_claim(str(job.pk)))
    with open_window(window) as file:
        return np.asarray(Image.open(file).convert("RGBA"))


def dark_middle(image):
    """u, v of the middle of what is dark and covered."""
    dark = np.where(image[:, :, 3] > 0, (128 - image[:, :, 0].astype(float)).clip(0), 0)
    v, u = np.indices(dark.shape)
    return (u * dark).sum() / dark.sum(), (v * dark).sum() / dark.sum()


def test_what_lies_in_the_middle_of_the_square_is_drawn_there(season, grid, stage):
    square = place(season, grid, stage, dotted())

    image = drawn(season, GridWindow.of_square(square.placement, square.square))

    assert image.shape == (1000, 1000, 4)
    assert dark_middle(image) == pytest.approx((499.5, 499.5), abs=0.2)
    assert not WindowToMake.objects.exists()


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_decoded_smaller_lies_at_the_same_place(season, grid, stage, kind):
    corners = [((u + 0.5) * 4 - 0.5, (v + 0.5) * 4 - 0.5) for u, v in CORNERS]
    square = place(season, grid, stage, dotted(kind, 4), corners=corners)

    window = GridWindow.of_square(square.placement, square.square, mm_a_pixel=4, margin_m=0.1)

    assert dark_middle(drawn(season, window)) == pytest.approx((149.5, 149.5), abs=0.1)


def test_beyond_the_picture_it_is_transparent(season, grid, stage):
    square = place(season, grid, stage, dotted())

    window = GridWindow.of_square(square.placement, square.square, margin_m=1.0, mm_a_pixel=5)
    image = drawn(season, window)

    assert image[300, 300, 3] == 255
    assert image[300, 10, 3] == 0


def test_neighbours_are_laid_together_each_in_its_own_square(season, grid, stage):
    left = place(season, grid, stage, dotted(colour=(250, 210, 210)))
    right = place(season, grid, stage, dotted(colour=(210, 210, 250)), at=(3, 1))

    together = GridWindow.of_drawn_together([left, right], (2.0, 1.0, 4.0, 2.0))
    image = drawn(season, together)

    assert image.shape == (500, 1000, 4)
    assert image[20, 495, 0] > image[20, 495, 2] + 20
    assert image[20, 505, 2] > image[20, 505, 0] + 20


def test_one_that_cannot_be_drawn_says_why_and_holds_up_no_other(season, grid, stage):
    lost = place(season, grid, stage, dotted(colour=(1, 2, 3)))
    good = place(season, grid, stage, dotted(), at=(5, 5))
    lost.drawing.picture.file.sha256 = "0" * 64
    lost.drawing.picture.file.save()
    want_window(season, GridWindow.of_square(lost.placement, lost.square))

    drawn(season, GridWindow.of_square(good.placement, good.square))

    assert "not in its place" in WindowToMake.objects.get().words


class TestShown:
    @pytest.fixture
    def square(self, season, grid, stage):
        return place(season, grid, stage, dotted())

    @pytest.fixture
    def window(self, square):
        return GridWindow.of_square(square.placement, square.square)

    def get(self, client, season, token, role=Role.READER, **more):
        client.force_login(make_member(season.site, role).account)
        return client.get(reverse("window", args=[season.code, token]), **more)

    def test_words_stand_in_its_place_until_it_is_drawn(
        self, client, season, window, django_capture_on_commit_callbacks
    ):
        with django_capture_on_commit_callbacks(execute=True):
            answer = self.get(client, season, window.token)
        assert "being made" in answer.content.decode()
        assert WindowToMake.objects.get().key == window.key

        drawn(season, window)
        answer = self.get(client, season, window.token)
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/webp")
        etag = answer["ETag"]
        answer = self.get(client, season, window.token, headers={"If-None-Match": etag})
        assert answer.status_code == 304

    def test_an_address_nobody_was_given_is_not_found(self, client, season, window):
        for token in (window.token[:-2] + "xx", "never-one"):
            assert self.get(client, season, token).status_code == 404

    def test_another_sites_pictures_are_not_found(self, client, window):
        assert self.get(client, make_season(), window.token, Role.DIRECTOR).status_code == 404

    def test_what_lies_with_a_restricted_find_is_for_leads(self, client, season, square, window):
        find = make_find(season, restriction=Restriction.ORDNANCE)
        FindPicture.objects.create(find=find, picture=square.drawing.picture)

        assert self.get(client, season, window.token, Role.CREW).status_code == 404
        assert self.get(client, season, window.token, Role.LEAD).status_code == 200

    def test_one_of_a_placement_that_is_gone_is_not_found(self, client, season, window):
        other = GridWindow.from_json(
            window.as_json() | {"pieces": [[uuid.uuid4().hex, None], *window.as_json()["pieces"]]}
        )
        assert self.get(client, season, other.token).status_code == 404
