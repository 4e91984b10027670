"""Labels of columns and rows: `K7` by letters and number, `104/212` by south-west corner."""

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from survey.errors import Unfit, UnfitError, gettext_noop

LETTERS_WITH_I_AND_O = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LETTERS_WITHOUT_I_AND_O = "ABCDEFGHJKLMNPQRSTUVWXYZ"

# Four letters and six digits: more squares than a site of 50 km holds at a side of 1 m.
_MOST_LETTERS = 4
_MOST_NUMBER = 999_999
_LETTERED = re.compile(r"([A-Z]{1,4})\s*[-/.]?\s*([0-9]{1,6})")
_CORNER = re.compile(r"(-?[0-9]{1,6})\s*/\s*(-?[0-9]{1,6})")
_WHOLE = re.compile(r"-?[0-9]{1,6}")


class Square(NamedTuple):
    """Column and row of a square, integers of any sign; squares sort by column, then row."""

    column: int
    row: int


class LabelKind(StrEnum):
    """How a grid names its squares."""

    LETTERS = "letters"
    CORNER = "corner"


@dataclass(frozen=True)
class LabelStyle:
    """Which label column 0 and row 0 bear, and in which style.

    LETTERS: `first_column` in letters, `first_row` a number from 1; after Z comes AA, and with
    `skip_i_and_o` no label holds the letters I and O. CORNER: the whole metres that the
    south-west corner of square (0, 0) bears; any sign.
    Raises UnfitError where a first label is none in its style.
    """

    kind: LabelKind = LabelKind.LETTERS
    first_column: str = "A"
    first_row: str = "1"
    skip_i_and_o: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "kind", LabelKind(self.kind))
        object.__setattr__(self, "first_column", _tidy(self.first_column))
        object.__setattr__(self, "first_row", _tidy(self.first_row))
        problem = _first_label_problem(self)
        if problem is not None:
            raise UnfitError(problem)

    @property
    def letters(self) -> str:
        """The letters in use, in their order."""
        return LETTERS_WITHOUT_I_AND_O if self.skip_i_and_o else LETTERS_WITH_I_AND_O


def number_of_letters(text: str, letters: str) -> int:
    """Position of a column label: A is 1, Z is 26, AA is 27 (24 and 25 without I and O).

    n = Σ d_i·b^(k−i), digits d from 1 to b = len(letters): bijective numeration, which has no
    zero. Raises ValueError for a letter that is not in use.
    """
    if not text or any(letter not in letters for letter in text):
        raise ValueError(f"A column label is made of the letters {letters}, not {text!r}.")
    number = 0
    for letter in text:
        number = number * len(letters) + letters.index(letter) + 1
    return number


def letters_of_number(number: int, letters: str) -> str:
    """The column label at a position, the inverse of `number_of_letters`.

    Raises ValueError for a position before 1.
    """
    if number < 1:
        raise ValueError(f"Column labels begin at position 1, not {number!r}.")
    text = ""
    while number:
        number, digit = divmod(number - 1, len(letters))
        text = letters[digit] + text
    return text


def label_problem(style: LabelStyle, side_m: float, column: int, row: int) -> Unfit | None:
    """Why a square of this style can bear no label; None where it can.

    Lettered grids end in the west at A and in the south at 1; every grid ends where a label
    would need more than four letters or six digits.
    """
    number_x, number_y = _numbers(style, side_m, column, row)
    lettered = style.kind is LabelKind.LETTERS
    if lettered and number_x < 1:
        sentence = gettext_noop(
            "The square lies %(count)s column(s) before A. A grid whose first column is called "
            "by a later letter, such as K, leaves room there."
        )
        return Unfit("column-before-a", sentence, {"count": 1 - number_x})
    if lettered and number_y < 1:
        sentence = gettext_noop(
            "The square lies %(count)s row(s) before 1. A grid whose first row bears a higher "
            "number leaves room there."
        )
        return Unfit("row-before-1", sentence, {"count": 1 - number_y})
    most_x = _MOST_NUMBER
    if lettered:
        most_x = number_of_letters(style.letters[-1] * _MOST_LETTERS, style.letters)
    if abs(number_x) > most_x or abs(number_y) > _MOST_NUMBER:
        sentence = gettext_noop("The square lies so far out that its label would be too long.")
        return Unfit("label-too-long", sentence)
    return None


def label_of_square(style: LabelStyle, side_m: float, column: int, row: int) -> str:
    """The label of a square; raises UnfitError where it can bear none (`label_problem`)."""
    problem = label_problem(style, side_m, column, row)
    if problem is not None:
        raise UnfitError(problem)
    number_x, number_y = _numbers(style, side_m, column, row)
    if style.kind is LabelKind.CORNER:
        return f"{number_x}/{number_y}"
    return f"{letters_of_number(number_x, style.letters)}{number_y}"


def read_label(style: LabelStyle, side_m: float, text: str) -> Square | Unfit:
    """The square that a person means by what was typed, small letters and blanks forgiven."""
    tidy = _tidy(text)
    if style.kind is LabelKind.CORNER:
        return _read_corner(style, int(side_m), tidy)
    return _read_lettered(style, tidy)


def _numbers(style: LabelStyle, side_m: float, column: int, row: int) -> tuple[int, int]:
    """Lettered: position of the column's letters and the row's number. Corner: whole metres."""
    if style.kind is LabelKind.CORNER:
        side = int(side_m)
        return int(style.first_column) + column * side, int(style.first_row) + row * side
    first_x = number_of_letters(style.first_column, style.letters)
    return first_x + column, int(style.first_row) + row


def _read_lettered(style: LabelStyle, text: str) -> Square | Unfit:
    match = _LETTERED.fullmatch(text)
    if match is None:
        sentence = gettext_noop(
            "“%(typed)s” is no square of this grid: a label is letters and then a number, such "
            "as K7."
        )
        return Unfit("not-a-label", sentence, {"typed": text})
    letters, number = match.group(1), int(match.group(2))
    if any(letter not in style.letters for letter in letters):
        sentence = gettext_noop(
            "“%(typed)s” is no square of this grid: its labels skip the letters I and O."
        )
        return Unfit("skipped-letter", sentence, {"typed": text})
    if number < 1:
        sentence = gettext_noop("“%(typed)s” is no square of this grid: rows begin at 1.")
        return Unfit("row-before-1", sentence, {"typed": text})
    first = number_of_letters(style.first_column, style.letters)
    column = number_of_letters(letters, style.letters) - first
    return Square(column, number - int(style.first_row))


def _read_corner(style: LabelStyle, side_m: int, text: str) -> Square | Unfit:
    match = _CORNER.fullmatch(text)
    if match is None:
        sentence = gettext_noop(
            "“%(typed)s” is no square of this grid: a label is two whole numbers of metres "
            "with a stroke between them, such as 104/212."
        )
        return Unfit("not-a-label", sentence, {"typed": text})
    steps = [int(match.group(1)) - int(style.first_column), int(match.group(2))]
    steps[1] -= int(style.first_row)
    if any(step % side_m for step in steps):
        sentence = gettext_noop(
            "“%(typed)s” is not the south-west corner of a square: squares of this grid are "
            "%(side_m)s m wide and begin at %(first)s."
        )
        first = f"{style.first_column}/{style.first_row}"
        return Unfit("between-corners", sentence, {"typed": text, "side_m": side_m, "first": first})
    return Square(steps[0] // side_m, steps[1] // side_m)


def _tidy(text: str) -> str:
    """One spelling: full-width forms and the minus sign made plain, ASCII letters large."""
    plain = unicodedata.normalize("NFKC", str(text)).replace("−", "-").strip()
    return "".join(letter.upper() if letter.isascii() else letter for letter in plain)


def _first_label_problem(style: LabelStyle) -> Unfit | None:
    if style.kind is LabelKind.CORNER:
        for typed in (style.first_column, style.first_row):
            if not _WHOLE.fullmatch(typed):
                sentence = gettext_noop(
                    "“%(typed)s” cannot be the corner of the first square: give whole metres."
                )
                return Unfit("first-corner", sentence, {"typed": typed})
        return None
    if not re.fullmatch(f"[{style.letters}]{{1,4}}", style.first_column):
        sentence = gettext_noop(
            "“%(typed)s” cannot be the label of the first column: use letters from %(letters)s."
        )
        values = {"typed": style.first_column, "letters": style.letters}
        return Unfit("first-column", sentence, values)
    if not re.fullmatch("[0-9]{1,6}", style.first_row) or int(style.first_row) < 1:
        sentence = gettext_noop(
            "“%(typed)s” cannot be the label of the first row: give a whole number from 1."
        )
        return Unfit("first-row", sentence, {"typed": style.first_row})
    return None
