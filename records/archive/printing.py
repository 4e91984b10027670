"""The season's index as one PDF: contents, registers, numbers, and the index by square."""

import datetime
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import formats, timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from records.acting import acting_account
from records.archive.columns import column_widths
from records.archive.cross_index import SquareEntry, cross_index
from records.archive.registers import REGISTERS, Register, Viewer
from records.archive.typeset import typeset
from records.jobs import job
from records.models import NumberKind, Season
from records.permissions import May, demand
from records.progress import Progress
from records.queries.numbers import NumberRun, numbers_of, unaccounted_in


@job("print_index", queue="long", words=gettext_lazy("Printing the season's index"))
def print_index(progress: Progress, *, season: str) -> dict[str, Any]:
    """What the asker may see, as it stands now."""
    row = Season.objects.select_related("site").get(pk=season)
    viewer = Viewer(row, demand(acting_account(), row.site, May.RECORD).role)
    with timezone.override(row.tz):
        pdf = index_pdf(viewer, progress)
    name = print_name(progress.job.pk)
    default_storage.delete(name)
    default_storage.save(name, ContentFile(pdf))
    return {"bytes": len(pdf), "shows_restricted": viewer.sees_restricted}


def print_name(job_id: Any) -> str:
    return f"prints/{job_id}.pdf"


def index_pdf(viewer: Viewer, progress: Progress | None = None) -> bytes:
    parts = []
    if progress is not None:
        progress.total(len(REGISTERS) + 2)
    for part in _parts(viewer):
        parts.append(part)
        if progress is not None:
            progress.step(part["title"])
    return typeset("index.typ", _around(viewer.season) | {"parts": parts})


def _parts(viewer: Viewer) -> Any:
    yield _squares_part(viewer)
    for register in REGISTERS.values():
        yield _register_part(register, viewer)
    yield _numbers_part(viewer)


def _around(season: Season) -> dict[str, Any]:
    missing = unaccounted_in(season)
    day = formats.date_format
    return {
        "title": _("%(season)s: archive index") % {"season": season.name},
        "site": f"{season.site.name} · {season.code}",
        "days": f"{day(season.starts_on)} – {day(season.ends_on)}",
        "made": _("as it stood on %(at)s")
        % {"at": formats.date_format(season.local(), "DATETIME_FORMAT")},
        "accounted": ngettext(
            "%(n)s number is not accounted for.", "%(n)s numbers are not accounted for.", missing
        )
        % {"n": missing}
        if missing
        else _("Every number is accounted for."),
        "caution": _(
            "This is a record of what was done. It is no dive plan: diving is for the diving "
            "supervisor to decide, under the law of the place. It gives no leave to lift or move "
            "anything."
        ),
        "words": {"page": _("Page"), "of": _("of"), "contents": _("Contents")},
    }


def _part(title: str, header: list[str], rows: list[list[str]]) -> dict[str, Any]:
    widths, size = column_widths(header, rows)
    return {
        "title": title,
        "header": header,
        "rows": rows,
        "widths": widths,
        "size": size,
        "count": ngettext("%(n)s entry", "%(n)s entries", len(rows)) % {"n": len(rows)},
        "empty": _("Nothing is entered here."),
    }


def _register_part(register: Register, viewer: Viewer) -> dict[str, Any]:
    columns = register.columns_for(viewer)
    rows = register.selected(viewer, narrowed={})
    cells = [[_in_print(column.of(row)) for column in columns] for row in rows.iterator(1000)]
    used = [i for i, column in enumerate(columns) if any(row[i] for row in cells)]
    return _part(
        str(register.label),
        [columns[i].heading for i in used],
        [[row[i] for i in used] for row in cells],
    )


def _in_print(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime.datetime):
        return formats.date_format(timezone.localtime(value), "Y-m-d H:i")
    if isinstance(value, datetime.date):
        return value.isoformat()
    return formats.localize(value) if isinstance(value, float) else str(value)


def _squares_part(viewer: Viewer) -> dict[str, Any]:
    header = [
        _("Square"),
        _("Stage"),
        _("Drawing"),
        _("Photographs"),
        _("Dives"),
        _("Drawings"),
        _("Photograph numbers"),
        _("Finds"),
        _("Sheets"),
        _("Comparisons"),
        _("Traced features"),
    ]
    rows = [row for square in cross_index(viewer) for row in square_rows(square)]
    return _part(_("Index by square"), header, rows)


def square_rows(square: SquareEntry) -> list[list[str]]:
    """A line a stage; a square with nothing wanted and nothing recorded has one bare line."""
    return [
        [
            square.label,
            str(entry.stage or ""),
            entry.state.drawing.words if entry.state else "",
            entry.state.photographs.words if entry.state else "",
            entry.dive_runs,
            ", ".join(f"{n} ({verdict})" if verdict else str(n) for n, verdict in entry.drawings),
            entry.photograph_runs,
            entry.find_runs,
            entry.sheet_runs,
            entry.comparison_words,
            entry.feature_words,
        ]
        for entry in square.stages
    ] or [[square.label, *[""] * 10]]


def number_runs(viewer: Viewer) -> list[NumberRun]:
    return [run for kind in NumberKind for run in numbers_of(viewer.season, kind, viewer)]


def _numbers_part(viewer: Viewer) -> dict[str, Any]:
    header = [_("Kind"), _("Numbers"), _("How many"), _("What became of them"), _("Why")]
    rows = [
        [
            str(run.kind.label),
            str(run.first) if run.count == 1 else f"{run.first}–{run.last}",
            str(run.count),
            run.fate,
            run.reason,
        ]
        for run in number_runs(viewer)
    ]
    return _part(_("Numbers issued and void"), header, rows)
