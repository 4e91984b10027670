"""What is printed at true size for a tower: the markers of its base's corners, and the board that
its lens is calibrated from."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.archive.print_parts import black_path, sheet_words
from records.archive.typeset import typeset
from records.models import TowerSetUp
from survey.base_corners import OUTER
from survey.calibration_board import Board
from survey.markers import MODULES, Kind, code_for, marker_modules

CORNER_NAMES = {
    1: gettext_lazy("lower left corner"),
    2: gettext_lazy("lower right corner"),
    3: gettext_lazy("upper right corner"),
    4: gettext_lazy("upper left corner"),
}
_AT = ((0, 0), (1, 0), (1, 1), (0, 1))
"""Where `Marker.corners` lie on the black, from its upper left, as shares of its side."""


def base_markers_pdf(set_up: TowerSetUp) -> bytes:
    return typeset("base-markers.typ", base_markers_of(set_up))


def base_markers_of(set_up: TowerSetUp) -> dict[str, Any]:
    return {
        "title": _("Markers for the base of %(name)s") % {"name": set_up.name},
        "steps": _steps(),
        "markers": [
            {
                "title": _("Base marker %(n)d") % {"n": number},
                "corner": str(name),
                "code": marker_svg(number),
            }
            for number, name in CORNER_NAMES.items()
        ],
        "words": _words(),
    }


def marker_svg(number: int) -> str:
    """The code on white, 14 × 14 modules, with cutting corners of its rim, and lines that lead to
    the corner of its black that lies on the base's corner."""
    modules = marker_modules(code_for(Kind.BASE, number))
    x, y = (MODULES * share for share in _AT[OUTER[number - 1]])
    out_x, out_y = (1 if x else -1), (1 if y else -1)
    lead = f"M{x + 1.3 * out_x} {y}h{1.6 * out_x}M{x} {y + 1.3 * out_y}v{1.6 * out_y}"
    cut = "M-1-1.8v-1M-1.8-1h-1M9-1.8v-1M9.8-1h1M-1 9.8v1M-1.8 9h-1M9 9.8v1M9.8 9h1"
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-3 -3 14 14">'
        f'<path fill="white" d="M-3-3h14v14h-14z"/><path d="{black_path(modules)}"/>'
        f'<path d="{lead}" stroke="black" stroke-width="0.12"/>'
        f'<path d="{cut}" stroke="black" stroke-width="0.02"/></svg>'
    )


def board_pdf() -> bytes:
    return typeset("board.typ", board_of())


def board_of() -> dict[str, Any]:
    board = Board()
    return {
        "title": _("Board for a lens"),
        "steps": _board_steps(),
        "board": board_svg(board),
        "width_mm": board.columns * board.square_mm,
        "words": _words()
        | {
            "caution": _(
                "Caution. The board is taken down for these pictures only. Two hands busy with a "
                "board and a camera are no hands for anything else: who dives, how deep and how "
                "long is for the diving supervisor, local regulations and licensed practice."
            )
        },
    }


def board_svg(board: Board) -> str:
    """Chequers and codes, a unit a millimetre."""
    side, width, height = board.square_mm, board.columns, board.rows
    black = "".join(
        f"M{x:g} {y:g}h{side:g}v{side:g}h-{side:g}z" for x, y in board.black_squares_mm()
    )
    codes = "".join(_code_path(*one, board.marker_mm) for one in board.codes_mm())
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" '
        f'viewBox="0 0 {width * side:g} {height * side:g}">'
        f'<path fill="white" d="M0 0h{width * side:g}v{height * side:g}h-{width * side:g}z"/>'
        f'<path d="{black}{codes}"/></svg>'
    )


def _code_path(x: float, y: float, modules: Any, side_mm: float) -> str:
    step = side_mm / len(modules)
    side = step + 0.01  # neighbours overlap by a hair: no white line between them
    return "".join(
        f"M{x + column * step:.4f} {y + row * step:.4f}h{side:.4f}v{side:.4f}h-{side:.4f}z"
        for row, column in zip(*modules.nonzero(), strict=True)
    )


def _board_steps() -> list[str]:
    return [
        _(
            "Print the next sheet at 100 % on A4 and measure its bar: it is 100 mm long. Glue it "
            "without a bubble on a flat, rigid plate and laminate it matt; it must not bend. For a "
            "camera high over the ground have it printed larger on plastic sheet: the lens does "
            "not mind the size, as long as all is enlarged alike."
        ),
        _(
            "Take the pictures under water, through the port, at the focus, zoom and about the "
            "distance at which the frames are taken. Air gives another lens."
        ),
        _(
            "Ten pictures or more: the board in the middle, in each corner and along each edge of "
            "the picture, and tilted by about 30° to the left, the right, up and down. It should "
            "fill about a third of the picture; it may reach beyond its edge."
        ),
        _(
            "The four corners of the picture matter most: where the board was never seen, the "
            "lens is a guess. No glare, no blur, no hand over the codes."
        ),
        _(
            "Bring the pictures in on the lens page of the set-up. It says which of them count, "
            "what is missing, and how well the lens fits pictures that had no part in it."
        ),
    ]


def _steps() -> list[str]:
    return [
        _(
            "Print at 100 %. Measure the bar on each sheet: it is 100 mm long, and the black of a "
            "marker is 80 mm wide. If your black is not 80 mm wide, note what it measures."
        ),
        _(
            "Paper swells and bends under water. Glue each marker on a flat, rigid plate (acrylic "
            "or sheet metal) and laminate it matt, or have it printed on plastic sheet; cut it at "
            "the thin marks so that its white rim stays whole. No gloss: a lamp's glare hides it."
        ),
        _(
            "Fix marker 1 to the lower left corner of the tower's base, 2 lower right, 3 upper "
            "right, 4 upper left, seen from the camera: upper is where the base's +y points, right "
            "its +x, as the tower stands at turn 0."
        ),
        _(
            "All stand upright as printed, in the plane on which the tower stands, facing "
            "the camera. The two thick lines outside the rim meet at the corner of the black that "
            "lies on the base's corner: the base is what lies between the outer edges of the black."
        ),
        _(
            "Fix them by screws or rivets, not by tape, so that nothing shifts between two dives. "
            "Then measure with a steel tape from the outer edge of the black to the outer edge, "
            "along the lower and the left side, and both diagonals: where the diagonals differ by "
            "more than 3 mm the base is not square. Enter the sizes on the set-up's page."
        ),
    ]


def _words() -> dict[str, str]:
    return sheet_words() | {
        "top": _("This edge upward, toward the base's +y"),
        "how": _(
            "Before you cut at the thin marks, write the number and an upward arrow on the back. "
            "The corner of the black between the two thick lines lies on the base's corner."
        ),
        "caution": _(
            "Caution. Fix and measure the markers with the tower on deck or ashore, secured "
            "against tipping. Leave no sharp edge or loose line on it that could catch a diver. "
            "Lifting and diving go by the diving supervisor, local regulations and licensed "
            "practice."
        ),
    }
