"""Everything that people read: sentences and words in every language, and numbers in every system of units.

One data file a language (``en.toml``, ``de.toml``) holds all words, so that a translation is a data file.
"""

from hosewright.words.figures import MOST, READINGS, US, Figures, Reading, System, read, read_difference, reading
from hosewright.words.sentence import Figure, Sentence, Value, as_data
from hosewright.words.texts import LANGUAGES, Texts

__all__ = [
    "LANGUAGES",
    "MOST",
    "READINGS",
    "US",
    "Figure",
    "Figures",
    "Reading",
    "Sentence",
    "System",
    "Texts",
    "Value",
    "as_data",
    "read",
    "read_difference",
    "reading",
]
