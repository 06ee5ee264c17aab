"""Digests of what a job says and of what was chosen for it, by which a later reading tells that one has changed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from typing import Any

from hosewright.catalog import Catalog
from hosewright.jobfile.files import Folder

NOT_SHARED = ("run", "assembly")
"""Tables of single runs and samples."""

INPUTS_LENGTH = 16
"""Digits of the digest of the inputs that are written, plenty to notice a change."""

CHOICE_LENGTH = 8
"""And of that of what was chosen."""

ONLY_PRINTED = ("title", "date")
"""Keys of [job] that no plan depends on."""


def inputs_hash(data: Mapping[str, Any], folder: Folder, catalog: Catalog) -> str:
    """Digest of all that a job says; what the program itself writes into the file does not count."""
    return _digest([{"run": [], **without_records(data)}, folder.digests, catalog.hash])


def hashes_of_runs(data: Mapping[str, Any], folder: Folder, catalog: Catalog) -> dict[str, str]:
    """By run, digest of what its plan is made from.

    That is what all runs share (machine, motions, fluid, profile, the files that the job names, the catalog) and the
    run's own table. What the other runs ask for is left out, since a check proves hose against hose anew wherever they
    lie now. The limits of a plan were tried beside the other hoses as they lay then.
    """
    shared = {**_without(data, NOT_SHARED), "job": _without(data["job"], ONLY_PRINTED)}
    common = _digest([shared, folder.digests, catalog.hash])
    runs = without_records(data).get("run", ())
    return {run["name"]: _digest([common, _without(run, ("number",))]) for run in runs}


def hash_of_choice(record: Mapping[str, Any]) -> str:
    """Digest of what was chosen and of the limits at which it was tried, as ``[run.assembly]`` holds both.

    A change of either by hand shows in it.
    """
    return _digest(_known(_without(record, ("hash", "number"))))[:CHOICE_LENGTH]


def hash_of_record(inputs: str, record: Mapping[str, Any]) -> str:
    """What is written as ``hash``: of the inputs and, where the record tells limits, of what was chosen."""
    return "-".join([inputs[:INPUTS_LENGTH], *([hash_of_choice(record)] if "limits" in record else [])])


def made_from(inputs: str, written: str) -> bool:
    """Whether a ``hash`` that is written is of these inputs."""
    first = written.partition("-")[0]
    return bool(first) and inputs.startswith(first)


def _known(value: Any) -> Any:
    """A value without what is not known: files leave that out."""
    if isinstance(value, Mapping):
        return {key: _known(part) for key, part in value.items() if part is not None}
    if isinstance(value, list | tuple):
        return [_known(part) for part in value]
    return value


def _without(table: Mapping[str, Any], keys: Collection[str]) -> dict[str, Any]:
    return {key: value for key, value in table.items() if key not in keys}


def _digest(inputs: Any) -> str:
    return hashlib.sha256(json.dumps(inputs, sort_keys=True, default=str).encode()).hexdigest()


def changed_by_hand(data: Mapping[str, Any]) -> set[str]:
    """Runs whose record is not, or cannot be shown to be, as the plan wrote it.

    The assembly or its limits were changed by hand, or limits stand there without the digest of them.
    """
    records = {run["name"]: run.get("assembly") or {} for run in data.get("run", ())}
    return {name for name, record in records.items() if not _as_planned(record)}


def _as_planned(record: Mapping[str, Any]) -> bool:
    written = record.get("hash", "").partition("-")[2]
    if not written and not record.get("limits"):  # nothing to vouch for
        return True
    return bool(written == hash_of_choice(record))


def without_records(data: Mapping[str, Any], *, keep_number: bool = False) -> dict[str, Any]:
    """A file's values without what the program wrote into its runs."""
    runs = data.get("run")
    if not isinstance(runs, list):
        return dict(data)
    return {**data, "run": [_without_record(run, keep_number) if isinstance(run, dict) else run for run in runs]}


def _without_record(run: Mapping[str, Any], keep_number: bool) -> dict[str, Any]:
    bare, record = {key: value for key, value in run.items() if key != "assembly"}, run.get("assembly")
    number = record.get("number") if keep_number and isinstance(record, dict) else None
    return {**bare, "assembly": {"number": number}} if isinstance(number, str) else bare
