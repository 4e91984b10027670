"""How wide the columns of a printed table are, so that none falls off the page or over another."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

LETTERS_A_LINE = 178
"""Of an A4 page across, in letters as they come on average in the index's size."""

WIDE_LETTERS = 18
"""A column whose longest entry has more letters than this may break its lines."""

LEAST_LETTERS = 14
"""Of such a column on a line."""

BETWEEN_LETTERS = 1.5
"""The white between two columns."""

_BREAKS = re.compile(r"\s+|(?<=-)(?=[^\d\s])")
"""A line also breaks behind the hyphen of HL26-drawing-12."""


@dataclass(frozen=True)
class _Column:
    """`word`: its longest one, `longest`: its longest entry, in letters."""

    word: int
    longest: int

    @property
    def is_wide(self) -> bool:
        return self.longest > WIDE_LETTERS

    @property
    def least(self) -> int:
        return max(self.word, LEAST_LETTERS) if self.is_wide else self.word

    @property
    def on_a_line(self) -> int:
        return self.least if self.is_wide else max(self.word, self.longest)

    @property
    def root(self) -> float:
        return float(min(self.longest, 160) ** 0.5) if self.is_wide else 0.0


def column_widths(header: Sequence[str], rows: Sequence[Sequence[str]]) -> tuple[list[str], float]:
    """Of each column its share of the page's width, and how much smaller than usual the letters.

    Short entries stay on a line where all of them fit. No column is narrower than its longest
    word, none with long entries than `LEAST_LETTERS`; where these do not fit, letters shrink.
    What is left goes to long entries, by the root of their length. Without rows there is nothing
    to print.
    """
    if not rows:
        return [], 1.0
    columns = [_column(head, [row[i] for row in rows]) for i, head in enumerate(header)]
    line = LETTERS_A_LINE - BETWEEN_LETTERS * len(columns)
    least = sum(one.least for one in columns)
    on_a_line = sum(one.on_a_line for one in columns)
    size = min(1.0, line / least)
    stays = on_a_line <= line
    spare = line / size - (on_a_line if stays else least)
    a_root = spare / (sum(one.root for one in columns) or 1.0)
    widths = [(one.on_a_line if stays else one.least) + a_root * one.root for one in columns]
    return [f"{width + BETWEEN_LETTERS / size:.2f}" for width in widths], round(size, 3)


def _column(head: str, cells: list[str]) -> _Column:
    words = (len(word) for text in (head, *cells) for word in _BREAKS.split(text))
    return _Column(max(words, default=0), max(map(len, cells), default=0))
