"""Labels both ways, in both styles.

The column letters are those of any spreadsheet: column 703 is AAA, 16 384 is XFD (ECMA-376,
Office Open XML: the last column of a sheet), from memory and checked by counting in the test.
"""

import itertools
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.errors import Unfit, UnfitError
from survey.grid import (
    GridFrame,
    LabelKind,
    LabelStyle,
    Square,
    label_of,
    square_of_label,
    why_no_label,
)
from survey.labels import LETTERS_WITH_I_AND_O, letters_of_number, number_of_letters

K7 = GridFrame(labels=LabelStyle(first_column="K", first_row="7"))
CORNER = GridFrame(labels=LabelStyle(LabelKind.CORNER, "104", "212"))
SKIPPING = GridFrame(labels=LabelStyle(skip_i_and_o=True))


def _counted(alphabet):
    """Labels in order, counted out by itertools: A … Z, AA, AB …"""
    for length in itertools.count(1):
        for letters in itertools.product(alphabet, repeat=length):
            yield "".join(letters)


@pytest.mark.parametrize(
    ("frame", "square", "label"),
    [
        (K7, (0, 0), "K7"),
        (K7, (-10, -6), "A1"),
        (K7, (15, 0), "Z7"),
        (K7, (16, 3), "AA10"),
        (SKIPPING, (7, 0), "H1"),
        (SKIPPING, (8, 0), "J1"),
        (SKIPPING, (13, 0), "P1"),
        (SKIPPING, (23, 0), "Z1"),
        (SKIPPING, (24, 0), "AA1"),
        (SKIPPING, (32, 0), "AJ1"),
        (CORNER, (0, 0), "104/212"),
        (CORNER, (-105, 1), "-1/213"),
        (GridFrame(side_m=2.0, labels=CORNER.labels), (3, -1), "110/210"),
    ],
)
def test_a_square_has_its_label_and_a_label_its_square(frame, square, label):
    assert label_of(frame, *square) == label
    assert square_of_label(frame, label) == square


@pytest.mark.parametrize("typed", ["k7", " K 7 ", "K7", "K07", "k-7", "K/7", "K.7", "\uff2b\uff17"])
def test_what_a_person_types_is_understood(typed):
    assert square_of_label(K7, typed) == Square(0, 0)


@pytest.mark.parametrize("typed", ["104/212", " 104 / 212 ", "104\uff0f212"])
def test_a_typed_corner_is_understood(typed):
    assert square_of_label(CORNER, typed) == Square(0, 0)


def test_letters_follow_the_order_of_counting():
    for alphabet in (LETTERS_WITH_I_AND_O, LETTERS_WITH_I_AND_O.replace("I", "").replace("O", "")):
        for number, letters in enumerate(itertools.islice(_counted(alphabet), 20_000), start=1):
            assert letters_of_number(number, alphabet) == letters
            assert number_of_letters(letters, alphabet) == number


def test_the_last_column_of_a_spreadsheet_is_xfd():
    assert letters_of_number(16_384, string.ascii_uppercase) == "XFD"


@pytest.mark.parametrize(
    ("frame", "typed", "code"),
    [
        (K7, "", "not-a-label"),
        (K7, "7K", "not-a-label"),
        (K7, "K", "not-a-label"),
        (K7, "K7a", "not-a-label"),
        (K7, "K0", "row-before-1"),
        (K7, "K" + "7" * 5000, "not-a-label"),
        (K7, "ß7", "not-a-label"),
        (K7, "ı7", "not-a-label"),
        (K7, "104/212", "not-a-label"),
        (SKIPPING, "O7", "skipped-letter"),
        (SKIPPING, "ai7", "skipped-letter"),
        (CORNER, "K7", "not-a-label"),
        (CORNER, "104", "not-a-label"),
        (CORNER, "104.5/212", "not-a-label"),
        (GridFrame(side_m=2.0, labels=CORNER.labels), "105/212", "between-corners"),
    ],
)
def test_what_is_no_label_comes_back_in_words(frame, typed, code):
    answer = square_of_label(frame, typed)

    assert isinstance(answer, Unfit)
    assert answer.code == code
    assert str(answer).endswith(".")


def test_a_label_before_a_or_1_is_refused_in_words():
    before_a, before_1 = why_no_label(K7, -11, 0), why_no_label(K7, 0, -8)

    assert str(before_a).startswith("The square lies 1 column(s) before A.")
    assert str(before_1).startswith("The square lies 2 row(s) before 1.")
    with pytest.raises(ValueError, match="before A"):
        label_of(K7, -11, 0)


def test_a_label_longer_than_can_be_read_again_is_refused():
    assert why_no_label(K7, 0, 2_000_000).code == "label-too-long"
    assert why_no_label(K7, 500_000, 0).code == "label-too-long"
    assert why_no_label(CORNER, -2_000_000, 0).code == "label-too-long"


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"first_column": ""}, "first-column"),
        ({"first_column": "7"}, "first-column"),
        ({"first_column": "Ä"}, "first-column"),
        ({"first_column": "I", "skip_i_and_o": True}, "first-column"),
        ({"first_row": "0"}, "first-row"),
        ({"first_row": "-3"}, "first-row"),
        ({"first_row": "x"}, "first-row"),
        ({"kind": LabelKind.CORNER, "first_column": "A"}, "first-corner"),
        ({"kind": LabelKind.CORNER, "first_column": "1.5", "first_row": "2"}, "first-corner"),
    ],
)
def test_a_first_label_that_is_none_is_refused_in_words(values, code):
    with pytest.raises(UnfitError) as refused:
        LabelStyle(**values)

    assert refused.value.unfit.code == code


def test_a_style_may_come_from_stored_words():
    assert LabelStyle(kind="corner", first_column="10", first_row="-4").kind is LabelKind.CORNER
    assert LabelStyle(first_column=" k ").first_column == "K"
    with pytest.raises(ValueError, match="'roman'"):
        LabelStyle(kind="roman")


@given(
    column=st.integers(-5000, 5000),
    row=st.integers(-5000, 5000),
    first=st.tuples(st.integers(1, 2000), st.integers(1, 5000)),
    skip=st.booleans(),
)
def test_lettered_labels_come_back_as_their_squares(column, row, first, skip):
    letters = LabelStyle(skip_i_and_o=skip).letters
    style = LabelStyle(LabelKind.LETTERS, letters_of_number(first[0], letters), str(first[1]), skip)
    frame = GridFrame(labels=style)

    refused = why_no_label(frame, column, row)

    assert (refused is None) == (first[0] + column >= 1 and first[1] + row >= 1)
    if refused is None:
        assert square_of_label(frame, label_of(frame, column, row)) == Square(column, row)


@given(
    column=st.integers(-5000, 5000),
    row=st.integers(-5000, 5000),
    first=st.tuples(st.integers(-9000, 9000), st.integers(-9000, 9000)),
    side=st.integers(1, 10),
)
def test_corner_labels_come_back_as_their_squares(column, row, first, side):
    style = LabelStyle(LabelKind.CORNER, str(first[0]), str(first[1]))
    frame = GridFrame(side_m=float(side), labels=style)

    assert square_of_label(frame, label_of(frame, column, row)) == Square(column, row)
