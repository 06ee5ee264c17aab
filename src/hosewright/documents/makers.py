"""All papers of a job."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator

from hosewright.documents import bill, build_sheet, geometry_files, installation, proof, tags
from hosewright.documents.bundle import Bundle

MAKERS: tuple[Callable[[Bundle], Iterator[tuple[str, bytes]]], ...] = (
    build_sheet.files,
    installation.files,
    proof.files,
    tags.files,
    bill.files,
    geometry_files.files,
)
"""Each makes its files, names and contents."""


def all_files(bundle: Bundle) -> Iterator[tuple[str, bytes]]:
    """The contract and every paper made from it."""
    yield "result.json", (json.dumps(bundle.data, indent=2, ensure_ascii=False) + "\n").encode()
    for files in MAKERS:
        yield from files(bundle)
