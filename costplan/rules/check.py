"""Checking a build against a rule pack."""

from __future__ import annotations

from dataclasses import dataclass

from costplan.build import Figures
from costplan.rules.kinds import Finding, find
from costplan.rules.pack import Pack


@dataclass(frozen=True, slots=True)
class Verdicts:
    """All findings of one pack for one build. Meeting a list is not passing inspection."""

    pack: str
    edition: str
    file: str
    default: str
    tolerance: str
    findings: tuple[Finding, ...]

    def count(self, verdict: str) -> int:
        return sum(finding.verdict == verdict for finding in self.findings)


def check(pack: Pack, figures: Figures) -> Verdicts:
    """Every clause of the pack, in its order."""
    findings = tuple(find(rule, figures) for rule in pack.rules)
    header = pack.header
    edition = ", ".join(word for word in (header.edition, str(header.date or "")) if word)
    return Verdicts(header.name, edition, pack.file, header.default, header.tolerance, findings)
