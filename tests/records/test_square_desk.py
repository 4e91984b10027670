"""The numbers that the page of a square hands to its scripts, and to whom."""

import json
import re

import pytest
from django.urls import reverse
from numpy.testing import assert_allclose

from records.models import Role
from survey.grid import to_site
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage

pytestmark = pytest.mark.django_db


@pytest.fixture
def grid():
    season = make_season()
    grid = make_grid(
        season.site, code="P", first_row="7", bearing_deg=35, slope_deg=20, origin_e_m=812.4
    )
    make_goal(make_stage(season, order=1, name="as found"), make_square(grid, 2, -1))
    return grid


@pytest.fixture
def numbers(client, grid):
    def read(role):
        season = grid.site.seasons.get()
        client.force_login(make_member(grid.site, role).account, "records.sign_in.PasswordBackend")
        page = client.get(reverse("square", args=[season.code, "P", "2,-1"])).content.decode()
        return json.loads(re.search(r'id="desk-numbers"[^>]*>(.*?)</script>', page)[1])

    return read


def test_they_say_where_the_square_lies_on_the_grid(numbers):
    read = numbers(Role.CREW)

    assert_allclose(read["box"], [1.95, -1.05, 3.05, 0.05])
    assert (read["corner"], read["side"], read["wall"]) == ([2, -1], 1, False)


def test_site_positions_follow_from_them_as_survey_computes_them(numbers, grid):
    site = numbers(Role.LEAD)["site"]

    by_page = [o + 2.25 * x - 0.4 * y for o, x, y in zip(*site.values(), strict=True)]

    assert_allclose(by_page, to_site(grid.frame, [2.25, -0.4]), atol=1e-12)


def test_a_reader_is_not_told_how_the_grid_lies_in_the_site(numbers):
    assert "site" not in numbers(Role.READER)
