"""Single files that are written for a user."""

from __future__ import annotations

from pathlib import Path


def check_file_target(path: Path) -> None:
    """Make sure that a file can be written, before what goes into it is made.

    Raises
    ------
    DataError
        It cannot.
    """
    from hosewright.documents.folder import check_file_writable

    check_file_writable(path)


def write_text(path: Path, text: str) -> None:
    """Write a file whole or not at all; a pipe or a device as it comes, and what a link leads to.

    Raises
    ------
    DataError
        It cannot be written.
    """
    from hosewright.documents.folder import write_file

    write_file(path, text.encode("utf-8"))
