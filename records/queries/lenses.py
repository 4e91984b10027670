"""A set-up's lens page: what is known, what the board's pictures and the base's marks say."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from records.intake.calibrating import BoardTold, LensFound, board_told, lens_words, marks_told
from records.models import LensFrom, TowerSetUp
from records.queries.marks import one_figure


@dataclass(frozen=True)
class PictureShown:
    row: object
    words: str
    off: str


@dataclass(frozen=True)
class LensPage:
    """`answer` first; `by_marks`: a lens, or in `marks_refused` why there is none."""

    answer: str
    kept: str
    board: BoardTold
    pictures: list[PictureShown]
    by_marks: LensFound | None
    marks_refused: str

    @property
    def dots(self) -> str:
        """Where the board was seen in the picture, as a path of dots."""
        return "".join(f"M{u} {v}h0" for u, v in self.board.seen_px)

    @property
    def sources(self) -> list[str]:
        """What a lens may be kept from, the better one first."""
        found = {LensFrom.BOARD: self.board.found, LensFrom.MARKS: self.by_marks}
        return [str(source) for source, one in found.items() if one is not None]


def lens_page(set_up: TowerSetUp) -> LensPage:
    board, by_marks = board_told(set_up), marks_told(set_up)
    found = by_marks if isinstance(by_marks, LensFound) else None
    return LensPage(
        answer=_answer(set_up, board),
        kept=lens_words_of(set_up),
        board=board,
        pictures=[
            PictureShown(one.row, one.words, "" if one.off_px is None else one_figure(one.off_px))
            for one in board.pictures
        ],
        by_marks=found,
        marks_refused="" if isinstance(by_marks, LensFound) else by_marks,
    )


def lens_words_of(set_up: TowerSetUp) -> str:
    """How the lens in use was found; nothing where none is known."""
    return lens_words(set_up.lens) if set_up.lens is not None and set_up.lens.found_from else ""


def _answer(set_up: TowerSetUp, board: BoardTold) -> str:
    if board.is_waiting:
        return _("The board is being looked for in its pictures.")
    if board.found is not None:
        return _("The board's pictures give a lens. Look at what it is worth, then keep it.")
    if board.pictures:
        return _("The board's pictures do not give a lens yet.")
    if set_up.lens is not None:
        return _("The lens %(name)s is in use.") % {"name": set_up.lens.name}
    return _("No lens is known: its frames are laid as if it drew straight lines straight.")
