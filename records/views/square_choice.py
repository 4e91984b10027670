"""What the page of a square shows: read from its address, and written into its links."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.models import Season, Stage
from records.queries.evidence import whole_percent
from records.queries.square_page import Asked, SquarePage

LAYERS = ("finds", "features", "lines")  # what may be hidden
FEW = 5  # chips of frames; the others fold away


def read_asked(season: Season, query: QueryDict) -> Asked:
    """A stage that is not there is not found; a drawing or frame that is gone is let go."""
    stage = None
    if order := query.get("stage"):
        stages = Stage.objects.standing().filter(season=season).select_related("season")
        stage = next((one for one in stages if str(one.order) == order), None)
        if stage is None:
            raise Http404
    drawing = query.get("drawing", "")
    return Asked(
        stage=stage,
        drawing=int(drawing) if drawing.isdecimal() and len(drawing) < 10 else None,
        frame=query.get("frame", ""),
        hidden=frozenset(query.get("hide", "").split(",")) & frozenset(LAYERS),
    )


def query_of(asked: Asked, **changed: Any) -> str:
    said = vars(asked) | changed
    query = {
        "stage": said["stage"].order if said["stage"] else "",
        "drawing": said["drawing"] or "",
        "frame": said["frame"],
        "hide": ",".join(sorted(said["hidden"])),
    }
    return "?" + urlencode({name: value for name, value in query.items() if value != ""})


@dataclass(frozen=True)
class Chip:
    words: str
    query: str
    is_current: bool


def drawing_chips(page: SquarePage, asked: Asked) -> list[Chip]:
    """One a drawing, where there are several."""
    pane = page.drawing
    if len(pane.all) < 2:
        return []
    return [
        Chip(
            _("drawing %(n)s") % {"n": one.drawing.n},
            query_of(asked, drawing=one.drawing.n),
            one == pane.shown,
        )
        for one in pane.all
    ]


def frame_chips(page: SquarePage, asked: Asked) -> tuple[list[Chip], list[Chip]]:
    """All frames laid together, then each, where there are several; the first, and the others."""
    chips = _frame_chips(page, asked)
    return chips[:FEW], chips[FEW:]


def _frame_chips(page: SquarePage, asked: Asked) -> list[Chip]:
    pane = page.photographs
    if len(pane.all) < 2:
        return []
    together = ngettext("all %(n)s together", "all %(n)s together", len(pane.all))
    return [
        Chip(together % {"n": len(pane.all)}, query_of(asked, frame="all"), pane.is_together),
        *(
            Chip(
                _("photo %(n)s: %(percent)s %%")
                % {"n": one.frame.photograph.n, "percent": whole_percent(one.fraction)},
                query_of(asked, frame=str(one.frame.photograph.n)),
                pane.shown == [one],
            )
            for one in pane.all
        ),
    ]


def layer_chips(asked: Asked) -> list[Chip]:
    """What lies over both pictures; a tap shows or hides it."""
    words = {"finds": _("Finds"), "features": _("Features"), "lines": _("Grid lines")}
    return [
        Chip(
            words[layer], query_of(asked, hidden=asked.hidden ^ {layer}), layer not in asked.hidden
        )
        for layer in LAYERS
    ]
