"""Put the walking machine's job and the robot's own files into one folder: ``python write.py FOLDER``.

The robot comes from the package ``example-robot-data`` (``pip install 'hosewright[robots]'``), whose folder differs
from place to place; a job only reads files beside or below itself, so that it can be passed on whole. The description
of this robot is under the Apache License 2.0, as the README in its folder says.
"""

from __future__ import annotations

import shutil
import sys
from importlib import metadata
from pathlib import Path

PACKAGE, ROBOT, JOB = "example-robot-data", "hyq_description", "legged.toml"


def write(folder: Path) -> Path:
    """Write the job with the robot's files; gives the job's path."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copytree(robot_folder(), folder / ROBOT, dirs_exist_ok=True)
    return Path(shutil.copy(Path(__file__).with_name(JOB), folder))


def robot_folder() -> Path:
    """Where the package keeps the robot."""
    try:
        package = metadata.distribution(PACKAGE)
    except metadata.PackageNotFoundError:
        raise SystemExit(f"The package {PACKAGE} is not installed: pip install 'hosewright[robots]'") from None
    readme = next((file for file in package.files or () if file.parts[-2:] == (ROBOT, "README.md")), None)
    if readme is None:
        raise SystemExit(f"The package {PACKAGE} {package.version} holds no {ROBOT}; version 6 does")
    return Path(str(package.locate_file(readme))).parent


if __name__ == "__main__":
    if len(sys.argv) != 2:
        raise SystemExit("usage: python write.py FOLDER")
    print(f"The job is {write(Path(sys.argv[1]))}")
