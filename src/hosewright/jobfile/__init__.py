"""Job files: TOML typed by people, into jobs and back, with the place of every problem."""

from hosewright.jobfile.problems import JobFileError, Located
from hosewright.jobfile.read import JobFile, read_job, read_text
from hosewright.jobfile.starter import schema, starter
from hosewright.jobfile.write import set_value, write_assembly

__all__ = [
    "JobFile",
    "JobFileError",
    "Located",
    "read_job",
    "read_text",
    "schema",
    "set_value",
    "starter",
    "write_assembly",
]
