"""ISO/IEC 7064:2003, check character systems: MOD 1271-36, two check characters for letters and digits.

It finds every single wrong character and every swap of two characters that stand fewer than 20 places apart (36^n - 1
shares no factor with 1271 = 31 x 41 that a difference of two characters could make up, for n from 1 to 19).
"""

from __future__ import annotations

import string

CHARACTERS = string.digits + string.ascii_uppercase
MODULUS = 1271
RADIX = len(CHARACTERS)


def check_characters(text: str) -> str:
    """The two characters that guard a text.

    Parameters
    ----------
    text
        Small letters count as capitals; whatever is no letter from A to Z and no digit does not count.
    """
    first, second = divmod((1 - _value(text) * RADIX**2) % MODULUS, RADIX)
    return CHARACTERS[first] + CHARACTERS[second]


def is_whole(text: str) -> bool:
    """Whether a text that ends in its check characters was read without a mistake."""
    return len(_counted(text)) > 2 and _value(text) == 1


def _counted(text: str) -> str:
    return "".join(sign for sign in text.upper() if sign in CHARACTERS)


def _value(text: str) -> int:
    value = 0
    for sign in _counted(text):
        value = (value * RADIX + CHARACTERS.index(sign)) % MODULUS
    return value
