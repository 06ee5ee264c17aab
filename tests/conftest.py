"""Settings of the whole suite."""

import os

import pytest
from hypothesis import settings

# The same cases in every run, so that a change is judged by itself; EXPLORE=1 draws new ones.
settings.register_profile("same cases", derandomize=True, deadline=None)
settings.register_profile("new cases", deadline=None)
settings.load_profile("new cases" if os.environ.get("EXPLORE") else "same cases")


@pytest.fixture(autouse=True)
def no_settings_of_the_user(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Whoever runs the tests may have settings of his own; no test shall depend on them."""
    monkeypatch.setattr("hosewright.settings.user_file", lambda: tmp_path_factory.getbasetemp() / "none.toml")
