"""What findings are about, in the words of a language; names that a user gave stay as they are."""

from __future__ import annotations

import re

from hosewright.words import Texts

_WITH_NAME = {
    "end": re.compile(r"end (?P<name>[ab])"),
    "clamp": re.compile(r"clamp (?P<name>.+)"),
    "shared": re.compile(r"shared (?P<name>.+)"),
    "adapter": re.compile(r"adapter (?P<name>.+)"),
    "span": re.compile(r"(?P<first>.+) to (?P<last>.+)"),
}
"""Subjects with a name in them by the key of their words, the more special ones first."""

_OTHER_HOSE = "hose "
"""Before the name of a run, in clearances."""


def span_in_words(span: str, texts: Texts) -> str:
    """Free hose between two held places, such as ``"a to m1"``."""
    found = _WITH_NAME["span"].fullmatch(span)
    return span if found is None else texts("subjects.span", **found.groupdict())


def subject_in_words(rule: str, subject: str, texts: Texts) -> str:
    """The subject of a finding; empty for the only span of a hose without clamps."""
    if rule == "clearance" and subject.startswith(_OTHER_HOSE):
        return texts("subjects.other_hose", name=subject.removeprefix(_OTHER_HOSE))
    if rule in ("clearance", "guard"):
        return subject  # a part of the machine, a place where people stand
    if subject == "a to b":
        return ""
    known = texts.section("subjects")
    if subject in known:
        return known[subject]
    for key, pattern in _WITH_NAME.items():
        found = pattern.fullmatch(subject)
        if found is not None:
            return texts(f"subjects.{key}", **found.groupdict())
    return subject
