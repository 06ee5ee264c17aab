"""Job files: TOML typed by people, into jobs and back, with the place of every problem."""

from hosewright.jobfile.chosen import assembly_table, least, limits_list, settled
from hosewright.jobfile.numbers import counted
from hosewright.jobfile.problems import JobFileError, Located
from hosewright.jobfile.read import JobFile, read_job, read_text
from hosewright.jobfile.starter import schema, starter
from hosewright.jobfile.write import set_value, write_assembly, write_plan

__all__ = [
    "JobFile",
    "JobFileError",
    "Located",
    "assembly_table",
    "counted",
    "least",
    "limits_list",
    "read_job",
    "read_text",
    "schema",
    "set_value",
    "settled",
    "starter",
    "write_assembly",
    "write_plan",
]
