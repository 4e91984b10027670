"""Drawing sheets and coded boards at true size. Where things stand says `survey.print_layout`."""

from collections.abc import Sequence
from io import BytesIO
from typing import Any

import numpy as np
import numpy.typing as npt
import segno
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from PIL import Image

from records.archive.cross_index import in_runs
from records.archive.print_parts import black_path
from records.archive.typeset import typeset
from records.intake.windows import open_window
from records.models import DrawingKind, Fix, Grid, PrintedSheet, Restriction, Square
from records.queries.underlays import numbers_under, underlay_window
from survey.points import FloatArray
from survey.print_codes import PrintIdentity, PrintKind, code_modules, codes_of, qr_text
from survey.print_layout import Box, PrintLayout

FAINT = 0.2
"""Of the print's full black. Pencil as light as grey 90 has a contrast of 4.3 to 1 on the darkest
of it, where WCAG 2.2, 1.4.11, asks 3 to 1 of lines that must be seen."""

_CORNERS_OF_LEVELS = (("↖", "↗"), ("↙", "↘"))


def sheets_pdf(sheets: Sequence[PrintedSheet]) -> bytes:
    """One PDF of a pile, a page a sheet; all have the same paper."""
    pages = [_board(one) if one.is_board else _sheet(one) for one in sheets]
    beside: dict[str, bytes] = {}
    for n, (page, sheet) in enumerate(zip(pages, sheets, strict=True), start=1):
        page["page_of"] = _("page %(n)d of %(all)d") % {"n": n, "all": len(pages)}
        picture = underlay_of(sheet)
        if picture is not None:
            page["underlay"] = f"under-{sheet.mark}.jpg"
            beside[page["underlay"]] = picture
    return typeset("drawing-sheet.typ", {"pages": pages, "words": _words()}, beside)


def underlay_of(sheet: PrintedSheet) -> bytes | None:
    """The photographs under it in faint greys (JPEG); None where none is asked or drawn yet."""
    window = underlay_window(sheet)
    if window is None or not window.is_made:
        return None
    with open_window(window) as stored, Image.open(stored) as picture:
        grey = np.asarray(picture.convert("LA")).astype(np.float64)
    faint = 255.0 * (1.0 - FAINT * (1.0 - _stretched(grey[..., 0], grey[..., 1] > 0)))
    told = BytesIO()
    Image.fromarray(np.rint(faint).astype(np.uint8)).save(told, "JPEG", quality=82)
    return told.getvalue()


def _stretched(grey: FloatArray, seen: npt.NDArray[np.bool_]) -> FloatArray:
    """0 to 1 between a photograph's darkest and brightest greys; 1 where there is none."""
    low, high = np.percentile(grey[seen], (2, 98)) if seen.any() else (0.0, 255.0)
    if high - low < 1.0:
        low, high = 0.0, 255.0
    return np.where(seen, np.clip((grey - low) / (high - low), 0.0, 1.0), 1.0)


def _sheet(sheet: PrintedSheet) -> dict[str, Any]:
    grid, stage = sheet.grid, sheet.stage
    assert grid is not None  # a constraint of the row
    assert stage is not None
    squares = [one.square for one in sheet.squares.select_related("square__grid")]
    labels = [one.label for one in squares]
    title = labels[0] if len(labels) == 1 else f"{labels[0]} – {labels[-1]}"
    return _common(sheet) | {
        "kind": "sheet",
        "title": title,
        "number": str(sheet),
        "place": f"{sheet.season.site.name} · {sheet.season.code} · {stage.name}",
        "squares": [_outline(sheet, square.column, square.row, square.label) for square in squares],
        "neighbours": _neighbours(sheet, grid),
        "corner": (
            _("marked corner of %(label)s: offsets count from here")
            if len(labels) == 1
            else _("marked corner of %(label)s")
        )
        % {"label": labels[0]},
        "arrow": {
            "deg": grid.arrow_turn_deg,
            "words": _("up") if grid.is_upright else _("site north"),
        },
        "kind_words": str(DrawingKind(sheet.drawing_kind).label),
        "extents": _extents(len(labels)),
        "over": _over(numbers_under(sheet)),
        "finds": _finds(sheet, grid),
        "lies": [_("frame upright") if grid.is_upright else _("frame level"), _("on the slope")],
        "level_labels": [list(pair) for pair in _CORNERS_OF_LEVELS],
    }


def _extents(squares: int) -> list[str]:
    """What divers tick: how much is drawn, asked of each square alone once the scan is there."""
    if squares == 1:
        return [_("whole square"), _("a part of it")]
    return [_("all whole"), _("some in part")]


def _over(numbers: Sequence[int]) -> str:
    """Which photographs lie under it: whoever has the paper shall know what was drawn over."""
    words = ngettext("over photograph %(n)s", "over photographs %(n)s", len(numbers))
    return words % {"n": in_runs(numbers)} if numbers else ""


def _board(sheet: PrintedSheet) -> dict[str, Any]:
    places = [(c, r) for r in range(sheet.rows) for c in range(sheet.columns)]
    return _common(sheet) | {
        "kind": "board",
        "title": _("Board for film"),
        "number": _("board %(mark)s") % {"mark": sheet.mark},
        "place": sheet.season.site.name,
        "squares": [_outline(sheet, column, row, "") for column, row in places],
        "neighbours": [],
        "corner": _("marked corner: offsets count from here, +x right, +y up"),
        "arrow": {"deg": 0, "words": _("up: +y of the square")},
        "kind_words": "",
        "over": "",
        "finds": [],
        "level_labels": [],
        "steps": [
            _("1  Tape film over this board. Keep the four corner codes bare or under clear film."),
            _("2  Write on the film: square, whole or a part of it, number, date, divers, dive."),
            _("3  Before you peel the film, photograph it on this board, all four codes whole."),
            _("4  Bring the picture in. Say which square it is; the board says where it lies."),
        ],
    }


def _common(sheet: PrintedSheet) -> dict[str, Any]:
    layout = sheet.layout
    kind = PrintKind(sheet.kind)
    identity = PrintIdentity(kind, sheet.short, sheet.layout_version)
    across, up = layout.lines_mm()
    return {
        "paper": sheet.paper,
        "landscape": layout.is_landscape,
        "size": list(layout.size_mm),
        "area": _box(layout.area),
        "boxes": _box(layout.boxes),
        "qr": _box(layout.qr),
        "qr_svg": _svg(_qr_modules(qr_text(kind, sheet.pk))),
        "codes": [
            _box(box) | {"svg": _svg(code_modules(code))}
            for box, code in zip(layout.codes, codes_of(identity), strict=True)
        ],
        "across": across,
        "up_lines": up,
        "offsets": _offsets(layout),
        "bar": _scale_bar(layout),
        "scale": _("1:%(scale)d, a line every %(cm)s cm")
        % {"scale": layout.scale, "cm": f"{100 * layout.line_m:g}"},
        "near": _near(layout),
        "made": _("Printed %(at)s")
        % {"at": formats.date_format(sheet.season.local(sheet.made_at), "SHORT_DATETIME_FORMAT")},
        "mark": sheet.mark,
    }


def _near(layout: PrintLayout) -> str:
    if not layout.is_near_edge:
        return ""
    words = _("%(mm)s mm from the paper's edge: print without margins")
    return words % {"mm": f"{layout.area.x_mm:g}"}


def _box(box: Box) -> dict[str, float]:
    return {"x": box.x_mm, "y": box.y_mm, "w": box.width_mm, "h": box.height_mm}


def _qr_modules(text: str) -> npt.NDArray[np.bool_]:
    return np.array(list(segno.make(text, error="m", micro=False).matrix_iter(border=4))) > 0


def _svg(modules: npt.NDArray[np.bool_]) -> str:
    """Black modules; the paper is their white."""
    black = black_path(modules)
    side = len(modules)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}">'
        f'<path d="M0 0h{side}v{side}h-{side}z" fill="white"/><path d="{black}"/></svg>'
    )


def _outline(sheet: PrintedSheet, column: int, row: int, label: str) -> dict[str, Any]:
    at = np.array([column - sheet.column, row - sheet.row + 1]) * sheet.side_m
    x, y = sheet.layout.to_paper(at).tolist()
    side = sheet.side_m * sheet.layout.mm_a_metre
    return {"x": x, "y": y, "side": side, "label": label}


def _scale_bar(layout: PrintLayout) -> dict[str, Any]:
    """50 cm at the drawing's scale, a tick every 10 cm."""
    return {
        "step": 0.1 * layout.mm_a_metre,
        "from": "0",
        "to": _("%(cm)d cm at 1:%(scale)d") % {"cm": 50, "scale": layout.scale},
    }


def _offsets(layout: PrintLayout) -> list[dict[str, Any]]:
    """Along the lower and the left edge: offsets in cm within each square."""
    said = []
    for along, many in (("x", layout.columns), ("y", layout.rows)):
        for square in range(many):
            for step in layout.offsets_m:
                at = square * layout.side_m + step
                point = np.array([at, 0.0] if along == "x" else [0.0, at])
                x, y = layout.to_paper(point).tolist()
                said.append({"along": along, "x": x, "y": y, "text": f"{100 * step:g}"})
    return said


def _neighbours(sheet: PrintedSheet, grid: Grid) -> list[dict[str, Any]]:
    """What lies beyond each square of the four sides, so that a drawing is not turned round.

    `at`: the middle of that square along the side, mm of paper."""
    columns = range(sheet.column, sheet.column + sheet.columns)
    rows = range(sheet.row, sheet.row + sheet.rows)
    beyond = [("up", column, rows[-1] + 1) for column in columns]
    beyond += [("down", column, rows[0] - 1) for column in columns]
    beyond += [("left", columns[0] - 1, row) for row in rows]
    beyond += [("right", columns[-1] + 1, row) for row in rows]
    near = Square.objects.standing().filter(
        grid=grid,
        column__range=(columns[0] - 1, columns[-1] + 1),
        row__range=(rows[0] - 1, rows[-1] + 1),
    )
    there = set(near.values_list("column", "row"))
    return [
        {"side": side, "label": grid.label_of(column, row), "at": _middle(sheet, side, column, row)}
        for side, column, row in beyond
        if (column, row) in there
    ]


def _middle(sheet: PrintedSheet, side: str, column: int, row: int) -> float:
    place = np.array([column - sheet.column + 0.5, row - sheet.row + 0.5]) * sheet.side_m
    x, y = sheet.layout.to_paper(place).tolist()
    return float(x if side in ("up", "down") else y)


def _finds(sheet: PrintedSheet, grid: Grid) -> list[dict[str, Any]]:
    """Known finds within the squares, by their numbers; restricted ones are on no print."""
    side_m = sheet.side_m
    x_m, y_m = sheet.column * side_m, sheet.row * side_m
    fixes = Fix.objects.standing().filter(
        grid=grid,
        x_m__range=(x_m, x_m + sheet.columns * side_m),
        y_m__range=(y_m, y_m + sheet.rows * side_m),
        find__season=sheet.season,
        find__voided_at=None,
        find__restriction=Restriction.NONE,
    )
    said = []
    for fix in fixes.select_related("find").order_by("find__n"):
        x, y = sheet.layout.to_paper(np.array([fix.x_m - x_m, fix.y_m - y_m])).tolist()
        said.append({"x": x, "y": y, "n": str(fix.find.n)})
    return said


def _words() -> dict[str, str]:
    return {
        "divers": _("Divers"),
        "dive": _("Dive"),
        "date": _("Date"),
        "start": _("Start"),
        "end": _("End"),
        "levels": _("Levels at the corners (depth, m)"),
        "notes": _("Notes"),
        "bar": _("100 mm: if this bar is not 100 mm long, print again at 100 %."),
        "codes": _("Keep the four corner codes and their white rims clean: they file the scan."),
        "caution": _(
            "Caution. This sheet is no dive plan: the diving supervisor, local regulations and "
            "licensed practice decide who dives, how deep and how long."
        ),
    }
