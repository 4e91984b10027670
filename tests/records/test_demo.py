"""The demo season: through the verbs that pages call, whole or finished later, or not at all."""

import sys
from contextlib import contextmanager
from datetime import datetime
from functools import cache
from io import BytesIO

import numpy as np
import pytest
from django.db import models
from PIL import Image

from fixtures import darkroom, loader
from fixtures.darkroom import Developed
from fixtures.drawing import DrawnSheet
from fixtures.exif import Exposure, jpeg
from fixtures.names import key
from records.models import (
    Account,
    Card,
    Comparison,
    Dive,
    DiveTask,
    Drawing,
    DrawnSquare,
    Find,
    Fix,
    Frame,
    Job,
    Outline,
    Season,
    SquareCoverage,
    SquareException,
    SquareGoal,
)
from records.models.base import Record
from records.queries.agreement import second_looks
from records.queries.drawings import drawings_shown
from tests.factory import make_account
from tests.records.demo_index import the_index_is_what_plain_sql_counts

# Made outside any verb: the link that the shed prints on an empty record.
BEFORE_ANY_VERB = {"OneTimeLink"}


def _a_verb_is_at_work() -> bool:
    frame = sys._getframe()
    while frame is not None:
        if frame.f_code.co_name == "guarded" and frame.f_code.co_filename.endswith("guard.py"):
            return True
        frame = frame.f_back
    return False


@contextmanager
def only_through_verbs():
    """No row is written but inside a guarded verb, and the tests' factory is out of reach."""
    written = models.Model.save_base

    def save_base(self, *args, **kwargs):
        if isinstance(self, Record) and type(self).__name__ not in BEFORE_ANY_VERB:
            assert _a_verb_is_at_work(), f"{type(self).__name__} was written beside the verbs"
        return written(self, *args, **kwargs)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(models.Model, "save_base", save_base)
        patch.setitem(sys.modules, "tests.factory", None)
        yield


@pytest.fixture(autouse=True)
def blank_pictures(monkeypatch, tmp_path, settings):
    """Blank sheets and frames of the right sizes: the true ones take a minute to make."""
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": str(tmp_path)},
        }
    }
    monkeypatch.setattr(darkroom, "developed", blank)


def blank(story, told=None) -> Developed:
    frames = [frame for card in story.cards for frame in story.frames(card)]
    return Developed(
        frames=_MadeWhenAsked(
            {one.name: (index, one.taken_at) for index, one in enumerate(frames)}
        ),
        sheets={
            one.key: DrawnSheet(_png(index), {spec.square: CORNERS for spec in one.squares})
            for index, one in enumerate(story.sheets)
        },
        shots={
            one.key: jpeg(_grey(300, 200, index), story.taken_at(one), Exposure())
            for index, one in enumerate(story.record_shots)
        },
    )


class _MadeWhenAsked(dict):
    def __getitem__(self, name: str) -> bytes:
        return _frame(*super().__getitem__(name))


@cache
def _frame(index: int, taken_at: datetime) -> bytes:
    return jpeg(_grey(2000, 1333, index), taken_at, Exposure())


CORNERS = ((20.0, 180.0), (180.0, 180.0), (180.0, 20.0), (20.0, 20.0))


def _grey(width: int, height: int, unlike: int) -> np.ndarray:
    picture = np.full((height, width, 3), 128, np.uint8)
    picture[:64, :64] = unlike * 2 % 256
    picture[64:128, :64] = unlike // 4
    return picture


def _png(unlike: int) -> bytes:
    out = BytesIO()
    Image.fromarray(_grey(300, 200, unlike)).save(out, "PNG")
    return out.getvalue()


def load() -> list[str]:
    said: list[str] = []
    loader.load_demo(said.append)
    return said


class CutShort(Exception):
    pass


def cut_short(after: int) -> None:
    """The load ends with the saving of so many records."""
    whole = models.Model.save_base
    left = [after]

    def save_base(self, *args, **kwargs):
        if isinstance(self, Record):
            left[0] -= 1
            if left[0] < 0:
                raise CutShort
        return whole(self, *args, **kwargs)

    with pytest.MonkeyPatch.context() as cut:
        cut.setattr(models.Model, "save_base", save_base)
        with pytest.raises(CutShort):
            load()


@pytest.mark.slow
@pytest.mark.django_db
@pytest.mark.parametrize(
    "after",
    [
        pytest.param(20, marks=pytest.mark.by_hand),
        150,
        pytest.param(600, marks=pytest.mark.by_hand),
    ],
)
def test_the_demo_comes_in_through_the_verbs_though_cut_short_and_a_second_start_adds_nothing(
    after, client
):
    with only_through_verbs():
        cut_short(after)

        said = load()

    assert Dive.objects.count() == 26
    assert list(Dive.objects.order_by("n").values_list("n", flat=True)) == list(range(1, 27))
    assert Job.objects.get(pk=key("the whole demo")).state == "done"
    assert Dive.objects.filter(reached_surface_at=None).count() == 1
    assert SquareGoal.objects.filter(square__grid__code="P", stage__order=1).count() == 60
    assert SquareException.objects.count() == 6
    assert Drawing.objects.count() == 28
    assert DrawnSquare.objects.count() == 32
    assert Frame.objects.filter(is_kept=False).count() == 2
    assert Card.objects.filter(state="accepted").count() == 5
    assert SquareCoverage.objects.filter(fraction__gte=0.98).count() >= 40
    assert not any(one.unmarked for one in drawings_shown(Season.objects.get(), may_lead=True))
    assert Comparison.objects.count() == 2
    assert [(one.square.label, one.mm) for one in second_looks(Season.objects.get())] == [
        ("H B1", 47)
    ]
    assert Find.objects.count() == 17
    assert {"T", "F", "B"} <= set(Outline.objects.values_list("kind", flat=True))
    assert any(len(one.squares_under) > 1 for one in Outline.objects.all())
    assert Fix.objects.standing().count() >= 15
    assert all(row.history.count() == 1 for row in DiveTask.objects.all()[:5])
    assert any("director: sign-in name amara, password" in line for line in said)
    the_index_is_what_plain_sql_counts(client)

    again = load()

    assert Dive.objects.count() == 26
    assert again == said[-len(again) :]
    amara = Account.objects.get(sign_in_name="amara")
    amara.set_password("another-long-password")
    Account.objects.filter(pk=amara.pk).update(password=amara.password)

    assert not any("amara" in line for line in load())


@pytest.mark.django_db
def test_a_record_with_other_work_stays_as_it_is():
    make_account()

    assert load() == ["This record holds other work already, so no demo season was added."]
    assert Dive.objects.count() == 0
    assert Account.objects.count() == 1
