"""The method in equations: those that the masts shown were judged by, each with its source.

The equations themselves are typeset by ``method.typ`` under the same keys; here stand what each is for,
the words for those who cannot see it, and where it comes from.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from mastcheck.checks.result import Criterion, MastResult
from mastcheck.failure import MAX_STRAIN_SOURCE, TSAI_WU_SOURCE
from mastcheck.joints.bolts import EN_BOLTS, VDI
from mastcheck.loadcase import Lift
from mastcheck.motion.divergence import DIVERGENCE_SOURCE
from mastcheck.motion.shedding import STROUHAL_SOURCE
from mastcheck.motion.water import ADDED_MASS_SOURCE
from mastcheck.source import Grade, Source
from mastcheck.strength.fatigue import CURVE_SOURCE
from mastcheck.strength.panels import (
    ISOTROPIC_PLATE_SOURCE,
    LAMINATE_PLATE_SOURCE,
    METAL_PLATE_SOURCE,
    WRINKLING_SOURCE,
)
from mastcheck.strength.stress import CORE_SHEAR_SOURCE, VON_MISES_SOURCE
from mastcheck.water.drag import PROFILE_SOURCE
from mastcheck.water.friction import SMOOTH_SOURCE
from mastcheck.water.tracking import SLOPE_SOURCE


@dataclass(frozen=True, slots=True, kw_only=True)
class Equation:
    """What an equation is for, its words, its source, and whether a mast was judged by it."""

    key: str
    what: str
    alt: str
    source: Source
    of: Callable[[MastResult], bool]


def _book(title: str, place: str) -> Source:
    return Source(title=title, place=place, grade=Grade.MEMORY)


def _always(_: MastResult) -> bool:
    return True


def _found(*criteria: Criterion) -> Callable[[MastResult], bool]:
    return lambda m: any(f.criterion in criteria for c in m.cases for f in c.findings)


def _ruled(source: Source) -> Callable[[MastResult], bool]:
    return lambda m: any(f.source == source for c in m.cases for f in c.findings)


def _von_mises(m: MastResult) -> bool:
    return _found(Criterion.VON_MISES)(m) or not any(c.findings for c in m.cases)


def _follows(m: MastResult) -> bool:
    return any(c.case.lift is Lift.FOLLOWER for c in m.cases)


EQUATIONS = (
    Equation(
        key="section",
        what="Section, by quadratic finite elements: bending about the centroid; torsion with the "
        "warping ω of least energy",
        alt="E I x x equals the integral over the area of E times y minus y c, squared. G J equals "
        "the least, over all warping functions omega, of the integral over the area of G times "
        "the sum of two squares: the derivative of omega by x less y, and the derivative of "
        "omega by y plus x.",
        source=_book("Saint-Venant torsion; Timoshenko and Goodier, Theory of Elasticity", "ch. 10"),
        of=_always,
    ),
    Equation(
        key="compliance",
        what="Tip compliance, first order: joints j and blade; S carries tip loads to z, F is the "
        "section's flexibility",
        alt="C equals the sum over the joints of T j transposed times C j times T j, plus the "
        "integral along the mast, from 0 to L, of S transposed times F times S.",
        source=_book("unit load method; Timoshenko and Gere, Mechanics of Materials", ""),
        of=_always,
    ),
    Equation(
        key="warping",
        what="Twist with warping held at the base; T_s is the torque about the shear centre",
        alt="G J times phi, less the derivative of E Gamma times the derivative of phi, equals T s; "
        "phi is the rate of twist, and is zero at the base.",
        source=_book("Vlasov, Thin-Walled Elastic Beams", ""),
        of=_always,
    ),
    Equation(
        key="second order",
        what="Second order: inner forces r balance the loads p on the shape u taken, at service load "
        "and times the strength factor; a lift through the rider points to a",
        alt="The inner forces r of the displacements u equal the loads p of the displacements u. "
        "A lift of size P points from the wing at x to the point a: P times a "
        "minus x over its length.",
        source=_book("principle of virtual work, large rotations, Newton's method", "own elements"),
        of=_always,
    ),
    Equation(
        key="buckling",
        what="Buckling factor λ: the lowest, with the forces of first order",
        alt="K zero plus lambda times K sigma, times u, equals zero.",
        source=_book("Timoshenko and Gere, Theory of Elastic Stability", "ch. 2 and 6"),
        of=_always,
    ),
    Equation(
        key="flutter",
        what="Flutter of a lift that follows the wing: where two frequencies meet",
        alt="K zero plus lambda times K sigma, times u, equals omega squared times M times u.",
        source=_book("Bolotin, Nonconservative Problems of the Theory of Elastic Stability", ""),
        of=_follows,
    ),
    Equation(
        key="von Mises",
        what="Stress of isotropic material and its utilisation η",
        alt="The von Mises stress equals the root of sigma z squared plus three times the sum of "
        "both shear stresses squared. Eta equals it over the lesser of proof strength and "
        "ultimate strength, each over its partial factor.",
        source=VON_MISES_SOURCE,
        of=_von_mises,
    ),
    Equation(
        key="metal plate",
        what="Metal faces over a hollow: b wide between its ends, of radius R; C by buckling class, ε "
        "from f_o",
        alt="Beta equals b over t over the root of one plus 0.006 b to the fourth over R t squared. "
        "Rho c equals C 1 over beta by epsilon, less C 2 over beta by epsilon squared, at most "
        "one. Eta equals sigma times gamma over rho c times f o.",
        source=METAL_PLATE_SOURCE,
        of=_ruled(METAL_PLATE_SOURCE),
    ),
    Equation(
        key="laminate plate",
        what="Laminate faces over a hollow, b wide; less by the Ritz method where D16 and D26 are not "
        "nil",
        alt="The critical stress equals two pi squared over b squared t, times the root of D 11 "
        "times D 22, plus D 12, plus twice D 66; less where D 16 and D 26 are not nil.",
        source=LAMINATE_PLATE_SOURCE,
        of=_ruled(LAMINATE_PLATE_SOURCE),
    ),
    Equation(
        key="isotropic plate",
        what="Other isotropic faces over a hollow, b wide",
        alt="The critical stress equals pi squared E over three times one minus nu squared, times t "
        "over b squared.",
        source=ISOTROPIC_PLATE_SOURCE,
        of=_ruled(ISOTROPIC_PLATE_SOURCE),
    ),
    Equation(
        key="wrinkling",
        what="Wrinkling of a face f on a core c",
        alt="The wrinkling stress equals half the cube root of E f times E c times G c.",
        source=WRINKLING_SOURCE,
        of=_found(Criterion.WRINKLING),
    ),
    Equation(
        key="Tsai-Wu",
        what="First ply: the envelope; η is γ over the factor on the stresses that reaches it and the "
        "knock-down",
        alt="Sigma 1 squared over X t X c, plus sigma 2 squared over Y t Y c, plus tau 12 squared "
        "over S squared, plus twice H 12 sigma 1 sigma 2, plus the linear terms of sigma 1 and "
        "sigma 2, equals one.",
        source=TSAI_WU_SOURCE,
        of=_found(Criterion.TSAI_WU),
    ),
    Equation(
        key="max strain",
        what="First ply: the greatest strain of its own over its allowable; k is the knock-down",
        alt="Eta equals gamma over k times the greatest of: strain 1 times E 1 over X, strain 2 "
        "times E 2 over Y, shear strain 12 times G 12 over S.",
        source=MAX_STRAIN_SOURCE,
        of=_found(Criterion.MAX_STRAIN),
    ),
    Equation(
        key="core shear",
        what="Shear of a core",
        alt="Eta equals gamma times the root of the sum of both shear stresses squared, over the "
        "shear strength.",
        source=CORE_SHEAR_SOURCE,
        of=_found(Criterion.CORE_SHEAR),
    ),
    Equation(
        key="fatigue",
        what="Fatigue: the sum of damage D by the detail curve",
        alt="D equals the sum of n i over N i; N equals two million times the ratio of delta sigma C "
        "to delta sigma, to the power m.",
        source=CURVE_SOURCE,
        of=lambda m: m.fatigue is not None,
    ),
    Equation(
        key="bolts",
        what="Bolts: preload from the torque M; tension resistance",
        alt="The preload F M equals the torque M over: pitch over two pi, plus 0.577 mu d 2, plus mu "
        "D k m over two. The tension resistance equals k 2 times the ultimate strength times the "
        "stress area over gamma M2.",
        source=Source(title=f"{VDI.title}; {EN_BOLTS.title}", place=EN_BOLTS.place, grade=VDI.grade),
        of=lambda m: m.joints is not None and bool(m.joints.bolts),
    ),
    Equation(
        key="modes",
        what="Natural modes in water, with added mass sideways and in twist per length",
        alt="K minus omega squared times the sum of M and M a, times u, equals zero. The added mass "
        "sideways is pi rho c squared over four, the added inertia in twist pi rho c to the "
        "fourth over 128.",
        source=ADDED_MASS_SOURCE,
        of=lambda m: m.motion is not None,
    ),
    Equation(
        key="shedding",
        what="Shedding at a tail t thick, with boundary layers δ*",
        alt="f equals the Strouhal number times U over t plus twice delta star; delta star equals "
        "0.046 c times the Reynolds number to the power minus one fifth.",
        source=STROUHAL_SOURCE,
        of=lambda m: m.motion is not None,
    ),
    Equation(
        key="divergence",
        what="Static divergence: the lowest dynamic pressure q",
        alt="The determinant of K less q A is zero; q equals rho U squared over two.",
        source=DIVERGENCE_SOURCE,
        of=lambda m: m.motion is not None,
    ),
    Equation(
        key="friction",
        what="Friction and profile drag of the wet part; further terms under Water side",
        alt="The friction coefficient equals 0.075 over the square of: log ten of the Reynolds "
        "number, less two. D equals twice q times the integral over the wet length of the "
        "friction coefficient times one plus two t over c plus sixty times t over c to the "
        "fourth, times c.",
        source=Source(
            title=f"{SMOOTH_SOURCE.title.partition(',')[0]}; {PROFILE_SOURCE.title.partition('; ')[2]}",
            grade=SMOOTH_SOURCE.grade,
        ),
        of=lambda m: m.water is not None,
    ),
    Equation(
        key="tracking",
        what="Side force per leeway of the wet part, of aspect ratio A",
        alt="The slope of the side force coefficient equals 0.93 times two pi A over two plus the "
        "root of A squared plus four.",
        source=Source(title=SLOPE_SOURCE.title.partition(",")[0], grade=SLOPE_SOURCE.grade),
        of=lambda m: m.water is not None,
    ),
    Equation(
        key="tolerances",
        what="Band of a number f by tolerances of standard deviations s, each independent",
        alt="Plus and minus 1.96 times the root of the sum of squares of the rate of f by x k times "
        "s k.",
        source=_book("first-order propagation of scatter", "own rates"),
        of=lambda m: m.tolerances is not None,
    ),
)


def method_rows(masts: Sequence[MastResult]) -> list[dict[str, str]]:
    """Rows of the table of equations: those that some mast was judged by."""
    return [
        {"key": e.key, "what": e.what, "alt": e.alt, "source": str(e.source)}
        for e in EQUATIONS
        if any(e.of(m) for m in masts)
    ]
