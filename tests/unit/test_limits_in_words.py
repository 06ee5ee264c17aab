"""Names of the limits at which plans are tried, in both languages."""

import pytest

from build_sheet_jobs import checked
from hosewright.search import robust
from hosewright.words import Texts


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_limit_has_words(language):
    texts = Texts.load(language)
    job = checked()[0].job
    settings = [setting for run in job.runs for setting in robust.settings(run, job, job.poses)]
    names = {setting.name for setting in settings}
    assert {setting.kind for setting in settings} == {"stiffness", "ports", "clock", "orientation"}
    words = {name: texts.name(name, "limits") for name in names}
    assert len(set(words.values())) == len(names)
    for name, text in words.items():
        assert text != name
        value = name.rpartition(" ")[2]
        assert value.isalpha() or value.replace(".", texts.decimal_mark) in text


def test_a_name_that_is_not_known_stays():
    assert Texts.load("en").name("tides 0.5 high", "limits") == "tides 0.5 high"
