"""Results made by hand for tests of the report and the tables: plausible, computed by nothing."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import shapely

from mastcheck.checks.result import (
    CaseResult,
    Check,
    Comparison,
    Criterion,
    Finding,
    LineResult,
    MastResult,
    Ratio,
    SelfCheck,
    Stiffness,
    Tip,
    Verdict,
)
from mastcheck.job import Job
from mastcheck.laminate import Lamina
from mastcheck.loadcase import Lift
from mastcheck.mast import (
    Construction,
    Mast,
    OutlineKind,
    SectionRecipe,
    SkinPly,
    Station,
    Web,
    Zone,
)
from mastcheck.material import Material
from mastcheck.section.model import Region, SectionModel, SectionProperties, StressBasis
from mastcheck.source import Grade, Source

METAL = Material(
    name="EN AW-6082-T6",
    E=70e9,
    G=26.3e9,
    density=2700.0,
    proof_strength=250e6,
    ultimate_strength=290e6,
    source=Source(title="EN 1999-1-1", place="table 3.2b", grade=Grade.STANDARD),
)
UNKNOWN = dataclasses.replace(METAL, name="mystery", proof_strength=None, ultimate_strength=None)


def _section(station: Station, material: Material) -> SectionModel:
    c, t = station.chord, station.thickness
    w = station.wall if isinstance(station.wall, float) else 0.002
    x = (1 - np.cos(np.linspace(0, np.pi, 40))) / 2
    y = 5 * t * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    outer = shapely.Polygon(
        [*zip((x - 0.5) * c, y, strict=True), *zip((x[-2:0:-1] - 0.5) * c, -y[-2:0:-1], strict=True)]
    )
    wall = outer.difference(outer.buffer(-w))
    # A strip of triangles along the outline is mesh enough for drawing.
    ring = np.asarray(outer.exterior.coords)[:-1]
    inner = ring * 0.85
    n = len(ring)
    tris = [(i, (i + 1) % n, n + i) for i in range(n)] + [
        ((i + 1) % n, n + (i + 1) % n, n + i) for i in range(n)
    ]
    points = np.vstack([ring, inner])
    ei = 0.04 * material.E * c * t**3 * 0.6
    return SectionModel(
        regions=(Region(polygon=wall, material=material),),
        properties=SectionProperties(
            EA=material.E * wall.area,
            EIxx=ei,
            EIyy=ei * 25,
            EIxy=0.0,
            GJ=ei * 1.2,
            EGamma=0.5,
            shear_flex_xx=1e-8,
            shear_flex_yy=1e-7,
            shear_flex_xy=0.0,
            centroid_x=-0.06 * c,
            centroid_y=0.0,
            shear_centre_x=-0.1 * c,
            shear_centre_y=0.0,
            mass_per_length=material.density * wall.area,
            area=wall.area,
        ),
        basis=StressBasis(
            points=points,
            region=np.zeros(len(points), dtype=np.int64),
            fields=np.zeros((7, len(points), 3)),
            triangles=np.array(tris, dtype=np.int64),
        ),
        elements=len(tris),
    )


def make_mast(
    name: str = "Quay Lane 75, wide base",
    chord: float = 0.150,
    material: Material = METAL,
    unstable: bool = False,
    level: float = 0.7,
) -> MastResult:
    """A plausible result made by hand; the numbers only need to look like numbers."""
    mast = Mast(
        name=name,
        length=0.75,
        stations=(
            Station(at=0.0, chord=chord, thickness=0.018, wall=0.0025),
            Station(at=1.0, chord=0.100, thickness=0.014, wall=0.0025),
        ),
        section=SectionRecipe(
            outline=OutlineKind.NACA_4_DIGIT, construction=Construction.HOLLOW, material=material
        ),
    )
    job = Job(
        mast=mast, file="some/where/mast.toml", input_sha256="ab" * 32, notes=("no rider given: 80 kg",)
    )
    z = np.linspace(0, mast.length, 5)
    sections = tuple(_section(mast.station_at(float(s / mast.length)), material) for s in z)
    line_z = np.linspace(0, mast.length, 41)
    u = (line_z / mast.length) ** 2
    cases = []
    for i, case in enumerate(job.cases):
        ok = not (unstable and case.name == "touchdown")
        size = (0.003 + 0.004 * i) * 0.15 / chord
        tip = Tip(
            side=size, fore_aft=size / 9, axial=-1e-4, roll=-size * 2, pitch=size / 5, twist=size * 3
        )
        line = LineResult(
            z=line_z,
            displacement=np.outer(u, [tip.fore_aft, tip.side, tip.axial]),
            rotation=np.outer(line_z / mast.length, [tip.roll, tip.pitch, tip.twist]),
            resultants=np.zeros((41, 7)),
        )
        stress = np.abs(sections[0].basis.points[:, 1]) / 0.009 * 150e6
        judged = material.design_strength is not None
        cases.append(
            CaseResult(
                case=case,
                axial_load=case.n * 863.0,
                stable=ok,
                buckling_factor=4.2 if ok else 0.93,
                tip=tip if ok else None,
                first_order_tip=tip,
                amplification=1.31 if ok else None,
                amplification_by_lift={
                    str(Lift.THROUGH_RIDER): 1.31,
                    str(Lift.DEAD): 1.66 if ok else None,
                },
                line=line if ok else None,
                strength_line=line if ok else None,
                max_von_mises=float(stress.max()) if ok else None,
                max_at_z=0.0 if ok else None,
                max_at_xy=(0.0, 0.009) if ok else None,
                governing_material=material.name,
                governing_station=0 if ok else None,
                von_mises=stress if ok else None,
                utilisation=level + 0.02 * i if ok and judged else None,
                utilisation_along_z=(level + 0.02 * i) * (1 - z / 2) if ok and judged else None,
            )
        )
    verdict = Verdict.PASS if level < 0.9 else Verdict.FAIL
    checks = tuple(
        Check(
            name="von Mises stress, EN AW-6082-T6",
            case=c.case.name,
            value=150.0,
            limit=227.0 if c.utilisation is not None else None,
            unit="MPa",
            utilisation=c.utilisation,
            verdict=Verdict.REPORT if c.utilisation is None else verdict,
        )
        for c in cases
        if c.stable
    ) + (
        (
            Check(
                name="buckling factor, at least",
                case="touchdown",
                value=0.93,
                limit=1.2,
                unit="",
                utilisation=1.29,
                verdict=Verdict.FAIL,
            ),
        )
        if unstable
        else ()
    )
    return MastResult(
        job=job,
        mass=1.234,
        z=z,
        sections=sections,
        tip_compliance=np.diag([1e-6, 2e-5, 1e-9, 1e-4, 1e-5, 2e-4]),
        stiffness=Stiffness(
            side_mm_per_100N=2.13,
            fore_aft_mm_per_100N=0.14,
            twist_deg_per_10Nm=0.52,
            torsion_Nm_per_deg=19.2,
        ),
        cases=tuple(cases),
        checks=checks,
        self_checks=(
            SelfCheck(
                name="tip compliance, integral against beam elements (relative)",
                value=2.1e-5,
                limit=1e-3,
                verdict=Verdict.PASS,
            ),
        ),
        cautions=("Material values are to be checked against the mill certificate.",),
    )


FIBRE = Lamina(
    name="test carbon UD",
    E1=135e9,
    E2=9e9,
    G12=4.6e9,
    nu12=0.3,
    density=1550.0,
    Xt=1500e6,
    Xc=1100e6,
    Yt=45e6,
    Yc=180e6,
    S12=75e6,
    source=Source(title="invented coupon set 7", grade=Grade.ASSUMED),
)
MAT = dataclasses.replace(FIBRE, name="test glass mat", Xt=None, Xc=None, Yt=None, Yc=None, S12=None)
FOAM = Material(
    name="test foam",
    E=80e6,
    G=28e6,
    density=80.0,
    shear_strength=1.1e6,
    source=Source(title="invented foam sheet", grade=Grade.ASSUMED),
)
RULE = Source(title="a rule of thumb for tests", place="clause 9", grade=Grade.MEMORY)


def finding(criterion: Criterion, material: str, used: float | None, where: str = "") -> Finding:
    return Finding(
        criterion=criterion,
        material=material,
        value=12.5,
        limit=None if used is None else 12.5 / used,
        unit="%" if criterion is Criterion.MAX_STRAIN else "MPa",
        utilisation=used,
        z=0.15,
        xy=(-0.03, 0.008),
        where=where,
        source=RULE,
    )


def make_laminated(name: str = "Fern Bay 75", unjudged: bool = False, level: float = 0.7) -> MastResult:
    """A laminated mast on a foam core: four plies on the faces, dropped toward the tip, one all over."""
    plain = make_mast(name, 0.14, level=level)
    cover = SkinPly(lamina=FIBRE, angle=math.pi / 4, thickness=3e-4)
    unidirectional = SkinPly(lamina=FIBRE, angle=0.0, thickness=2.5e-4, zones=(Zone.FACES,))
    back = SkinPly(lamina=MAT if unjudged else FIBRE, angle=-math.pi / 4, thickness=3e-4)
    plies = (cover, *[unidirectional] * 4, back)
    dropped = (*plies[:3], *(dataclasses.replace(p, thickness=0.0) for p in plies[3:5]), back)
    stations = tuple(
        dataclasses.replace(s, wall=None, plies=p)
        for s, p in zip(plain.job.mast.stations, (plies, dropped), strict=True)
    )
    recipe = SectionRecipe(
        outline=OutlineKind.NACA_4_DIGIT,
        construction=Construction.SHELL_AND_CORE,
        material=METAL,
        core=FOAM,
        webs=(Web(at=0.4, thickness=0.002, lean=math.radians(10)),),
        knock_down=0.765,
    )
    mast = dataclasses.replace(plain.job.mast, stations=stations, section=recipe)
    cases = []
    for case in plain.cases:
        used = case.utilisation or 0.0
        found = (
            finding(Criterion.MAX_STRAIN, METAL.name, used * 0.9, "ply 2 of 6 from outside, 0°, across"),
            finding(Criterion.CORE_SHEAR, FOAM.name, used * 0.5),
            finding(Criterion.WRINKLING, METAL.name, used, "port face"),
            *([finding(Criterion.PLY_STRAIN, MAT.name, None, "ply 6 of 6")] if unjudged else []),
        )
        cases.append(dataclasses.replace(case, findings=found))
    checks = tuple(
        Check(
            name=f.name,
            case=c.case.name,
            value=f.value,
            limit=f.limit,
            unit=f.unit,
            utilisation=f.utilisation,
            verdict=Verdict.REPORT
            if f.utilisation is None
            else Verdict.PASS
            if f.utilisation <= 1
            else Verdict.FAIL,
        )
        for c in cases
        for f in c.findings
    )
    return dataclasses.replace(
        plain,
        job=dataclasses.replace(plain.job, mast=mast),
        cases=tuple(cases),
        checks=checks,
    )


def compare(*masts: MastResult) -> Comparison:
    def ratio(name: str, unit: str, values: list[float]) -> Ratio:
        return Ratio(
            name=name,
            unit=unit,
            values=tuple(values),
            ratios=tuple(v / values[0] for v in values),
        )

    n = range(len(masts))
    return Comparison(
        masts=masts,
        ratios=(
            ratio("mass", "kg", [1.234 * (1 + 0.1 * i) for i in n]),
            ratio("EI_side at the base", "N·m²", [1234.5 * (1 + 0.2 * i) for i in n]),
            ratio("side stiffness", "mm per 100 N", [2.13 * (1 + 0.1 * i) for i in n]),
            ratio("twist under torque", "deg per 10 N·m", [0.52 * (1 + 0.1 * i) for i in n]),
        ),
        sentence="The tapered mast bends 16 % more sideways and twists 40 % more, and saves 0.1 kg.",
    )
