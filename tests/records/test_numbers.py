"""Numbers: in blocks given out ahead, taken around them, each accounted for."""

from uuid import uuid4

import pytest
from django.db import transaction
from django.urls import reverse

from records.models import NumberEnd, NumberKind, Role
from records.queries.numbers import numbers_of
from records.refusals import Conflict, Refused
from records.verbs.blocks import BlockEntry, end_numbers, give_block, use_number
from records.verbs.numbers import take_numbers
from tests.factory import make_day, make_dive, make_member, make_season
from tests.factory_pictures import make_photograph


def tags(season, first, last, to="pair 3"):
    return give_block(season, BlockEntry("find", first, last, to), uuid4())


def take(season, count):
    with transaction.atomic():
        return take_numbers(season, NumberKind.FIND, count)


def test_numbers_pass_over_the_blocks_in_their_way(season):
    tags(season, 3, 5)
    tags(season, 6, 6, "pair 4")
    tags(season, 9, 10)

    assert take(season, 5) == [1, 2, 7, 8, 11]
    assert take(season, 1) == [12]


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (2, 4, "Begin at 4 or later"),
        (8, 12, "with pair 3 already"),
        (30, 29, "before the first"),
        (40, 1040, "at most 1,000"),
    ],
)
def test_a_block_that_cannot_be_given_is_refused_in_words(season, first, last, words):
    take(season, 3)
    tags(season, 10, 20)

    with pytest.raises(Refused, match=words):
        tags(season, first, last)


def test_dives_are_not_numbered_ahead(season):
    with pytest.raises(Refused, match="Only find tags and drawing sheets"):
        give_block(season, BlockEntry("dive", 5, 6, "nobody"), uuid4())


def test_a_number_ends_once(season):
    block = tags(season, 201, 220)
    with transaction.atomic():
        assert use_number(season, NumberKind.FIND, 203) == 203
    end_numbers(block, 204, 206, end="returned")
    end_numbers(block, 203, 208, end="void", reason="film torn")

    assert dict(NumberEnd.objects.values_list("n", "end")) == {
        203: "used",
        204: "returned",
        205: "returned",
        206: "returned",
        207: "void",
        208: "void",
    }
    with pytest.raises(Conflict):
        end_numbers(block, 203, 204, end="returned")
    with pytest.raises(Refused, match="ended already: used"), transaction.atomic():
        use_number(season, NumberKind.FIND, 203)
    with pytest.raises(Refused, match="in no block"), transaction.atomic():
        use_number(season, NumberKind.FIND, 300)
    with pytest.raises(Refused, match="needs its reason"):
        end_numbers(block, 209, 209, end="void")


def test_every_number_is_accounted_for_in_runs_of_one_fate(season):
    take(season, 2)  # taken, but no find was saved with them here
    block = tags(season, 5, 9)
    end_numbers(block, 5, 6, end="returned")

    runs = numbers_of(season, NumberKind.FIND)

    assert [(run.first, run.last, run.fate) for run in runs] == [
        (1, 2, "not accounted for"),
        (5, 6, "returned unused"),
        (7, 9, "with pair 3"),
    ]


def test_the_pages_of_blocks(season, client):
    lead = make_member(season.site, Role.LEAD).account
    client.force_login(lead, backend="records.sign_in.PasswordBackend")
    url = reverse("block_new", args=[season.code])
    said = {"id": str(uuid4()), "kind": "find", "first": 201, "last": 220, "given_to": "pair 3"}

    answer = client.post(url, said, follow=True)

    assert "20 numbers are still with pair 3." in answer.content.decode()
    block = season.number_blocks.get()
    url = reverse("block_end", args=[season.code, block.pk])
    answer = client.post(url, {"first": 201, "last": 219, "end": "returned"}, follow=True)
    assert "1 number is still with pair 3." in answer.content.decode()
    answer = client.get(reverse("blocks", args=[season.code]))
    assert "1 number is still out." in answer.content.decode()


@pytest.mark.django_db
class TestPage:
    """The register of numbers narrows, searches and sorts."""

    @pytest.fixture
    def shown(self, client):
        season = make_season()
        day = make_day(season)
        for _n in range(3):
            make_dive(day)
        account = make_member(season.site, Role.READER).account
        client.force_login(account, backend="records.sign_in.PasswordBackend")
        make_photograph(season, voided_at=season.made_at, voided_by=account, void_reason="a thumb")
        make_photograph(season)

        def ask(**given):
            page = client.get(reverse("numbers", args=[season.code]), given)
            assert page.status_code == 200
            return [
                (str(kind), run.first, run.last, run.fate)
                for kind, runs in page.context["shown"].kinds
                for run in runs
            ]

        return ask

    def test_all_then_a_kind_then_what_became_of_them(self, shown):
        assert shown() == [
            ("dive", 1, 3, "in use"),
            ("photo", 1, 1, "void"),
            ("photo", 2, 2, "in use"),
        ]
        assert shown(kind="photo", fate="void") == [("photo", 1, 1, "void")]

    def test_a_number_or_words_are_found(self, shown):
        assert shown(q="2") == [("dive", 1, 3, "in use"), ("photo", 2, 2, "in use")]
        assert shown(q="Thumb") == [("photo", 1, 1, "void")]

    def test_it_sorts_both_ways(self, shown):
        assert [one[1] for one in shown(kind="photo", order="-number")] == [2, 1]
        assert [one[3] for one in shown(kind="photo", order="fate")] == ["in use", "void"]
        assert shown(kind="photo", order="nonsense") == shown(kind="photo")
