"""Questions that need no job: what a rule means, what an end is, what the catalog holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hosewright.catalog import load as load_catalog
from hosewright.checks.explain import Explanation, explain
from hosewright.checks.profile import Profile
from hosewright.jobfile.end_words import read_end
from hosewright.search import surplus
from hosewright.service import Identification, identify
from hosewright.words import Figures

if TYPE_CHECKING:
    from hosewright.documents.catalog_table import Table


def report_figures(units: str | None = None) -> Figures:
    """Writes the numbers of a report.

    Parameters
    ----------
    units
        ``"metric"`` or ``"us"``; without them those of the user's settings, if there are any.

    Raises
    ------
    HosewrightError
        There is no such system of units, or the user's settings cannot be used.
    """
    from hosewright.settings import read_settings, read_word

    return Figures(read_settings().units if units is None else read_word("units", units))


def explain_rule(rule: str) -> str:
    """What a rule means, its figures and their sources.

    Raises
    ------
    ArgumentError
        There is no such rule.
    """
    more = {surplus.RULE: Explanation(surplus.__doc__ or "", ("surplus_part", "surplus_length", "length_increment"))}
    return explain(rule, Profile.standard(), more)


def identify_end(words: str, given: Mapping[str, Any], bolts: str | None = None) -> tuple[Identification, str]:
    """What an end in the hand may be, and the version of the catalog that was asked.

    Parameters
    ----------
    words
        Readings in words; may be empty.
    given
        Further readings by the names of ``service.Thread``, ``None`` where they were not given.
    bolts
        Spacing of a flange's bolts.

    Raises
    ------
    ArgumentError
        The readings cannot be used.
    """
    return identify(read_end(words, given, bolts)), load_catalog().version


def list_catalog(
    kind: str, words: Sequence[str], own: Sequence[Path] = (), units: str | None = None
) -> tuple[Table, str]:
    """What the catalog holds of a kind, as a table, and the catalog's version.

    Parameters
    ----------
    kind, words
        As for :func:`hosewright.documents.catalog_table.catalog_table`.
    own
        Files of own data.
    units
        As for :func:`report_figures`.

    Raises
    ------
    HosewrightError
        There is no such kind or system of units, or a file cannot be used.
    """
    from hosewright.documents.catalog_table import catalog_table

    catalog = load_catalog()
    for path in own:
        catalog = catalog.with_own(path)
    return catalog_table(kind, words, catalog, report_figures(units)), catalog.version
