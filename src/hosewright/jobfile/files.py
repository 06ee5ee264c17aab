"""Files that a job names. They lie in its folder or below, so that a job can be passed on as one folder."""

from __future__ import annotations

import hashlib
import warnings
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath, PureWindowsPath

from hosewright import units
from hosewright.checks.run import JobWarning
from hosewright.errors import DataError, close_names
from hosewright.geometry import Mesh, read_mesh
from hosewright.geometry.mesh import MOST_BYTES as MOST_MESH_BYTES
from hosewright.units import Kind
from hosewright.words import said_by

MOST_NAMED = 3
"""Files that a message names."""

MOST_JOB_BYTES = 1_000_000
MOST_TABLE_BYTES = 20_000_000
"""Of a CSV or URDF file."""


@dataclass
class Folder:
    """The job's folder; keeps what was read from it, so that the inputs can be told apart later.

    Attributes
    ----------
    digests
        Of every file that was read, by name.
    warnings
        About files that can be used, but are not as they should be.
    """

    root: Path
    digests: dict[str, str] = field(default_factory=dict)
    warnings: list[JobWarning] = field(default_factory=list)

    def path(self, name: str) -> Path:
        """Path of a file that the job names.

        Raises
        ------
        DataError
            The name leads out of the job's folder.
        """
        if not name.strip() or not name.isprintable():
            raise DataError(f"needs the name of a file, got {name[:60]!r}")
        if PurePosixPath(name).is_absolute() or PureWindowsPath(name).drive or PureWindowsPath(name).root:
            raise DataError(f"'{name}' is an absolute path: put the file beside the job file and name it from there")
        path = (self.root / name.replace("\\", "/")).resolve()
        if not path.is_relative_to(self.root.resolve()):
            raise DataError(f"'{name}' leads out of the job's folder: put the file beside the job file")
        return path

    def read(self, name: str, most: int = MOST_TABLE_BYTES) -> bytes:
        """Content of a file.

        Raises
        ------
        DataError
            It cannot be read, or is larger than ``most`` bytes.
        """
        data = read_bytes(self.path(name), name, most)
        self.digests[name] = hashlib.sha256(data).hexdigest()
        return data

    def text(self, name: str) -> str:
        """Text of a file in UTF-8."""
        try:
            return self.read(name).decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise DataError(f"{name}: is not UTF-8 text (byte {error.start})") from error

    def mesh(self, name: str, unit: str) -> Mesh:
        """A mesh; whatever is doubtful about it goes to ``warnings``."""
        data = self.read(name, MOST_MESH_BYTES)
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            mesh = read_mesh(data, name, units.si(f"1 {unit}", Kind.LENGTH))
        told = (JobWarning(said_by(one.message)) for one in caught if isinstance(one.message, Warning))
        self.warnings.extend(one for one in told if one not in self.warnings)
        return mesh

    def urdf_mesh(self, meshes: str, name: str) -> Mesh:
        """A mesh as a URDF file names it, one unit as one metre: below ``meshes``, by its path or its name alone."""
        place = name.partition("://")[2] if name.startswith("package://") else name
        inner = PurePosixPath(place)
        tries = [str(PurePosixPath(meshes, *inner.parts[skip:])) for skip in range(len(inner.parts))]
        found = next((one for one in tries if self._is_file(one)), None)
        if found is None:
            raise DataError(f"the URDF file names the mesh '{name}', which is not below the folder '{meshes}'")
        return self.mesh(found, "m")

    def _is_file(self, name: str) -> bool:
        try:
            return self.path(name).is_file()
        except (DataError, OSError):
            return False


def _inside(folder: Path) -> str:
    """The TOML files of a folder: one of them may be meant."""
    names = sorted(one.name for one in folder.glob("*.toml"))[:MOST_NAMED]
    return f", such as {' or '.join(names)}" if names else ""


def _beside(path: Path) -> str:
    """Files in the same place whose name is nearly the one that is missing."""
    try:
        close = close_names(path.name, (one.name for one in path.parent.iterdir() if one.suffix == path.suffix))
    except OSError:
        return ""
    return f". Did you mean {' or '.join(map(repr, close))}?" if close else ""


def read_bytes(path: Path, name: str, most: int) -> bytes:
    """Content of a file of at most ``most`` bytes.

    Raises
    ------
    DataError
        It cannot be read or is larger.
    """
    try:
        if path.is_dir():
            raise DataError(f"'{name}' is a folder; name a file in it{_inside(path)}")
        if not path.is_file():
            raise DataError(f"there is no file '{name}'{_beside(path)}")
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError) as error:
        raise DataError(f"{name}: cannot be read ({getattr(error, 'strerror', None) or error})") from error
    if len(data) > most:
        raise DataError(f"{name}: is larger than {most / 1e6:.0f} MB, the most that is read")
    return data
