"""Everything that people read: sentences and words in every language, and numbers in every system of units.

One data file a language (``en.toml``, ``de.toml``) holds all words, so that a translation is a data file.
"""

from hosewright.words.cited import cited, cited_data
from hosewright.words.figures import (
    MOST,
    READINGS,
    US,
    Figures,
    Reading,
    System,
    read,
    read_difference,
    reading,
    whole_mm,
)
from hosewright.words.sentence import (
    Figure,
    Name,
    Sentence,
    Value,
    as_data,
    nearest_names,
    one_after_another,
    said_by,
    written,
)
from hosewright.words.texts import LANGUAGES, Texts

__all__ = [
    "LANGUAGES",
    "MOST",
    "READINGS",
    "US",
    "Figure",
    "Figures",
    "Name",
    "Reading",
    "Sentence",
    "System",
    "Texts",
    "Value",
    "as_data",
    "cited",
    "cited_data",
    "nearest_names",
    "one_after_another",
    "read",
    "read_difference",
    "reading",
    "said_by",
    "whole_mm",
    "written",
]
