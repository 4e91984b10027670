"""Evidence as textures: which marks of templates/_textures.html tell a square's state.

The drawing speaks from the lower left of a square, the photographs from its upper right, so that
both stand on one square and are read without colour.
"""

from dataclasses import dataclass

from django import template
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

register = template.Library()

SQUARE_SIDE = 20  # of one square in the plan's drawing, whatever its size in metres


@dataclass(frozen=True)
class Evidence:
    """What is known of one square in one stage. States, from none to done:

    drawn: none, wanted, begun, waiting (for a check), sent_back, done;
    photographed: none, wanted, begun, waiting, done. `photo_fraction` is the share covered, 0 to 1.
    An exception is its reason in words. "Said" is the divers' word, with no evidence yet. What
    waits for a check is told beside what is done or excepted.
    """

    drawn: str = "none"
    photographed: str = "none"
    photo_fraction: float = 0.0
    said_drawn: bool = False
    said_photographed: bool = False
    drawing_exception: str = ""
    photo_exception: str = ""
    drawing_waits: bool = False
    photographs_wait: bool = False

    @property
    def marks(self) -> tuple[str, ...]:
        return (*_photograph_marks(self), *_drawing_marks(self))


@dataclass(frozen=True)
class Cell:
    """One square on the plan; x, y of its upper left corner in the drawing (20 a side, y down).

    `name` is its label for scripts and readers; `label` is lettered into it where there is room.
    """

    column: int
    row: int
    x: int
    y: int
    words: str
    evidence: Evidence = Evidence()
    label: str = ""
    name: str = ""
    stands_back: bool = False  # another square is asked for

    @property
    def marks(self) -> tuple[str, ...]:
        return self.evidence.marks

    @property
    def svg(self) -> SafeString:
        """Written here, not in a template: coordinates stay out of the locale's hands, and a
        thousand squares are drawn in a moment."""
        at = f'x="{self.x}" y="{self.y}"'
        uses = "".join(f'<use href="#{mark}" {at}/>' for mark in ("q", *self.marks))
        label = (
            f'<text class="q-label" x="{self.x + 2.5}" y="{self.y + 7}">{escape(self.label)}</text>'
            if self.label
            else ""
        )
        back = ' class="q-back"' if self.stands_back else ""
        where = f'data-c="{self.column}" data-r="{self.row}" data-l="{escape(self.name)}"'
        words = f'data-w="{escape(self.words)}"'
        return mark_safe(f"<g{back} {where} {words}>{uses}{label}</g>")  # noqa: S308 - text is escaped above


def _drawing_marks(evidence: Evidence) -> tuple[str, ...]:
    if evidence.drawing_exception:
        return ("d-begun", "d-bar") if evidence.drawing_waits else ("d-bar",)
    said = ("d-said",) if evidence.said_drawn else ()
    match evidence.drawn:
        case "done":
            return ("d-done", "d-edge") if evidence.drawing_waits else ("d-done",)
        case "begun" | "waiting":
            return ("d-begun", *said)
        case "sent_back":
            return ("d-back", *said)
        case "wanted":
            return ("d-want", *said)
    return said


def _photograph_marks(evidence: Evidence) -> tuple[str, ...]:
    if evidence.photo_exception:
        return ("f-1", "f-edge", "f-bar") if evidence.photographs_wait else ("f-bar",)
    said = ("f-said",) if evidence.said_photographed else ()
    match evidence.photographed:
        case "done":
            return ("f-done", "f-edge") if evidence.photographs_wait else ("f-done",)
        case "begun" | "waiting":
            thirds = min(int(evidence.photo_fraction * 3), 2)  # the fullest field means done
            return (f"f-{thirds + 1}", "f-edge", *said)
        case "wanted":
            return ("f-want", *said)
    return said


@register.inclusion_tag("squares/_swatch.html")
def swatch(evidence: Evidence) -> dict[str, object]:
    """One square by itself, for lists and legends; words stand beside it."""
    return {"marks": evidence.marks}


LEGEND = {
    "wanted": Evidence(drawn="wanted", photographed="wanted"),
    "drawing_wanted": Evidence(drawn="wanted"),
    "photographs_wanted": Evidence(photographed="wanted"),
    "drawn": Evidence(drawn="done"),
    "photographed": Evidence(photographed="done"),
    "both": Evidence(drawn="done", photographed="done"),
    "drawing_begun": Evidence(drawn="begun"),
    "photographs_begun": Evidence(photographed="begun", photo_fraction=0.5),
    "drawn_and_waiting": Evidence(drawn="done", drawing_waits=True),
    "excepted_and_waiting": Evidence(drawing_exception="-", drawing_waits=True),
    "sent_back": Evidence(drawn="sent_back"),
    "exception": Evidence(drawing_exception="-", photo_exception="-"),
    "said": Evidence(
        drawn="wanted", photographed="wanted", said_drawn=True, said_photographed=True
    ),
    "nothing": Evidence(),
}


@register.inclusion_tag("squares/_legend.html")
def legend() -> dict[str, Evidence]:
    return {**LEGEND}
