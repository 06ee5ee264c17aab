"""The order of preference: what an assembly costs in prices, or else in metres of hose.

Where the catalog prices every part, prices decide. Else a bent end, an adapter, a clamp and a sleeve each stand for
some length of hose (``cost_...`` of the profile), hose counts by its mass against the lightest that would do, and what
a rule advises against or cannot judge counts too: so fewest parts come first, then straight ends, then the shortest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hosewright.assembly import End
from hosewright.checks import support
from hosewright.checks.finding import Finding, Verdict
from hosewright.checks.profile import Profile
from hosewright.checks.run import Run


@dataclass(frozen=True)
class Preference:
    """What counts for one run.

    Attributes
    ----------
    lightest
        Mass of the lightest hose that would do. [kg/m]
    priced
        Whether the catalog prices all that may be chosen.
    """

    profile: Profile
    lightest: float
    priced: bool = False

    def cost(self, run: Run, findings: Sequence[Finding] = ()) -> float:
        """Cost of a run's assembly: metres of hose, or in the catalog's currency."""
        verdicts = [finding.verdict for finding in findings if not _without_mounts(finding)]
        extra = self.profile["cost_clamp"] * len(run.clamps) + self.profile["cost_sleeve"] * run.sleeve
        extra += self.profile["cost_advice"] * verdicts.count(Verdict.ADVICE)
        extra += self.profile["cost_unknown"] * verdicts.count(Verdict.UNKNOWN)
        hose = run.assembly.hose
        if self.priced and hose.price is not None:
            parts = run.assembly.cut_length * hose.price + sum(map(_price, (run.assembly.a, run.assembly.b)))
            return parts + extra * hose.price
        relative = (hose.mass_per_length or self.lightest) / self.lightest
        ends = sum(self._end(end) for end in (run.assembly.a, run.assembly.b))
        return run.assembly.overall_length * relative + ends + extra

    def _end(self, end: End) -> float:
        bent = self.profile["cost_bent_end"] + 0.3 * end.form.drop if end.form.exit_angle > 0.0 else 0.0
        live = sum(adapter.live for adapter, _ in end.adapters)
        return bent + self.profile["cost_adapter"] * len(end.adapters) + self.profile["cost_live_swivel"] * live


def _without_mounts(finding: Finding) -> bool:
    # a job without mounts says nothing about support, whatever the assembly
    return finding.rule == support.RULE and finding.verdict is Verdict.UNKNOWN


def _price(end: End) -> float:
    return (end.form.price or 0.0) + sum(adapter.price or 0.0 for adapter, _ in end.adapters)
