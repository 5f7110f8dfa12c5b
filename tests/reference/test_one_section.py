"""What ``mastcheck section`` reports of a section, against closed forms.

Sources: second moments and their rotation, any text on strength of materials (Gere, *Mechanics of
Materials*, appendix on plane areas; from memory): a rectangle b x h has I = b h³/12 about its middle,
and a turn by a leaves its principal values and moves its axis by a. Classical laminate theory of a
single ply turned by 45 degrees, Jones, *Mechanics of Composite Materials*, from memory.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely
from shapely import box

from mastcheck.checks.section import geometry, layup, principal, region_shares, solve_at
from mastcheck.job import Job
from mastcheck.laminate import Lamina, Laminate, Ply
from mastcheck.mast import Construction, OutlineKind
from mastcheck.material import Material, laminate_material
from mastcheck.section.model import Region
from mastcheck.section.solve import solve_section
from mastcheck.source import Grade, Source
from tests.masts import ALUMINIUM, mast

INVENTED = Source(title="invented for a test", grade=Grade.ASSUMED)
FOAM = Material(name="test foam", E=7e9, G=2.5e9, density=270.0, source=INVENTED)
B, H = 0.06, 0.02


@pytest.mark.parametrize("degrees", [0.0, 20.0, -35.0, 80.0, 90.0])
def test_principal_axes_of_a_turned_rectangle(degrees: float) -> None:
    turned = shapely.affinity.rotate(box(-B / 2, -H / 2, B / 2, H / 2), degrees, origin=(0, 0))
    model = solve_section((Region(polygon=turned, material=ALUMINIUM),))
    found = principal(model.properties)
    assert found.least == pytest.approx(ALUMINIUM.E * B * H**3 / 12, rel=1e-6)
    assert found.greatest == pytest.approx(ALUMINIUM.E * H * B**3 / 12, rel=1e-6)
    assert math.degrees(found.angle) == pytest.approx(degrees, abs=1e-4)


def test_a_square_has_no_soft_axis() -> None:
    model = solve_section((Region(polygon=box(0, 0, H, H), material=ALUMINIUM),))
    found = principal(model.properties)
    assert found.least == pytest.approx(found.greatest, rel=1e-6)
    # Any axis is principal: which one is named is arithmetic's, and its stiffness is the same.
    assert -math.pi / 2 <= found.angle <= math.pi / 2


def test_geometry_of_one_material_is_that_of_the_plane_figure() -> None:
    """An ellipse: A = π a b, I = π a b³/4 and π a³ b/4, J = π a³ b³/(a² + b²), Saint-Venant."""
    a, b = 0.06, 0.0075
    made = mast((2 * a, 2 * b), (2 * a, 2 * b), outline=OutlineKind.ELLIPSE)
    result = solve_at(Job(mast=made), 0.5)
    plane = result.geometry
    assert plane is not None
    # 100 straight panels a side lie inside the curve: 0.03 % of J, measured.
    assert plane.area == pytest.approx(math.pi * a * b, rel=4e-4)
    assert plane.Ixx == pytest.approx(math.pi * a * b**3 / 4, rel=1e-3)
    assert plane.Iyy == pytest.approx(math.pi * a**3 * b / 4, rel=1e-3)
    assert pytest.approx(math.pi * a**3 * b**3 / (a**2 + b**2), rel=1.5e-3) == plane.J
    # Ramanujan's second approximation to the circumference (from memory), good to 1e-6 here.
    h = ((a - b) / (a + b)) ** 2
    around = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert result.perimeter == pytest.approx(around, rel=5e-4)
    assert (result.width, result.height) == pytest.approx((2 * a, 2 * b), rel=1e-3)
    assert result.leading_edge_x == pytest.approx(-a, rel=1e-6)
    assert result.z == pytest.approx(0.375)


def test_shares_of_two_materials() -> None:
    """Two rectangles side by side: mass by density and width; no plain geometry any more."""
    regions = (
        Region(polygon=box(0, 0, 0.03, H), material=ALUMINIUM),
        Region(polygon=box(0.03, 0, 0.07, H), material=FOAM),
    )
    model = solve_section(regions)
    metal, foam = region_shares(model)
    heavy, light = 0.03 * ALUMINIUM.density, 0.04 * FOAM.density
    assert metal.share == pytest.approx(heavy / (heavy + light))
    assert foam.share == pytest.approx(light / (heavy + light))
    assert metal.mass_per_length == pytest.approx(0.03 * H * ALUMINIUM.density)
    assert geometry(model) is None


def ply(degrees: float, thickness: float = 1e-3) -> Ply:
    """A strongly anisotropic ply, invented."""
    lamina = Lamina(name="UD", E1=140e9, E2=10e9, G12=5e9, nu12=0.3, density=1550.0, source=INVENTED)
    return Ply(lamina=lamina, angle=math.radians(degrees), thickness=thickness)


def test_a_laminate_is_listed_with_its_coupling_and_cautioned() -> None:
    """One ply at 30°: with no hoop force K is the inverse of [[S11, S16], [S16, S66]] of the turned
    ply, so that the coupling is -S16/√(S11 S66), by the compliances of Jones, ch. 2.
    """
    material = laminate_material("turned ply", Laminate(plies=(ply(30), ply(0, 0.0))))
    made = mast((0.12, 0.0144), (0.12, 0.0144), wall=0.001, material=material)
    made = replace(made, section=replace(made.section, construction=Construction.HOLLOW))
    result = solve_at(Job(mast=made), 0.5)
    (share,) = result.regions
    assert share.layup == "[30] UD 1 mm"  # a dropped ply is not listed
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    s11, s22, s12, s66 = 1 / 140, 1 / 10, -0.3 / 140, 1 / 5
    t11 = s11 * c**4 + (2 * s12 + s66) * s**2 * c**2 + s22 * s**4
    t16 = (2 * s11 - 2 * s12 - s66) * s * c**3 - (2 * s22 - 2 * s12 - s66) * s**3 * c
    t66 = 2 * (2 * s11 + 2 * s22 - 4 * s12 - s66) * s**2 * c**2 + s66 * (s**4 + c**4)
    assert share.membrane is not None
    assert share.membrane.coupling == pytest.approx(-t16 / math.sqrt(t11 * t66), rel=1e-9)
    assert abs(share.membrane.coupling) > 0.3
    (named,) = [c for c in result.cautions if "unbalanced" in c]
    assert f"{share.membrane.twist_ratio:.2f} times" in named


def test_a_balanced_symmetrical_layup_is_not_cautioned() -> None:
    plies = tuple(ply(a, 2.5e-4) for a in (45, -45, -45, 45))
    material = laminate_material("balanced", Laminate(plies=plies))
    made = mast((0.12, 0.0144), (0.12, 0.0144), wall=0.001, material=material)
    result = solve_at(Job(mast=made), 0.5)
    assert layup(Laminate(plies=plies)) == "[45/-45/-45/45] UD 0.25 mm"
    assert not [c for c in result.cautions if "unbalanced" in c or "nsymmetrical" in c]
