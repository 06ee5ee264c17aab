import runpy
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[2] / "examples" / "legged" / "write.py"


@pytest.fixture(scope="session")
def write():
    """The example's function that writes the job with the robot's files into a folder."""
    return runpy.run_path(str(EXAMPLE))["write"]


@pytest.fixture(scope="session")
def job_path(write, tmp_path_factory):
    """The walking machine's job, with the robot's files from the installed package beside it."""
    return write(tmp_path_factory.mktemp("legged"))
