"""The use cases: each returns what happened and prints nothing."""

from hosewright.app.asking import explain_rule, identify_end, list_catalog, report_figures
from hosewright.app.checking import Checked, check_file, check_job
from hosewright.app.demo import demonstrate, swing
from hosewright.app.papers import Papers, sheets
from hosewright.app.planning import Planned, check_target, plan_job
from hosewright.app.writing import check_file_target, write_text

__all__ = [
    "Checked",
    "Papers",
    "Planned",
    "check_file",
    "check_file_target",
    "check_job",
    "check_target",
    "demonstrate",
    "explain_rule",
    "identify_end",
    "list_catalog",
    "plan_job",
    "report_figures",
    "sheets",
    "swing",
    "write_text",
]
