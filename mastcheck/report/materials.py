"""Tables of materials, ply materials and sources."""

from __future__ import annotations

from collections.abc import Sequence

from mastcheck.checks.result import MastResult
from mastcheck.laminate import Lamina, membrane
from mastcheck.material import Material
from mastcheck.report.cells import Cell, Table, letters, table
from mastcheck.report.display import System, breakable, factor, fixed, given, number, unit_label
from mastcheck.report.words import isotropic_materials, laminas
from mastcheck.source import Source


def material_table(masts: Sequence[MastResult], units: System) -> Table | None:
    """Materials with constants, strengths and sources; None where all is laminate."""
    seen = dict.fromkeys(x for m in masts for x in isotropic_materials(m.job.mast))
    # What the sections were solved with is what counts, should the two ever differ.
    for m in masts:
        for section in m.sections:
            seen.update((r.material, None) for r in section.regions if r.material.laminate is None)
    if not seen:
        return None
    shear = any(m.shear_strength is not None for m in seen)

    def strength(value: float | None, gamma: float) -> str:
        if value is None:
            return "not stated"
        return f"{given(value / 1e6 * factor('MPa', units))} / {fixed(gamma, 2)}"

    rows: list[list[Cell]] = [
        [
            breakable(m.name),
            given(m.E / 1e9 * factor("GPa", units)),
            given(m.G / 1e9 * factor("GPa", units)),
            given(m.density * factor("kg/m³", units)),
            strength(m.proof_strength, m.gamma_proof),
            strength(m.ultimate_strength, m.gamma_ultimate),
            *([strength(m.shear_strength, m.gamma_proof)] if shear else []),
            breakable(_with_note(m)),
        ]
        for m in seen
    ]
    gpa, mpa, rho = unit_label("GPa", units), unit_label("MPa", units), unit_label("kg/m³", units)
    return table(
        [
            "material",
            f"E {gpa}",
            f"G {gpa}",
            f"density {rho}",
            f"proof {mpa} / γ",
            f"ultimate {mpa} / γ",
            *([f"shear {mpa} / γ"] if shear else []),
            "source",
        ],
        "lrrrrr" + "r" * shear + "l",
        rows,
        (1.3, 0.5, 0.5, 0.8, 1.0, 1.1, *([1.0] if shear else []), 4.6),
    )


def lamina_table(masts: Sequence[MastResult], units: System) -> Table | None:
    """Constants and strengths of the plies in their own axes, a line of source under each."""
    seen = dict.fromkeys(x for m in masts for x in laminas(m.job.mast))
    if not seen:
        return None
    gpa, mpa, rho = unit_label("GPa", units), unit_label("MPa", units), unit_label("kg/m³", units)
    rows: list[list[Cell]] = []
    for x in seen:
        strengths = (x.Xt, x.Xc, x.Yt, x.Yc, x.S12)
        rows.append(
            [
                breakable(x.name),
                *(given(v / 1e9 * factor("GPa", units)) for v in (x.E1, x.E2, x.G12)),
                given(x.nu12),
                given(x.density * factor("kg/m³", units)),
                *("–" if v is None else given(v / 1e6 * factor("MPa", units)) for v in strengths),
                fixed(x.gamma, 2),
            ]
        )
        rows.append(["", {"t": breakable(_with_note(x)), "mood": "plain", "span": 11}])
    return table(
        [
            "ply material",
            f"E1 {gpa}",
            f"E2 {gpa}",
            f"G12 {gpa}",
            "ν12",
            f"density {rho}",
            *(f"{name} {mpa}" for name in ("Xt", "Xc", "Yt", "Yc", "S12")),
            "γ",
        ],
        "l" + "r" * 11,
        rows,
        (2.4, 0.7, 0.7, 0.7, 0.6, 0.9, 0.8, 0.8, 0.7, 0.7, 0.7, 0.6),
    )


def laminate_table(masts: Sequence[MastResult], units: System) -> Table | None:
    """The laminates as solved at base and tip: membrane moduli along the mast and in shear."""
    rows: list[list[Cell]] = []
    for letter, m in zip(letters(masts), masts, strict=True):
        first = letter
        for where, section in (("base", m.sections[0]), ("tip", m.sections[-1])):
            for x in dict.fromkeys(r.material for r in section.regions if r.material.laminate):
                if x.laminate is None:  # pragma: no cover - only laminates are looked at
                    continue
                wall = membrane(x.laminate)
                rows.append(
                    [
                        first,
                        where,
                        breakable(x.name),
                        number(wall.h * 1e3 * factor("mm", units)),
                        number(x.E / 1e9 * factor("GPa", units)),
                        number(x.G / 1e9 * factor("GPa", units)),
                        number(x.density * factor("kg/m³", units)),
                        fixed(wall.coupling, 2),
                        fixed(wall.unsymmetry, 2),
                    ]
                )
                first = ""
    if not rows:
        return None
    gpa, mm, rho = unit_label("GPa", units), unit_label("mm", units), unit_label("kg/m³", units)
    return table(
        [
            "",
            "at",
            "laminate",
            f"thickness {mm}",
            f"E {gpa}",
            f"G {gpa}",
            f"density {rho}",
            "coupling",
            "unsymmetry",
        ],
        "lllrrrrrr",
        rows,
        (0.3, 0.5, 2.4, 1, 0.7, 0.7, 0.9, 0.9, 1),
    )


def source_table(used: Sequence[tuple[str, Source]], masts: Sequence[MastResult]) -> Table | None:
    """Sources of rules and allowables behind the verdicts that no table above names already."""
    told = {(x.name, x.source) for m in masts for x in isotropic_materials(m.job.mast)}
    told |= {(x.name, x.source) for m in masts for x in laminas(m.job.mast)}
    rows: list[list[Cell]] = [
        [breakable(name), breakable(str(source))]
        for name, source in dict.fromkeys(used)
        if (name, source) not in told
    ]
    if not rows:
        return None
    return table(["rule or allowable", "source"], "ll", rows, (1.6, 3.4))


def _with_note(x: Material | Lamina) -> str:
    return f"{x.source}{'; ' + x.note if x.note else ''}"
