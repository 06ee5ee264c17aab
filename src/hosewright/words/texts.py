"""Words on paper: one data file a language, looked up by ``section.key``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from hosewright.errors import ArgumentError, nearest

LANGUAGES = ("en", "de")


@dataclass(frozen=True, eq=False)
class Texts:
    """All words of one language.

    Attributes
    ----------
    language
        As the standard codes call it: ``"en"``, ``"de"``.
    words
        Sections of sentences; what stands in braces is filled in.
    """

    language: str
    words: Mapping[str, Mapping[str, str]]

    @staticmethod
    def load(language: str) -> Texts:
        """The words of a language.

        Raises
        ------
        ArgumentError
            There is no such language.
        """
        if language not in LANGUAGES:
            raise ArgumentError(f"no language '{language}'.{nearest(language, LANGUAGES)}")
        return _loaded(language)

    def __call__(self, key: str, **values: object) -> str:
        """A sentence with its values filled in; ``key`` is ``"section.key"``."""
        section, _, name = key.partition(".")
        return self.words[section][name].format_map(values)

    def section(self, name: str) -> dict[str, str]:
        """All words of a section, for a template; those with places to fill in are used by their key."""
        return dict(self.words[name])

    def name(self, words: str, section: str = "names") -> str:
        """Words of data in this language; as they are where the section has none for them.

        In ``"connections"``, whose words are a family, a size and a half, family and half are looked up each; in
        ``"limits"`` the words before a figure, which is filled in.
        """
        known = self.words[section]
        if section == "limits":
            return self._limit(words)
        if section != "connections" or words in known:
            return known.get(words, words)
        family = max((name for name in known if words.startswith(f"{name} ")), key=len, default="")
        size, _, half = words.removeprefix(family).strip().rpartition(" ")
        return " ".join(part for part in (known.get(family, ""), size, known.get(half, half)) if part)

    def _limit(self, words: str) -> str:
        known, (key, _, value) = self.words["limits"], words.rpartition(" ")
        if words in known:
            return known[words]
        return known[key].format(value=value.replace(".", self.decimal_mark)) if key in known else words

    @property
    def decimal_mark(self) -> str:
        """Sign before the decimals of a number."""
        return self("common.decimal_mark")


@cache
def _loaded(language: str) -> Texts:
    text = resources.files("hosewright.words").joinpath(f"{language}.toml").read_text(encoding="utf-8")
    return Texts(language, tomllib.loads(text))
