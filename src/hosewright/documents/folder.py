"""A folder of papers, or one file, written whole or not at all."""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Set
from pathlib import Path

from hosewright.errors import DataError

CONTENTS = "contents.json"
"""Names the files of the folder that the program wrote, so that writing it again removes those that are out of date."""


def slug(text: str) -> str:
    """A text as part of a file name: letters, digits, dots and dashes, of any alphabet."""
    return re.sub(r"[^\w.-]+", "-", text).strip("-._")[:60] or "assembly"


def write_folder(folder: Path, files: Iterable[tuple[str, bytes]]) -> list[Path]:
    """Write files into a folder; what else lies there stays, files that an earlier call wrote go.

    All files are made and lie beside each other before the first one takes its place.

    Parameters
    ----------
    folder
        Made where it is missing.
    files
        Names, which may have a folder before them, and contents.

    Raises
    ------
    DataError
        The folder cannot be written; it is as it was.
    """
    contents: dict[str, bytes] = {}
    for name, content in files:
        assert name not in (CONTENTS, *contents), f"two papers are called {name}"
        contents[name] = content
    listed = json.dumps({"files": sorted(contents)}, indent=2, ensure_ascii=False) + "\n"
    contents[CONTENTS] = listed.encode()
    return _written(folder, contents, _earlier(folder))


def add_files(folder: Path, contents: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder, all or none; everything else that lies there stays.

    Parameters
    ----------
    folder
        Made where it is missing.
    contents
        By name, which may have a folder before it.

    Raises
    ------
    DataError
        The folder cannot be written; it is as it was.
    """
    return _written(folder, contents, set())


def check_writable(folder: Path, names: Iterable[str]) -> None:
    """Make sure that a folder can take files, before work is put into them.

    Raises
    ------
    DataError
        It cannot, or one of the names is that of a folder there.
    """
    there = next(path for path in (folder, *folder.absolute().parents) if path.exists())
    if not there.is_dir():
        raise DataError(f"{folder}: cannot be written: '{there}' is a file; give a folder")
    taken = [name for name in names if (folder / name).is_dir()]
    if taken:
        raise DataError(f"{folder}: cannot be written: '{taken[0]}' is a folder there")
    try:
        with tempfile.TemporaryFile(dir=there):
            pass
    except OSError as error:
        raise DataError(f"{folder}: cannot be written: {error.strerror}; give another folder") from error


def write_file(path: Path, content: bytes) -> None:
    """Write one file whole or not at all; into what is no file on a disk, such as a pipe, as it comes.

    Where the path is a link, the link stays and what it leads to is written.

    Raises
    ------
    DataError
        It cannot be written.
    """
    if path.is_dir():
        raise DataError(f"{path}: is a folder; name a file in it")
    try:
        if path.exists() and not path.is_file():
            path.write_bytes(content)
        else:
            _replace(_led_to(path), content)
    except OSError as error:
        raise DataError(f"{path}: cannot be written: {error.strerror}") from error


def _replace(path: Path, content: bytes) -> None:
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _led_to(path: Path) -> Path:
    return Path(os.path.realpath(path))


def check_file_writable(path: Path) -> None:
    """Make sure that :func:`write_file` can write a file, before what goes into it is made.

    Raises
    ------
    DataError
        It cannot.
    """
    if path.exists() and not path.is_file() and not path.is_dir():
        if not os.access(path, os.W_OK):
            raise DataError(f"{path}: cannot be written: {os.strerror(errno.EACCES)}")
        return
    target = _led_to(path)
    if not target.parent.is_dir():
        raise DataError(f"{path}: cannot be written: there is no folder '{target.parent}'")
    check_writable(target.parent, [target.name])


def _written(folder: Path, contents: Mapping[str, bytes], earlier: Set[str]) -> list[Path]:
    try:
        _write(folder, contents, earlier - contents.keys())
    except OSError as error:
        raise DataError(f"{folder}: cannot be written: {error.strerror}; nothing was changed") from error
    return [folder / name for name in contents]


def _write(folder: Path, contents: Mapping[str, bytes], stale: Iterable[str]) -> None:
    new = not folder.exists()
    place = folder.parent if new else folder  # on the same disk, so that moving is only a change of names
    place.mkdir(parents=True, exist_ok=True)
    part = place / f".{folder.resolve().name}.{os.getpid()}.part"
    try:
        for name, content in contents.items():
            (part / name).parent.mkdir(parents=True, exist_ok=True)
            (part / name).write_bytes(content)
        if new:
            part.rename(folder)
        else:
            _move(part, folder, contents, stale)
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _move(part: Path, folder: Path, contents: Mapping[str, bytes], stale: Iterable[str]) -> None:
    for name in contents:
        if (folder / name).is_dir():
            raise IsADirectoryError(None, f"'{name}' is a folder there")
    for name in contents:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (part / name).replace(folder / name)
    for name in stale:
        (folder / name).unlink(missing_ok=True)


def _earlier(folder: Path) -> set[str]:
    """Files that an earlier call wrote into the folder, none outside of it."""
    try:
        named = [str(name) for name in json.loads((folder / CONTENTS).read_text(encoding="utf-8"))["files"]]
    except (OSError, ValueError, LookupError, TypeError):
        return set()
    root = folder.resolve()
    return {name for name in named if (root / name).is_file() and (root / name).resolve().is_relative_to(root)}
