"""Drawing compared with photograph: what is kept, refused, and marked for a second look."""

import json
import math
import re
from dataclasses import replace
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from records.acting import acting_as
from records.models import Comparison, DrawingCheck, FrameOnSquare, Placement, Role, Square
from records.queries.agreement import comparisons_seen, disagreeing, second_looks, standing_of
from records.queries.compared import compared
from records.refusals import Conflict, Refused
from records.verbs.comparisons import Feature, Placed, compare, void_comparison
from records.verbs.coverage import outline_of
from records.verbs.sheets import PrintEntry, SheetEntry, print_sheets
from tests.factory import make_goal, make_grid, make_member, make_season, make_square, make_stage
from tests.factory_comparisons import make_comparison, points_off
from tests.factory_drawings import make_drawing
from tests.factory_pictures import make_card, make_drawn, make_frame, make_run

PLACES = ((0.1, 0.1), (0.9, 0.15), (0.85, 0.9), (0.2, 0.8), (0.5, 0.4), (0.6, 0.7))
ERRORS_M = ((0.004, 0), (-0.003, 0.006), (0.005, -0.002), (0, 0.003), (-0.006, -0.005), (0, 0))

pytestmark = pytest.mark.django_db


class World:
    """A square drawn once, and photographed by one frame of the same stage."""

    def __init__(self):
        self.season = make_season()
        self.grid = make_grid(self.season.site, code="P", first_column="K", first_row="7")
        self.square = make_square(self.grid, 0, 0)
        self.stage = make_stage(self.season, order=1, name="as found")
        make_goal(self.stage, self.square)
        self.lead = make_member(self.season.site, Role.LEAD)
        self.crew = make_member(self.season.site, Role.CREW)
        with acting_as(self.lead.account):
            self.drawn = make_drawn(self.square, self.stage, "accepted")
            run = make_run(self.season, stage=self.stage, grid=self.grid)
            self.frame = make_frame(make_card(run), 1)
        FrameOnSquare.objects.get_or_create(
            frame=self.frame, square=self.square, defaults={"fraction": 1.0}
        )

    @property
    def placed(self):
        return Placed(self.drawn.placement_id, self.frame.placement_id)

    def compare(self, points=None, **changed):
        said = {"drawn": self.drawn, "frame": self.frame, "placed": self.placed} | changed
        features = [Feature(*row) for row in (points_off(0.04) if points is None else points)]
        with acting_as(said.pop("by", self.crew).account):
            return compare(said.pop("drawn"), features=features, **said)

    def page(self, client, query="?frame=1", by=None):
        client.force_login((by or self.lead).account, "records.sign_in.PasswordBackend")
        url = reverse("square", args=[self.season.code, "P", "K7"])
        return client.get(url + query).content.decode()

    def placed_anew(self, record):
        """As marking it anew does: a new row of the same values."""
        row = Placement.objects.get(pk=record.placement_id)
        row.pk = uuid4()
        row._state.adding = True
        row.save()
        record.placement = row
        record.save()


@pytest.fixture
def world():
    return World()


class TestKept:
    def test_as_picked_with_who_and_when_and_history(self, world):
        made = world.compare()

        assert made.points_m == points_off(0.04)
        assert made.rms_m == pytest.approx(0.04)
        assert made.made_by == world.crew.account
        assert made.history.count() == 1

    def test_once_however_often_it_is_sent(self, world):
        key = uuid4()
        assert world.compare(id=key) == world.compare(id=key)
        with pytest.raises(Conflict):
            world.compare(points_off(0.05), id=key)
        assert Comparison.objects.count() == 1

    @pytest.mark.parametrize(
        ("points", "words"),
        [
            ([], "Pick the same feature"),
            ([[0.5, 0.5, 1.2, 0.5]], "Feature 1 lies outside"),
            ([[0.5, 0.5, float("nan"), 0.5]], "Feature 1 lies outside"),
            ([[0.5, 0.5, 0.5, 0.5]] * 101, "too many"),
        ],
    )
    def test_refused_in_words(self, world, points, words):
        with pytest.raises(Refused, match=words):
            world.compare(points)
        assert not Comparison.objects.exists()

    def test_only_within_one_stage(self, world):
        cleaned = make_stage(world.season, order=2, name="cleaned")
        make_goal(cleaned, world.square)
        with acting_as(world.lead.account):
            other = make_drawn(world.square, cleaned)

        placed = replace(world.placed, drawing=other.placement_id)
        with pytest.raises(Refused, match=r"“cleaned”.*“as found”.*one stage"):
            world.compare(drawn=other, placed=placed)

    def test_not_once_either_was_placed_anew_or_left_out(self, world):
        seen = world.placed
        world.placed_anew(world.drawn)
        with pytest.raises(Conflict, match="placed anew"):
            world.compare(placed=seen)

        world.frame.is_kept, world.frame.left_out_reason = False, "blurred"
        world.frame.save()
        with pytest.raises(Refused, match="left out"):
            world.compare()

    def test_not_where_the_photograph_shows_nothing(self, world, client):
        """The frame is shoved so that it ends at x 0.5; a centimetre is let through. The page is
        told so, and says it at the tap."""
        row = Placement.objects.get(pk=world.frame.placement_id)
        right = max(x for x, _y in outline_of(row).tolist())
        h = list(row.h)
        h[2] -= right - 0.5
        row.pk, row.h, row._state.adding = uuid4(), h, True
        row.save()
        world.frame.placement = row
        world.frame.save()

        with pytest.raises(Refused, match="Features 2, 3 were picked where the photograph"):
            world.compare(points_off())
        assert world.compare([[0.5, 0.5, 0.509, 0.5]])
        told = re.search(r'id="desk-numbers"[^>]*>(.*?)</script>', world.page(client))[1]
        seen = json.loads(told)["seen"]
        assert max(x for x, _y in seen["outline"]) == pytest.approx(0.5)
        assert seen["slack"] == 0.01

    def test_void_by_a_lead_with_a_reason(self, world):
        made = world.compare()
        with acting_as(world.crew.account), pytest.raises(PermissionDenied):
            void_comparison(made, "wrong stone")
        with acting_as(world.lead.account):
            assert void_comparison(made, "wrong stone").is_voided


class TestSecondLook:
    def looks(self, world):
        return disagreeing(world.season, Square.objects.all())

    def test_beyond_the_seasons_limit_by_the_latest_that_holds(self, world):
        here = (world.square.pk, world.stage.pk)
        worse = world.compare(points_off(0.04))
        assert self.looks(world) == {here: pytest.approx(0.04)}
        assert [(one.square, one.mm) for one in second_looks(world.season)] == [(world.square, 40)]

        better = world.compare(points_off(0.01))
        assert self.looks(world) == {}

        with acting_as(world.lead.account):
            void_comparison(better, "wrong stones")
        assert set(self.looks(world)) == {here}
        world.season.disagreement_limit_mm = 50
        world.season.save()
        assert self.looks(world) == {}
        assert not worse.is_voided

    def test_too_few_features_mark_but_lift_nothing(self, world):
        """One feature, or taps on one spot, agree by chance; enough of them settle it."""
        here = (world.square.pk, world.stage.pk)
        world.compare(points_off(0.044))
        world.compare(points_off()[:1])
        world.compare([[0.5, 0.5, 0.5, 0.5]] * 3)
        assert self.looks(world) == {here: pytest.approx(0.044)}

        world.compare(points_off())
        assert self.looks(world) == {}
        world.compare(points_off(0.06)[:1])
        assert self.looks(world) == {here: pytest.approx(0.06)}

    def test_a_drawing_made_over_that_photograph_lifts_nothing(self, world, client):
        """It agrees with what lay under it, whoever drew; where it differs it may mark."""
        drawing, here = world.drawn.drawing, (world.square.pk, world.stage.pk)

        def standing(made):
            return standing_of(comparisons_seen(world.season, may_lead=True).get(pk=made.pk))

        under = SheetEntry([world.square], world.stage, [world.frame.placement])
        with acting_as(world.lead.account):
            beside = make_frame(world.frame.card, 2)
            (sheet,) = print_sheets(world.season, PrintEntry([under]), uuid4())
            drawing.inked_from = make_drawing(world.season, n=sheet.n)
            drawing.save()
            fair_copy = standing(make_comparison(world.drawn, world.frame, 0.0))
            assert fair_copy == "drawn over this photograph"
            copied, drawing.n, drawing.inked_from = drawing.inked_from, sheet.n, None
            copied.n = 999
            copied.save()
            drawing.save()
        world.compare(points_off(0.04))
        agrees = world.compare(points_off(0.0))
        make_comparison(world.drawn, beside, 0.0)  # of this one it is a witness

        assert self.looks(world) == {here: pytest.approx(0.04)}
        assert standing(agrees) == "drawn over this photograph"
        words = f"Drawing {drawing.n} was made over a print of this photograph:"
        assert [words in world.page(client, f"?frame={n}") for n in (1, 2)] == [True, False]
        alone = reverse("comparison", args=[world.season.code, agrees.pk])
        assert words in client.get(alone).content.decode()
        with acting_as(world.lead.account):
            for one in Comparison.objects.filter(frame=world.frame, rms_m__gt=0):
                void_comparison(one, "the diver drew what had moved")
        assert "1 comparison counts in this stage" in world.page(client)

    def test_another_photograph_that_agrees_does_not_take_it_away(self, world, client):
        """Each two count by their latest; the look rests on any, and the page says on which."""
        here = (world.square.pk, world.stage.pk)
        with acting_as(world.lead.account):
            other = make_frame(world.frame.card, 2)

        world.compare(points_off(0.04))
        fine = make_comparison(world.drawn, other, 0.01)

        assert self.looks(world) == {here: pytest.approx(0.04)}
        page = world.page(client, "?frame=2")
        assert "Beyond the limit of 30 mm: 1 of 2 comparisons that count" in page
        assert "drawing 1 and photograph 1, 40 mm" in page
        with acting_as(world.lead.account):
            DrawingCheck.objects.create(drawn_square=world.drawn, verdict="redo", why="no_levels")
        assert self.looks(world) == {}
        shown = client.get(reverse("comparison", args=[world.season.code, fine.pk]))
        assert "It does not count: drawing sent back." in shown.content.decode()

    @pytest.mark.parametrize("which", ["drawn", "frame"])
    def test_one_of_an_earlier_placement_marks_nothing_and_says_so(self, world, client, which):
        made = world.compare()
        world.placed_anew(getattr(world, which))
        made = Comparison.objects.get(pk=made.pk)

        assert made.is_of_earlier_placement
        assert self.looks(world) == {}
        assert "of an earlier placement" in world.page(client)

    def test_it_stands_on_square_card_filter_report_and_the_leads_shed(self, world, client):
        world.compare()
        assert "Look again: drawing and photograph differ by 40 mm." in world.page(client)

        def read(name, query=""):
            return client.get(reverse(name, args=[world.season.code]) + query).content.decode()

        assert "differ by 40 mm" in read("square_card", "?at=0,0")
        assert "For a second look" in read("plan_report")
        assert "?only=look" in read("plan")
        assert "by 40 mm" in read("shed")
        client.force_login(world.crew.account, "records.sign_in.PasswordBackend")
        assert "by 40 mm" not in read("shed")


class TestPage:
    def test_it_is_sent_from_the_page_and_told_in_one_sentence(self, world, client):
        page = world.page(client, by=world.crew)
        assert "data-compare-form" in page
        fields = {
            "id": str(uuid4()),
            "frame": str(world.frame.pk),
            "drawing_placement": str(world.drawn.placement_id),
            "photo_placement": str(world.frame.placement_id),
            "points": json.dumps(points_off(0.06)),
        }
        url = reverse("comparison_new", args=[world.season.code, world.drawn.pk])

        answer = client.post(url, fields, follow=True)

        text = answer.content.decode()
        assert "The frame was probably laid or marked askew" in text
        assert "shifted by 60 mm" in text
        assert Comparison.objects.count() == 1
        refused = client.post(url, fields | {"id": str(uuid4()), "points": "[[1,2"})
        assert refused.status_code == 422
        assert "Pick them again" in refused.content.decode()

    def test_what_is_left_is_reproduced_from_the_column_by_the_formula_beside_it(self, world):
        points = [[x, y, x + dx, y + dy] for (x, y), (dx, dy) in zip(PLACES, ERRORS_M, strict=True)]

        told = compared(world.compare(points), world.square, 30)

        left2 = [float(row.left_mm) ** 2 for row in told.rows]
        by_hand = math.sqrt(sum(left2) / (len(left2) - 2))
        assert "6 features" in told.fit
        assert "Σ(left then)² ÷ (6 − 2)" in told.fit
        said = float(re.search(r"lie (\d+\.\d) mm apart", told.fit)[1])
        assert said == pytest.approx(by_hand, abs=0.1)  # the column has a tenth of a millimetre

    def test_a_reader_sees_it_and_picks_nothing(self, world, client):
        made = world.compare()
        reader = make_member(world.season.site, Role.READER)

        page = world.page(client, by=reader)

        assert "differ by 40 mm" in page
        assert "data-compare-form" not in page
        own = client.get(reverse("comparison", args=[world.season.code, made.pk]))
        assert own.status_code == 200
        assert world.crew.account.name not in own.content.decode()

    def test_too_few_features_are_told_with_the_reason(self, world):
        made = make_comparison(world.drawn, world.frame)
        made.points_m = made.points_m[:2]

        shown = compared(made, world.square, 30)

        assert "Two points always fit" in shown.fit
        assert [row.left_mm for row in shown.rows] == ["", ""]
