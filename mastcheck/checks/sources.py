"""Every source that reached a verdict."""

from __future__ import annotations

from collections.abc import Iterator

from mastcheck.checks.coupling import materials_of
from mastcheck.checks.galvanic import groups
from mastcheck.checks.result import MastResult
from mastcheck.joint import Bar, BoltGroup, Joints
from mastcheck.material import Material
from mastcheck.source import Source
from mastcheck.strength.fatigue import MINER_SOURCE


def sources_used(result: MastResult) -> tuple[tuple[str, Source], ...]:
    """What and its source: materials (laminates by their laminas; those of joints), then the rules of
    the findings.

    Each pair once, in the order they are met from the base; a load case's own source is in the case.
    """
    out: dict[tuple[str, Source], None] = {}
    for material in materials_of(result.sections):
        if material.laminate is None:
            out[material.name, material.source] = None
        for lamina in material.laminas:
            out[lamina.name, lamina.source] = None
    for material in _of_joints(result.job.joints):
        out[material.name, material.source] = None
    if result.fatigue is not None and result.fatigue.worst:
        out["fatigue", MINER_SOURCE] = None
        if (curve := result.fatigue.fatigue.curve) is not None:
            out[f"fatigue, {curve.name}", curve.source] = None
    for case in result.cases:
        for finding in case.findings:
            out[str(finding.criterion), finding.source] = None
    if result.joints is not None:
        for _, every in result.joints.bolts:
            for loads in every:
                group = loads.group
                out[group.property_class.name, group.property_class.source] = None
                out[f"thread {group.thread.name}", group.thread.source] = None
        for found in result.joints.findings:
            out[str(found.criterion).removesuffix(", at least"), found.source] = None
    if result.motion is not None:
        out.update(dict.fromkeys(result.motion.basis))
    used = {name for p in result.pairs for name in p.groups}
    out.update({(f"potential of {g.name}", g.source): None for g in groups() if g.name in used})
    return tuple(out)


def _of_joints(joints: Joints) -> Iterator[Material]:
    """Materials of adapters, of plates and of what their bolts are screwed into, board to foil."""
    for part in (*joints.adapters, joints.base, joints.tip):
        body = getattr(part, "body", None)
        if isinstance(body, Bar):
            yield body.material
        for bolts in (getattr(part, key, None) for key in ("bolts", "screws")):
            if isinstance(bolts, BoltGroup):
                yield bolts.plate
                if bolts.engaged is not None:
                    yield bolts.engaged
