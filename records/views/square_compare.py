"""How the page of a square lets its drawing be compared with its photograph."""

from dataclasses import dataclass

from records.forms.comparisons import ComparisonForm
from records.models import Frame
from records.permissions import May
from records.queries.square_page import Asked, SquarePage
from records.views.fieldwork import may_until_deposited
from records.views.frame import PageRequest
from records.views.square_choice import query_of


@dataclass(frozen=True)
class Compare:
    """`form` where one drawing and one photograph are shown; else `url` of a page that shows them,
    or neither where there is nothing to compare or nobody who may."""

    form: ComparisonForm | None = None
    url: str = ""


def compare_on(request: PageRequest, page: SquarePage, asked: Asked) -> Compare:
    drawn, frames = page.drawing.shown, page.photographs.shown
    if drawn is None or not frames or not may_until_deposited(request, May.RECORD):
        return Compare()
    if len(frames) > 1:
        best = frames[0].frame.photograph.n
        return Compare(url=query_of(asked, frame=str(best)) + "#compare")
    placed = {
        "frame": frames[0].frame_id,
        "drawing_placement": drawn.placement_id,
        "photo_placement": frames[0].frame.placement_id,
    }
    return Compare(ComparisonForm(Frame.objects.none(), initial=placed))
