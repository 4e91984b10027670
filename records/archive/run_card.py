"""The card of a run for the slate: its rows with boxes to tick, its settings, its first frames,
and the boards that are photographed with it: of the run, and where its rows begin and end."""

from typing import Any

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from records.archive.print_parts import code_svg, sheet_words, sheets_caution
from records.archive.run_card_map import card_map
from records.archive.typeset import typeset
from records.models import PhotoRun, RunRow
from records.queries.verdict import VerdictShown
from survey.markers import Kind

ARROWS = {0: "→", 90: "↑", 180: "←", 270: "↓"}


def run_card_pdf(run: PhotoRun) -> bytes:
    return typeset("run-card.typ", card_of(run))


def again_card_pdf(run: PhotoRun, verdict: VerdictShown) -> bytes:
    """The same for the stations that are shot again, and why."""
    return typeset("run-card.typ", _again(run, verdict))


def row_boards_pdf(run: PhotoRun) -> bytes:
    return typeset("row-boards.typ", row_boards_of(run))


def row_boards_of(run: PhotoRun) -> dict[str, Any]:
    """A sheet a row; they serve every run that has as many rows."""
    return {
        "title": _("%(run)s: row boards") % {"run": run.name},
        "sheets": [
            [_board(Kind.ROW_BEGINS, row.order), _board(Kind.ROW_ENDS, row.order)]
            for row in run.in_order
        ],
        "words": _words()
        | {"caution": sheets_caution()}
        | {"photograph": _("Photograph it whole and legible, on no station, as the row does so.")},
    }


def _again(run: PhotoRun, verdict: VerdictShown) -> dict[str, Any]:
    wanted = [run.stations[place] for place in verdict.again]
    rows = []
    for row in run.in_order:
        numbers = [station for one, station in wanted if one.pk == row.pk]
        if numbers:
            rows.append(_row_again(row, numbers))
    count = ngettext("%(n)d station", "%(n)d stations", len(wanted)) % {"n": len(wanted)}
    title = _("%(run)s: shoot again") % {"run": run.name}
    drawn = card_map(run, verdict.again, verdict.holes_m)
    return _card(run, drawn) | {
        "title": title,
        "rows": rows,
        "count": count,
        "note": verdict.sentence,
    }


def card_of(run: PhotoRun) -> dict[str, Any]:
    return _card(run, card_map(run))


def _card(run: PhotoRun, drawn: dict[str, Any]) -> dict[str, Any]:
    stations = len(run.stations)
    return {
        "title": run.name,
        "place": f"{run.season.code} · {run.grid} · {run.stage.name}",
        "made": _("as planned on %(at)s")
        % {"at": formats.date_format(run.season.local(), "DATETIME_FORMAT")},
        "count": ngettext("%(n)d station", "%(n)d stations", stations) % {"n": stations},
        "settings": [[str(label), value] for label, value in _settings(run)],
        "first": [_("Run board"), _("Colour card at depth"), _("Square tag, legible")],
        "map": drawn,
        "rows": [_row(row) for row in run.in_order],
        "note": run.note,
        "code": code_svg(Kind.RUN, run.board_number),
        "board": _("Run board %(n)d") % {"n": run.board_number},
        "words": _words(),
    }


def _board(kind: Kind, number: int) -> dict[str, str]:
    words = _("Row %(n)d begins") if kind is Kind.ROW_BEGINS else _("Row %(n)d ends")
    return {"words": words % {"n": number}, "code": code_svg(kind, number)}


def _settings(run: PhotoRun) -> list[tuple[str, str]]:
    set_up = run.set_up
    overlap = run.least_forward_overlap
    told = [
        (_("Set-up"), set_up.name),
        (_("Camera"), ", ".join(part for part in (set_up.camera, set_up.port) if part)),
        (_("Height above the base"), _metres(set_up.height_m)),
        (
            _("A picture covers"),
            f"{_number(set_up.footprint_x_m)} × {_metres(set_up.footprint_y_m)}",
        ),
    ]
    if overlap is not None:
        told.append((_("Overlap along a row"), f"{int(100 * overlap + 1e-6)} %"))
    return told


def _row(row: RunRow) -> dict[str, Any]:
    direction = row.direction_deg % 360
    return {
        "title": _("Row %(n)d") % {"n": row.order},
        "start": _("first station at x %(x)s, y %(y)s")
        % {"x": _number(row.start_x_m), "y": _metres(row.start_y_m)},
        "squares": _between(row.label_at(1), row.label_at(row.stations)),
        "arrow": ARROWS.get(int(direction), "") if direction.is_integer() else "",
        "direction": _("direction %(degrees)s°") % {"degrees": _degrees(direction)},
        "step": _("step %(step)s") % {"step": _metres(row.step_m)},
        "turn": _("tower turned by %(degrees)s°") % {"degrees": _degrees(row.turn_deg)}
        if row.turn_deg
        else "",
        "stations": [str(number) for number in row.numbers],
        "places": [],
        "ends": [_("Board: row ends"), _("Square tag")],
        "begins": _("Board: row begins"),
    }


def _row_again(row: RunRow, numbers: list[int]) -> dict[str, Any]:
    """Where each stands, since nobody counts steps to it from the row's beginning."""
    first, *others = [_place(row, number) for number in numbers]
    return _row(row) | {
        "start": first,
        "squares": "",
        "step": "",
        "stations": [str(number) for number in numbers],
        "places": others,
    }


def _place(row: RunRow, number: int) -> str:
    x_m, y_m = row.station_at(number)
    told = _("station %(n)d at x %(x)s, y %(y)s") % {
        "n": number,
        "x": _number(x_m),
        "y": _metres(y_m),
    }
    label = row.label_at(number)
    return _("%(place)s, %(square)s") % {"place": told, "square": label} if label else told


def _between(first: str, last: str) -> str:
    if not first or first == last:
        return first
    return _("%(first)s to %(last)s") % {"first": first, "last": last}


def _number(value: float) -> str:
    return formats.number_format(value, 2)


def _degrees(value: float) -> str:
    return str(formats.number_format(value, 0 if value.is_integer() else 1))


def _metres(value: float) -> str:
    return f"{_number(value)} m"


def _words() -> dict[str, str]:
    return sheet_words() | {
        "first": _("First on the card, before the first frame of a station"),
        "end": _("A legible square tag again at the end of every row."),
        "arrows": _("→ along +x, ↑ along +y, as the plan is drawn."),
        "note": _("Note"),
        "photograph": _("Photograph this sheet whole and legible before the first frame."),
        "caution": _(
            "Caution. This card plans photographs, no dive: the diving supervisor, local "
            "regulations and licensed practice decide who dives, how deep and how long. Rails "
            "and tower are lifted and moved only as the supervisor directs."
        ),
        "blank": _("Date, dive, divers, camera clock against the watch:"),
    }
