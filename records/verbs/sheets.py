"""Drawing sheets and coded boards printed ahead; each bears a number of its own in its codes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID, uuid5

from django.utils.translation import gettext as _

from records.acting import acting_account
from records.models import (
    NumberBlock,
    NumberEnd,
    NumberEndKind,
    NumberKind,
    Placement,
    PrintedSheet,
    PrintKind,
    Season,
    SheetSquare,
    SheetUnderlay,
    Square,
    SquareGoal,
    Stage,
)
from records.permissions import May
from records.refusals import Conflict, Refused, in_words
from records.verbs.blocks import next_block, numbers_out
from records.verbs.guard import (
    UNTIL_DEPOSITED,
    UNTIL_FIELDWORK_CLOSED,
    current,
    save_in_words,
    verb,
    void,
)
from survey.print_codes import short_of
from survey.print_layout import LAYOUT_VERSION, Paper, PrintLayout

MOST_SHEETS = 60


@dataclass(frozen=True)
class SheetEntry:
    """One sheet: the squares on it (a full rectangle of one grid), their stage, and what lies
    faintly under it, the lowest first."""

    squares: Sequence[Square]
    stage: Stage
    underlay: Sequence[Placement] = ()


@dataclass(frozen=True)
class PrintEntry:
    """How a pile is printed; `block`: whose numbers, else the next free ones."""

    sheets: Sequence[SheetEntry]
    paper: str = Paper.A4
    scale: int = 10
    line_m: float = 0.2
    block: NumberBlock | None = None


@dataclass(frozen=True)
class BoardEntry:
    """A board for film: squares of `side_m`, whichever they will be."""

    paper: str = Paper.A4
    scale: int = 10
    columns: int = 1
    rows: int = 1
    side_m: float = 1.0
    line_m: float = 0.2


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def print_sheets(season: Season, entry: PrintEntry, id: UUID) -> list[PrintedSheet]:
    """Sheets with numbers of their own, to be drawn on, scanned and filed by themselves."""
    if (known := _printed_before(id)) is not None:
        return known
    if not 1 <= len(entry.sheets) <= MOST_SHEETS:
        raise Refused(
            _("Print 1 to %(most)d sheets at once.") % {"most": MOST_SHEETS}, field="squares"
        )
    rows = [_sheet(season, entry, one) for one in entry.sheets]
    count = len(rows)
    block = entry.block
    if block is None:
        purpose = _("printed drawing sheets")
        block = next_block(season, NumberKind.DRAWING, count, str(acting_account()), purpose)
    numbers = _unprinted(season, block)
    if len(numbers) < count:
        raise Refused(
            _("This block has only %(left)d numbers left for sheets.") % {"left": len(numbers)},
            field="block",
        )
    for number, row, said in zip(numbers, rows, entry.sheets, strict=False):
        row.n, row.block = number, block
        _save(row, id, number)
        for square in said.squares:
            SheetSquare.objects.create(sheet=row, square=square)
        for place, placement in enumerate(said.underlay):
            SheetUnderlay.objects.create(sheet=row, placement=placement, place=place)
    return rows


@verb(May.RECORD, UNTIL_FIELDWORK_CLOSED)
def print_board(season: Season, entry: BoardEntry, id: UUID) -> PrintedSheet:
    """A board, printed once and used for any squares of the site."""
    if (known := _printed_before(id)) is not None:
        return known[0]
    row = PrintedSheet(season=season, kind=PrintKind.BOARD, **vars(entry))
    _demand_fitting(row.layout)
    return _save(row, id, 0)


@verb(May.LEAD, UNTIL_DEPOSITED)
def void_sheet(sheet: PrintedSheet, reason: str) -> PrintedSheet:
    """Lost or spoilt: its number ends, and a scan of it is not filed any more."""
    row = current(PrintedSheet, sheet.pk, None)
    if row.block is not None and row.n is not None:
        ended = row.block.ends.filter(n=row.n).first()
        if ended is not None and ended.end == NumberEndKind.USED:
            raise Conflict(_("This sheet is filed already; make its drawing void instead."))
        if ended is None:
            end = NumberEnd(
                block=row.block, n=row.n, end=NumberEndKind.VOID, reason=reason.strip()[:200]
            )
            save_in_words(end)
    void(row, reason)
    return row


def _printed_before(printing: UUID) -> list[PrintedSheet] | None:
    known = list(PrintedSheet.objects.filter(printing=printing).order_by("n"))
    if known and known[0].made_by != acting_account():
        raise Conflict(_("This form was already used for another record. Open a new one."))
    return known or None


def _sheet(season: Season, entry: PrintEntry, said: SheetEntry) -> PrintedSheet:
    grid = said.squares[0].grid
    columns = sorted({one.column for one in said.squares})
    rows = sorted({one.row for one in said.squares})
    _demand_rectangle(said.squares, columns, rows)
    _demand_open(season, said.squares, said.stage)
    row = PrintedSheet(
        season=season,
        grid=grid,
        stage=said.stage,
        column=columns[0],
        row=rows[0],
        columns=len(columns),
        rows=len(rows),
        side_m=grid.side_m,
        paper=entry.paper,
        scale=entry.scale,
        line_m=entry.line_m,
    )
    _demand_fitting(row.layout)
    return row


def _demand_rectangle(squares: Sequence[Square], columns: list[int], rows: list[int]) -> None:
    is_close = all(at[-1] - at[0] + 1 == len(at) for at in (columns, rows)) and len(columns) * len(
        rows
    ) == len(squares)
    if not is_close or len({one.grid_id for one in squares}) != 1:
        raise Refused(
            _("On one sheet squares of one grid lie in a full rectangle: name a block like K7–L8."),
            field="squares",
        )


def _demand_open(season: Season, squares: Sequence[Square], stage: Stage) -> None:
    if stage.season_id != season.pk or stage.is_voided:
        raise Refused(_("This stage is void or of another season."), field="stage")
    goals = SquareGoal.objects.standing().filter(stage=stage, square__in=squares)
    open_for = set(goals.values_list("square", flat=True))
    for square in squares:
        if square.pk not in open_for:
            raise Refused(
                _("The stage “%(stage)s” is not open for %(square)s. Ask a lead to open it.")
                % {"stage": stage, "square": square},
                field="squares",
            )


def _demand_fitting(layout: PrintLayout) -> None:
    problem = layout.problem
    if problem is not None:
        raise Refused(in_words(problem), field="scale")


def _unprinted(season: Season, block: NumberBlock) -> list[int]:
    """Numbers of a block that are still out and on no sheet."""
    if block.season_id != season.pk or block.kind != NumberKind.DRAWING or block.is_voided:
        raise Refused(_("This block holds no drawing numbers of this season."), field="block")
    printed: Iterable[int] = PrintedSheet.objects.filter(season=season).values_list("n", flat=True)
    on_sheets = set(printed)
    return [n for n in numbers_out(block) if n not in on_sheets]


def _save(row: PrintedSheet, printing: UUID, number: int) -> PrintedSheet:
    """Under a key whose number in the codes no other print of this record bears."""
    salt = 0
    while True:
        key = uuid5(printing, f"{number} {salt}")
        if not PrintedSheet.objects.filter(short=short_of(key)).exists():
            break
        salt += 1
    row.id, row.short, row.printing = key, short_of(key), printing
    row.layout_version = LAYOUT_VERSION
    return save_in_words(row)
