"""Every source that reached a verdict."""

from __future__ import annotations

from mastcheck.checks.coupling import materials_of
from mastcheck.checks.result import MastResult
from mastcheck.source import Source


def sources_used(result: MastResult) -> tuple[tuple[str, Source], ...]:
    """What and its source: materials (laminates by their laminas), then the rules of the findings.

    Each pair once, in the order they are met from the base; a load case's own source is in the case.
    """
    out: dict[tuple[str, Source], None] = {}
    for material in materials_of(result.sections):
        if material.laminate is None:
            out[material.name, material.source] = None
        for lamina in material.laminas:
            out[lamina.name, lamina.source] = None
    for case in result.cases:
        for finding in case.findings:
            out[str(finding.criterion), finding.source] = None
    return tuple(out)
