"""What a scan's printed lines tell of its paper, in words beside the picture."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.formats import localize
from django.utils.translation import gettext as _

from records.models import DrawnSquare, PrintedSheet, Scan, ScanState

LAID_BY_CODES = 24  # degrees of freedom: 16 corners of codes, two numbers each, less eight


@dataclass(frozen=True)
class PaperSaid:
    """`bent`: what to do about paper that was not flat; `flat`: that it was, or that this cannot
    be said. Both empty where nobody looked."""

    bent: str = ""
    flat: str = ""


def paper_said(scan: Scan | None) -> PaperSaid:
    if scan is None or scan.sheet is None or not scan.flatness:
        return PaperSaid()
    if scan.is_bent:
        return PaperSaid(bent=_bent(scan.flatness, scan.sheet))
    return PaperSaid(flat=_flat(scan.flatness))


def paper_under(drawn: DrawnSquare) -> PaperSaid:
    """Of a drawn square that lies by the codes of a scan; nothing where it was marked anew."""
    if drawn.placement.degrees_of_freedom != LAID_BY_CODES:
        return PaperSaid()
    scans = Scan.objects.filter(season=drawn.drawing.season, picture=drawn.drawing.picture_id)
    return paper_said(scans.filter(state=ScanState.FILED).select_related("sheet").first())


def _bent(said: Mapping[str, Any], sheet: PrintedSheet) -> str:
    x_mm, y_mm = said["worst_mm"]
    area, scale = sheet.layout.area, sheet.scale
    values = {
        "mm": localize(round(said["largest_mm"], 1)),
        "site": localize(round(said["largest_mm"] * scale)),
        "x": localize(round((x_mm - area.x_mm) * scale / 10)),
        "y": localize(round((area.y_mm + area.height_mm - y_mm) * scale / 10)),
    }
    return (
        _(
            "The paper was not flat, or the lens bends straight lines: between its corners the "
            "printed lines lie up to %(mm)s mm (%(site)s mm on the site) from their places, most "
            "about x %(x)s, y %(y)s cm from the marked corner. Lay it flat and photograph it "
            "again, from farther off, or accept it knowing that."
        )
        % values
    )


def _flat(said: Mapping[str, Any]) -> str:
    if said.get("largest_mm") is None:
        return (
            _(
                "Whether the paper was flat cannot be said: of %(crossings)s crossings of "
                "its printed lines %(answered)s are seen. Look whether they are straight."
            )
            % said
        )
    return _("Between its corners the printed lines lie within %(mm)s mm of their places.") % {
        "mm": localize(max(0.1, round(said["largest_mm"], 1)))
    }
