"""Traced features drawn at scale: an SVG whose units are millimetres on paper, +y up.

mm = m × 1000 / scale. The sheet carries the edges and labels of the squares, a scale bar and a
legend; kinds are told apart by line, filling and letters (`survey.outline_looks`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from survey.errors import demand_positive
from survey.outline_looks import Look, look_of
from survey.outlines import Shape, Trace

MARGIN_MM = 12.0
LINE_MM = 6.0  # from one line of lettering to the next
LETTER_MM = 3.2
KEY_MM = (14.0, 5.0)
COLUMN_MM = 62.0  # of the legend
NARROWEST_MM = 80.0
MARKER_MM = 1.2  # half the length of a point's arms
BARS_M = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50)


@dataclass(frozen=True)
class KindShown:
    """A kind of feature: its letters, its name, and the number of its look."""

    letters: str
    name: str
    look: int


@dataclass(frozen=True, eq=False)
class Shown:
    """A feature on the sheet. `id` is the element's; `words`: its title, for who points at it;
    `mark`: what is written beside it, else its kind's letters."""

    id: str
    trace: Trace
    kind: KindShown
    words: str = ""
    mark: str = ""


@dataclass(frozen=True)
class SquareShown:
    """A square's label and its box x_min, y_min, x_max, y_max on the grid, m."""

    label: str
    box_m: tuple[float, float, float, float]


@dataclass(frozen=True)
class SheetWords:
    """What the sheet says, in the reader's language."""

    title: str
    lines: tuple[str, ...] = ()
    legend: str = "Legend"


@dataclass(frozen=True)
class _Paper:
    """From grid to paper: x to the right, y down from the upper edge, mm."""

    x_m: float
    y_m: float
    mm_a_metre: float

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        x = MARGIN_MM + (x_m - self.x_m) * self.mm_a_metre
        return x, MARGIN_MM + (self.y_m - y_m) * self.mm_a_metre


def svg_at_scale(
    features: Sequence[Shown], squares: Sequence[SquareShown], scale: float, words: SheetWords
) -> str:
    """The sheet at 1 : `scale`, an SVG 1.1 document.

    It holds all `squares` and all of every feature. Raises ValueError where there is neither, and
    for a scale that is not more than 0.
    """
    demand_positive("scale", scale)
    boxes = [one.box_m for one in squares] + [one.trace.box_m for one in features]
    if not boxes:
        raise ValueError("A sheet shows a square or a feature, not nothing.")
    x_min, y_min = min(one[0] for one in boxes), min(one[1] for one in boxes)
    x_max, y_max = max(one[2] for one in boxes), max(one[3] for one in boxes)
    paper = _Paper(x_min, y_max, 1000.0 / scale)
    kinds = sorted({one.kind for one in features}, key=lambda one: one.look)
    width = max((x_max - x_min) * paper.mm_a_metre, NARROWEST_MM) + 2 * MARGIN_MM
    below = MARGIN_MM + (y_max - y_min) * paper.mm_a_metre + LINE_MM * 1.5
    foot, height = _foot(words, kinds, below, width, paper.mm_a_metre)
    return "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{_n(width)}mm" '
            f'height="{_n(height)}mm" viewBox="0 0 {_n(width)} {_n(height)}" '
            f'font-family="sans-serif" font-size="{LETTER_MM}" fill="#000" stroke="none">',
            f"<title>{escape(words.title)}</title>",
            f"<desc>{escape(' '.join(words.lines))}</desc>",
            *_fillings(kinds),
            f'<rect width="{_n(width)}" height="{_n(height)}" fill="#fff"/>',
            *(_square(one, paper) for one in squares),
            *(_feature(one, paper) for one in features),
            *foot,
            "</svg>\n",
        ]
    )


def path_data(trace: Trace, places: Iterable[tuple[float, float]], arm: float) -> str:
    """SVG path data through the points of a feature as they stand on a sheet or screen.

    A point is a cross of the given arm, in the sheet's unit.
    """
    seen = [(_n(x), _n(y)) for x, y in places]
    if trace.shape is Shape.POINT:
        (x, y), a = seen[0], _n(arm)
        return f"M{x} {y}m-{a} 0h{_n(2 * arm)}m-{a}-{a}v{_n(2 * arm)}"
    line = "L".join(f"{x} {y}" for x, y in seen)
    return f"M{line}Z" if trace.shape is Shape.AREA else f"M{line}"


def _fillings(kinds: Iterable[KindShown]) -> list[str]:
    lines = ["<defs>"]
    for kind in kinds:
        look = look_of(kind.look)
        if look.marks:
            width, height = look.tile_mm
            lines.append(
                f'<pattern id="filling-{kind.look}" width="{width}" height="{height}" '
                f'patternUnits="userSpaceOnUse"><path d="{look.marks}" fill="none" '
                'stroke="#000" stroke-width=".2"/></pattern>'
            )
    return [*lines, "</defs>"]


def _drawn(data: str, kind: KindShown, *, is_area: bool) -> str:
    look: Look = look_of(kind.look)
    filling = "none"
    if is_area and look.is_solid:
        filling = "#000"
    elif is_area and look.marks:
        filling = f"url(#filling-{kind.look})"
    dash = " ".join(f"{one:g}" for one in look.dash_mm)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path d="{data}" fill="{filling}" stroke="#000" stroke-width="{look.line_mm}" '
        f'stroke-linejoin="round"{dashes}/>'
    )


def _feature(one: Shown, paper: _Paper) -> str:
    places = [paper.at(x, y) for x, y in one.trace.points.tolist()]
    data = path_data(one.trace, places, MARKER_MM)
    x, y = _place_of_letters(one.trace, paper)
    mark = one.mark or one.kind.letters
    return (
        f"<g id={quoteattr(one.id)}><title>{escape(one.words or one.kind.name)}</title>"
        f"{_drawn(data, one.kind, is_area=one.trace.shape is Shape.AREA)}"
        f"{_text(x, y + LETTER_MM * 0.36, mark, anchor='middle', is_bold=True)}</g>"
    )


def _place_of_letters(trace: Trace, paper: _Paper) -> tuple[float, float]:
    """Beside what they would hide: lines, points, and areas not much larger than letters."""
    x, y = paper.at(*trace.place_of_name)
    x_min, y_min, x_max, y_max = trace.box_m
    if trace.shape is Shape.AREA:
        if min(x_max - x_min, y_max - y_min) * paper.mm_a_metre > 2 * LETTER_MM:
            return x, y
        return paper.at(x_max, 0)[0] + LETTER_MM, y
    return x + 1.6, y - 1.2


def _square(one: SquareShown, paper: _Paper) -> str:
    (x, y), (right, low) = paper.at(one.box_m[0], one.box_m[3]), paper.at(*one.box_m[2:0:-1])
    return (
        f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(right - x)}" height="{_n(low - y)}" '
        f'fill="none" stroke="#000" stroke-width=".15"/>'
        f"{_text(x + 1, y + LETTER_MM + 0.6, one.label)}"
    )


def _foot(
    words: SheetWords, kinds: Sequence[KindShown], top: float, width: float, mm_a_metre: float
) -> tuple[list[str], float]:
    """Scale bar, what the sheet says, and the legend; and where the paper ends, mm."""
    room = width - 2 * MARGIN_MM
    bar_m = max((one for one in BARS_M if one * mm_a_metre <= room / 2), default=BARS_M[0])
    bar, y = bar_m * mm_a_metre, top
    told = f"{bar_m:g} m" if bar_m >= 1 else f"{bar_m * 100:g} cm"
    drawn = [
        f'<path id="scale-bar" d="M{MARGIN_MM} {_n(y - 1.5)}v3m0-1.5h{_n(bar)}m0-1.5v3" '
        'fill="none" stroke="#000" stroke-width=".4"/>',
        _text(MARGIN_MM + bar + 2, y + LETTER_MM * 0.36, told),
    ]
    for line in (words.title, *words.lines):
        y += LINE_MM
        drawn.append(_text(MARGIN_MM, y, line, is_bold=line is words.title))
    if kinds:
        y += LINE_MM * 1.4
        drawn.append(_text(MARGIN_MM, y, words.legend, is_bold=True))
    columns = max(int(room // COLUMN_MM), 1)
    for n, kind in enumerate(kinds):
        left = MARGIN_MM + (n % columns) * COLUMN_MM
        low = y + (n // columns + 1) * (KEY_MM[1] + 3)
        drawn.append(_key(kind, left, low - KEY_MM[1]))
    rows = -(-len(kinds) // columns)
    return drawn, y + rows * (KEY_MM[1] + 3) + MARGIN_MM


def _key(kind: KindShown, x: float, y: float) -> str:
    width, height = KEY_MM
    box = f"M{_n(x)} {_n(y)}h{_n(width)}v{_n(height)}h-{_n(width)}Z"
    words = _text(
        x + width + 3, y + height * 0.5 + LETTER_MM * 0.36, f"{kind.letters}  {kind.name}"
    )
    return f"{_drawn(box, kind, is_area=True)}{words}"


def _text(x: float, y: float, words: str, *, anchor: str = "start", is_bold: bool = False) -> str:
    weight = ' font-weight="bold"' if is_bold else ""
    halo = ' paint-order="stroke" stroke="#fff" stroke-width=".8"'
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}"{weight}{halo}>{escape(words)}</text>'
    )


def _n(value: float) -> str:
    """A number as SVG takes it: a ten-thousandth of a millimetre, without a needless tail."""
    return f"{round(value, 4) + 0.0:.4f}".rstrip("0").rstrip(".")
