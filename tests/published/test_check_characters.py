"""Check characters of ISO/IEC 7064 against the standard's example and against what it promises to find."""

import itertools
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hosewright.standards.iso_7064 import check_characters, is_whole

CHARACTERS = string.digits + string.ascii_uppercase
NUMBERS = st.text(CHARACTERS, min_size=1, max_size=18)


def test_example_of_the_standard():
    """ISO/IEC 7064:2003, 8.2, example by the recursive method: ISO79 gives 140, which is 3W."""
    assert check_characters("ISO79") == "3W"
    assert is_whole("ISO793W")


@given(NUMBERS)
def test_a_whole_number_is_congruent_to_one(number):
    """ISO/IEC 7064:2003, 5.1: the sum of characters times powers of the radix leaves 1."""
    assert int(number + check_characters(number), 36) % 1271 == 1
    assert is_whole(number + check_characters(number))


@given(NUMBERS)
def test_every_wrong_character_is_found(number):
    whole = number + check_characters(number)
    for k, sign in itertools.product(range(len(whole)), CHARACTERS):
        if sign != whole[k]:
            assert not is_whole(whole[:k] + sign + whole[k + 1 :])


@given(NUMBERS)
def test_every_swap_of_two_characters_is_found(number):
    whole = number + check_characters(number)
    for i, k in itertools.combinations(range(len(whole)), 2):
        if whole[i] != whole[k]:
            swapped = list(whole)
            swapped[i], swapped[k] = whole[k], whole[i]
            assert not is_whole("".join(swapped))


@pytest.mark.parametrize("written", ["H-3F2A-7/{}", "h 3f2a 7 {}", "H3F2A7{}"])
def test_separators_and_small_letters_do_not_count(written):
    assert is_whole(written.format(check_characters("H-3F2A-7")))


@pytest.mark.parametrize("text", ["", "01", "--", "3W"])
def test_nothing_is_not_whole(text):
    assert not is_whole(text)
