"""Settings of the whole suite."""

import gc
import os
import sys
from collections.abc import Callable

import pytest
from hypothesis import settings

from hosewright import cli

# The same cases in every run, so that a change is judged by itself; EXPLORE=1 draws new ones.
settings.register_profile("same cases", derandomize=True, deadline=None)
settings.register_profile("new cases", deadline=None)
settings.load_profile("new cases" if os.environ.get("EXPLORE") else "same cases")


@pytest.fixture(autouse=True)
def no_settings_of_the_user(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Whoever runs the tests may have settings of his own; no test shall depend on them."""
    monkeypatch.setattr("hosewright.settings.user_file", lambda: tmp_path_factory.getbasetemp() / "none.toml")


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Runs the command line with arguments; gives its exit status and what it wrote to either stream."""

    def run(*arguments: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["hosewright", *map(str, arguments)])
        status: int | str | None = 0
        try:
            cli.main()
        except SystemExit as stop:
            status = stop.code
        finally:  # the command line sets the garbage collector for a short life
            gc.unfreeze()
            gc.enable()
        out, err = capsys.readouterr()
        return int(status or 0), out, err

    return run
