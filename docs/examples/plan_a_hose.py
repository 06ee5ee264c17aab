"""Plan a hose, look at its length and its margins, and see what carelessly measured ports cost."""

from pathlib import Path

import hosewright

JOB = Path(__file__).with_name("step.toml")


def length_and_margins(plan, run):
    """Overall length [mm], and the least margin of each rule that has a limit, in SI units."""
    result = plan.run(run).result
    margins = {}
    for finding in result.findings:
        if finding.limit is not None and finding.margin is not None:
            margins[finding.rule] = min(finding.margin, margins.get(finding.rule, finding.margin))
    return result.run.assembly.overall_length * 1e3, margins


def main():
    job = hosewright.read(JOB)
    plan = hosewright.plan(job)
    print(plan)  # the report, as on the terminal
    tell("as measured", plan)

    rough = hosewright.change(job, "job.port_error", 10)  # mm: taped on a muddy machine
    tell("ports within 10 mm", hosewright.plan(rough))

    checked = hosewright.check(plan)  # the planned job, as `hosewright check` would
    print(f"\n{checked!r}")


def tell(case, plan):
    length, margins = length_and_margins(plan, "step, lift")
    print(f"\n{case}: overall length {length:.0f} mm, {'passes' if plan.passed else 'does not pass'}")
    print(f"  slack {margins['slack'] * 1e3:+.0f} mm, bend radius {margins['bend radius'] * 1e3:+.0f} mm")


if __name__ == "__main__":
    main()
