from __future__ import annotations

import hashlib
import io
import math
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from ezdxf import recover
from ezdxf._options import options
from ezdxf.filemanagement import new, readfile
from numpy.typing import NDArray

from mastcheck.drawn import Drawing, DrawnLoop
from mastcheck.errors import GeometryError, InputError
from mastcheck.files.drawing import Fill, read_drawing
from mastcheck.files.dxf import is_nested, layer_name, section_dxf
from mastcheck.files.profiles import FOLDER
from mastcheck.outline import contour
from mastcheck.section.model import Region
from mastcheck.section.solve import solve_section
from tests.masts import ALUMINIUM

FloatArray = NDArray[np.float64]
Build = Callable[[Any], object]

FOAM = replace(ALUMINIUM, name="PVC foam 80", E=80e6, G=30e6, density=80.0)
INSERT = replace(ALUMINIUM, name="insert/bush")

CHORD_ERROR = 5e-3  # mm, the default


def drawn(tmp_path: Path, build: Build, *, units: int = 4, version: str = "R2010") -> Path:
    """A drawing file; ``build`` gets its model space."""
    doc = new(version)
    doc.header["$INSUNITS"] = units
    build(doc.modelspace())
    path = tmp_path / "die.dxf"
    doc.saveas(path)
    return path


def read(tmp_path: Path, build: Build, *, units: int = 4, **options: Any) -> Drawing:
    fills: Mapping[str, Fill] = options.pop("fills", {})
    path = drawn(tmp_path, build, units=units)
    return read_drawing(path, label="die.dxf", material=ALUMINIUM, fills=fills, **options)


def problems(tmp_path: Path, build: Build, **options: Any) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(tmp_path, build, **options)
    found = [str(p) for p in caught.value.problems]
    assert all(line.isprintable() for line in found), "one line each"
    return found


def box(space: Any, x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> Any:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})


def lines(space: Any, points: list[tuple[float, float]], layer: str = "0") -> list[Any]:
    return [space.add_line(a, b, dxfattribs={"layer": layer}) for a, b in pairwise(points)]


def polyline(space: Any, *, kind: str, vertices: Sequence[tuple[float, ...]]) -> Any:
    """A closed polyline of (x, y, bulge)."""
    return getattr(space, kind)(vertices, format="xyb", close=True)


def area(loop: DrawnLoop) -> float:
    """Area [mm²]; positive where counter-clockwise."""
    x, y = loop.points.T * 1e3
    return float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) / 2


def regions(drawing: Drawing) -> tuple[Region, ...]:
    """Regions of a drawing's loops, outermost first."""
    return tuple(
        Region(
            polygon=shapely.Polygon(
                loop.points, [inner.points for inner in drawing.loops if inner.parent == k]
            ),
            material=loop.fill,
        )
        for k, loop in enumerate(drawing.loops)
        if loop.fill is not None
    )


def assert_inscribed(got: float, exact: float, perimeter: float, error: float = CHORD_ERROR) -> None:
    """Panels of a convex curve lose area, at most 2/3 of sagitta times chord each (parabola)."""
    assert 0 <= exact - got <= 1.01 * 2 / 3 * error * perimeter


class TestEntities:
    """Areas in closed form; each entity alone or with lines to close it."""

    def test_circle(self, tmp_path: Path) -> None:
        (loop,) = read(tmp_path, lambda m: m.add_circle((40, 3), 10)).loops
        assert_inscribed(area(loop), math.pi * 100, math.tau * 10)

    def test_fine_chord_error_converges(self, tmp_path: Path) -> None:
        (loop,) = read(tmp_path, lambda m: m.add_circle((40, 3), 10), chord_error=1e-7).loops
        assert area(loop) == pytest.approx(math.pi * 100, rel=2e-5)
        assert_inscribed(area(loop), math.pi * 100, math.tau * 10, error=1e-4)

    def test_drawn_size_of_arcs_is_exact(self, tmp_path: Path) -> None:
        """Half circles turned so that their ends are not their extremes."""

        def build(m: Any) -> None:
            m.add_arc((0, 0), 60, 25, 205)
            m.add_arc((0, 0), 60, 205, 25)

        drawing = read(tmp_path, build)
        assert drawing.chord == pytest.approx(0.12, abs=1e-12)
        assert drawing.thickness == pytest.approx(0.12, abs=1e-12)
        assert drawing.loops[0].points[:, 0].min() == 0

    def test_lines_and_arcs(self, tmp_path: Path) -> None:
        """A slot, its pieces in any order and direction."""

        def build(m: Any) -> None:
            m.add_arc((110, 0), 7.5, -90, 90)
            m.add_line((10, 7.5), (110, 7.5))
            m.add_arc((10, 0), 7.5, 90, 270)
            m.add_line((10, -7.5), (110, -7.5))

        (loop,) = read(tmp_path, build).loops
        assert_inscribed(area(loop), 100 * 15 + math.pi * 7.5**2, math.tau * 7.5)

    def test_bulges(self, tmp_path: Path) -> None:
        """The same slot as one polyline, old and new kind, either direction."""
        exact = 100 * 15 + math.pi * 7.5**2
        vertices = [(10, -7.5, 0), (110, -7.5, 1), (110, 7.5, 0), (10, 7.5, 1)]
        back = [(10, 7.5, 0), (110, 7.5, -1), (110, -7.5, 0), (10, -7.5, -1)]
        for v in (vertices, back):
            (new_kind,) = read(tmp_path, partial(polyline, kind="add_lwpolyline", vertices=v)).loops
            (old_kind,) = read(tmp_path, partial(polyline, kind="add_polyline2d", vertices=v)).loops
            assert_inscribed(area(new_kind), exact, math.tau * 7.5)
            assert area(old_kind) == pytest.approx(area(new_kind), rel=1e-12)

    @pytest.mark.parametrize("bulge", [0.1, 0.4, 1.5, 4.0])
    def test_any_bulge(self, tmp_path: Path, bulge: float) -> None:
        """A segment of a circle: r²(θ - sin θ)/2, with θ = 4 atan(bulge)."""
        (loop,) = read(
            tmp_path,
            lambda m: m.add_lwpolyline([(0, 0, bulge), (20, 0, 0)], format="xyb", close=True),
        ).loops
        theta = 4 * math.atan(bulge)
        r = 10 / math.sin(theta / 2)
        assert_inscribed(area(loop), r * r * (theta - math.sin(theta)) / 2, r * theta)

    def test_ellipse(self, tmp_path: Path) -> None:
        drawing = read(tmp_path, lambda m: m.add_ellipse((60, 0), (60, 0), ratio=0.125))
        assert_inscribed(area(drawing.loops[0]), math.pi * 60 * 7.5, 245.0)  # perimeter under 4 (a + b)
        assert drawing.chord == pytest.approx(0.12)
        assert drawing.thickness == pytest.approx(0.015)

    def test_half_ellipses(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            m.add_ellipse((60, 0), (60, 0), ratio=0.125, start_param=0, end_param=math.pi)
            m.add_ellipse((60, 0), (60, 0), ratio=0.125, start_param=math.pi, end_param=math.tau)

        (loop,) = read(tmp_path, build).loops
        assert_inscribed(area(loop), math.pi * 60 * 7.5, 245.0)

    def test_rational_spline_circle(self, tmp_path: Path) -> None:
        """The circle as a quadratic rational B-spline of nine control points (exact; textbook)."""
        w = math.sqrt(0.5)
        corners = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]

        def build(m: Any) -> None:
            spline = m.add_spline(degree=2)
            spline.control_points = [(10 * x, 10 * y, 0) for x, y in corners]
            spline.knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
            spline.weights = [1, w] * 4 + [1]

        (loop,) = read(tmp_path, build).loops
        assert_inscribed(area(loop), math.pi * 100, math.tau * 10)

    def test_bezier_spline(self, tmp_path: Path) -> None:
        """x = w (3t² - 2t³), y = 3h t (1 - t): the area under it, ∫ y dx, is 0.6 w h."""

        def build(m: Any) -> None:
            spline = m.add_spline()
            spline.control_points = [(0, 0, 0), (0, 20, 0), (90, 20, 0), (90, 0, 0)]
            spline.knots = [0, 0, 0, 0, 1, 1, 1, 1]
            m.add_line((0, 0), (90, 0))

        (loop,) = read(tmp_path, build).loops
        assert_inscribed(area(loop), 0.6 * 90 * 20, 130.0)

    def test_periodic_spline(self, tmp_path: Path) -> None:
        """A closed uniform cubic whose outer knots lie outside the curve.

        On control points of a regular n-gon its area is that of the n-gon times a factor: integrated
        here by Gauss-Legendre points on the basis functions, independently of the spline library.
        """
        n = 12
        a = np.arange(n + 3) * math.tau / n
        control = np.column_stack((50 * np.cos(a), 7 * np.sin(a), 0 * a))

        def build(m: Any) -> None:
            spline = m.add_spline()
            spline.control_points = control
            spline.knots = np.arange(n + 7.0)
            spline.closed = True

        g, weight = np.polynomial.legendre.leggauss(6)
        t = (g + 1) / 2
        basis = (
            np.array([(1 - t) ** 3, 3 * t**3 - 6 * t**2 + 4, -3 * t**3 + 3 * t**2 + 3 * t + 1, t**3]) / 6
        )
        rate = np.array([-((1 - t) ** 2), 3 * t**2 - 4 * t, -3 * t**2 + 2 * t + 1, t**2]) / 2
        exact = 0.0
        for k in range(n):
            p = control[k : k + 4, :2]
            x, y = basis.T @ p[:, 0], basis.T @ p[:, 1]
            dx, dy = rate.T @ p[:, 0], rate.T @ p[:, 1]
            exact += float(np.dot(weight / 2, x * dy - y * dx)) / 2
        (loop,) = read(tmp_path, build).loops
        assert_inscribed(area(loop), exact, 200.0)

    def test_spline_through_fit_points(self, tmp_path: Path) -> None:
        """An ellipse's points, splined: near the ellipse, but not it (0.1 %)."""
        a = np.linspace(0, math.tau, 41)
        points = [(60 * math.cos(t), 8 * math.sin(t)) for t in a]
        (loop,) = read(tmp_path, lambda m: m.add_spline(points)).loops
        assert area(loop) == pytest.approx(math.pi * 480, rel=1e-3)

    def test_polyline_drawn_from_behind(self, tmp_path: Path) -> None:
        """Extrusion (0, 0, -1): x is mirrored by the entity's own axes, as CAD mirroring leaves it."""

        def build(m: Any) -> None:
            box(m, 0, 0, 100, 10)
            m.add_circle((-80, 5), 2, dxfattribs={"extrusion": (0, 0, -1)})
            v = [(-20, 3), (-30, 3), (-30, 7)]
            m.add_lwpolyline(v, close=True, dxfattribs={"extrusion": (0, 0, -1)})

        _, triangle, circle = read(tmp_path, build).loops
        assert triangle.points[:, 0].min() * 1e3 == pytest.approx(20)
        assert circle.points[:, 0].mean() * 1e3 == pytest.approx(80)

    def test_three_dimensional_polyline_in_plane(self, tmp_path: Path) -> None:
        v = [(0, 0, 5), (100, 0, 5), (100, 10, 5)]
        (loop,) = read(tmp_path, lambda m: m.add_polyline3d(v, close=True)).loops
        assert area(loop) == pytest.approx(500)

    def test_annotation_is_left_out(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            m.add_text("wall 2.5")
            m.add_mtext("note")
            m.add_point((3, 3))
            m.add_hatch().paths.add_polyline_path([(0, 0), (120, 0), (120, 15)], is_closed=True)
            m.add_linear_dim(base=(0, -10), p1=(0, 0), p2=(120, 0)).render()
            m.add_leader([(0, 0), (5, 5)])

        assert [area(loop) for loop in read(tmp_path, build).loops] == [pytest.approx(1800)]

    def test_old_file_format(self, tmp_path: Path) -> None:
        """R12 states no unit and has no light polylines."""
        path = drawn(
            tmp_path,
            lambda m: m.add_polyline2d([(0, 0), (100, 0), (100, 10)], close=True),
            version="R12",
        )
        drawing = read_drawing(path, label="d", material=ALUMINIUM, fills={}, unit=1e-3)
        assert area(drawing.loops[0]) == pytest.approx(500)


class TestBlocks:
    def test_scaled_turned_nested(self, tmp_path: Path) -> None:
        """A hole of radius 1: stretched to an ellipse 2 x 1, turned, in a block of a block."""

        def build(m: Any) -> None:
            hole = m.doc.blocks.new("HOLE")
            hole.add_circle((0, 0), 1)
            pair = m.doc.blocks.new("PAIR")
            pair.add_blockref("HOLE", (0, 0), dxfattribs={"xscale": 2, "yscale": 1, "rotation": 90})
            pair.add_blockref("HOLE", (20, 0))
            box(m, 0, 0, 120, 15)
            m.add_blockref("PAIR", (30, 7), dxfattribs={"xscale": 1.5, "yscale": 1.5, "zscale": 1.5})

        outline, ellipse, circle = read(tmp_path, build).loops
        assert area(outline) == pytest.approx(1800)
        assert_inscribed(area(ellipse), math.pi * 3 * 1.5, 18.0)
        assert_inscribed(area(circle), math.pi * 1.5**2, math.tau * 1.5)
        assert np.ptp(ellipse.points[:, 1]) * 1e3 == pytest.approx(6, abs=2 * CHORD_ERROR)
        assert circle.points[:, 0].mean() * 1e3 == pytest.approx(60)

    def test_stretched_bulge_is_an_elliptic_arc(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            disc = m.doc.blocks.new("DISC")
            disc.add_lwpolyline([(-1, 0, 1), (1, 0, 1)], format="xyb", close=True)
            m.add_blockref("DISC", (0, 0), dxfattribs={"xscale": 60, "yscale": 7.5, "zscale": 1})

        (loop,) = read(tmp_path, build).loops
        assert_inscribed(area(loop), math.pi * 60 * 7.5, 245.0)

    def test_mirrored_block_and_its_rows(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            part = m.doc.blocks.new("PART")
            part.add_lwpolyline([(0, 0), (3, 0), (3, 2)], close=True)
            box(m, 0, 0, 120, 15)
            rows = {"column_count": 3, "column_spacing": 10, "row_count": 2, "row_spacing": 6}
            m.add_blockref("PART", (40, 4), dxfattribs={"xscale": -1, **rows})

        loops = read(tmp_path, build).loops
        assert len(loops) == 7
        assert [area(loop) for loop in loops[1:]] == pytest.approx([3] * 6)

    def test_layer_0_takes_the_references_layer(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            part = m.doc.blocks.new("PART")
            part.add_circle((0, 0), 3)
            part.add_circle((10, 0), 3, dxfattribs={"layer": "VOIDS"})
            box(m, 0, 0, 120, 15)
            m.add_blockref("PART", (40, 7), dxfattribs={"layer": "CORE"})

        drawing = read(tmp_path, build, fills={"core": FOAM})
        assert [(loop.layer, loop.fill) for loop in drawing.loops[1:]] == [
            ("CORE", FOAM),
            ("VOIDS", None),
        ]

    def test_too_deep(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            for k in range(12):
                block = m.doc.blocks.new(f"B{k}")
                if k < 11:
                    block.add_blockref(f"B{k + 1}", (0, 0))
            m.add_blockref("B0", (0, 0))

        (found,) = problems(tmp_path, build)
        assert "more than 8 deep" in found
        assert "INSERT" in found

    def test_block_within_itself(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            block = m.doc.blocks.new("LOOP")
            block.add_blockref("LOOP", (0, 0))
            m.add_blockref("LOOP", (0, 0))

        assert any("cycle" in line for line in problems(tmp_path, build))


class TestUnits:
    @pytest.mark.parametrize(("code", "unit"), [(4, 1e-3), (5, 1e-2), (6, 1.0), (1, 0.0254), (14, 0.1)])
    def test_stated_unit(self, tmp_path: Path, code: int, unit: float) -> None:
        w, h = 0.12 / unit, 0.015 / unit
        drawing = read(tmp_path, lambda m: box(m, 0, 0, w, h), units=code)
        assert drawing.chord == pytest.approx(0.12, rel=1e-12)
        assert drawing.thickness == pytest.approx(0.015, rel=1e-12)

    def test_same_curve_in_inches(self, tmp_path: Path) -> None:
        """The chord error is metric whatever the drawing's unit."""
        mm = read(tmp_path, lambda m: m.add_circle((0, 0), 50.8))
        inch = read(tmp_path, lambda m: m.add_circle((0, 0), 2), units=1)
        assert inch.loops[0].points == pytest.approx(mm.loops[0].points, abs=1e-12)

    def test_missing_unit(self, tmp_path: Path) -> None:
        (found,) = problems(tmp_path, lambda m: box(m, 0, 0, 120, 15), units=0)
        assert "states no unit" in found
        assert "120 x 15 units large, which suggests millimetres" in found
        assert 'unit = "mm"' in found

    def test_missing_unit_given(self, tmp_path: Path) -> None:
        drawing = read(tmp_path, lambda m: box(m, 0, 0, 120, 15), units=0, unit=1e-3)
        assert drawing.chord == pytest.approx(0.12)

    def test_both_the_same(self, tmp_path: Path) -> None:
        assert read(tmp_path, lambda m: box(m, 0, 0, 120, 15), unit=1e-3).chord == pytest.approx(0.12)

    def test_both_but_different(self, tmp_path: Path) -> None:
        found = problems(tmp_path, lambda m: box(m, 0, 0, 120, 15), unit=0.0254)
        assert found == [
            "die.dxf: $INSUNITS: the drawing states mm, the mast file in;"
            " take unit out of the mast file, or mend the drawing"
        ]

    def test_unusual_code(self, tmp_path: Path) -> None:
        (found,) = problems(tmp_path, lambda m: box(m, 0, 0, 120, 15), units=18)
        assert "unit code 18" in found

    @pytest.mark.parametrize(
        ("width", "code", "says"),
        [
            (120, 6, "120 m wide: it seems to be in millimetres but the drawing says m"),
            (0.12, 4, "0.12 mm wide: it seems to be in metres but the drawing says mm"),
            (120, 1, "3.048 m wide: it seems to be in millimetres but the drawing says in"),
            (4.75, 4, "4.75 mm wide: it seems to be in inches or centimetres but the drawing says mm"),
            (2001, 4, "2.001 m wide: the drawing says mm"),
        ],
    )
    def test_unit_slips(self, tmp_path: Path, width: float, code: int, says: str) -> None:
        (found,) = problems(tmp_path, lambda m: box(m, 0, 0, width, width / 8), units=code)
        assert says in found

    def test_slip_of_the_mast_file(self, tmp_path: Path) -> None:
        (found,) = problems(tmp_path, lambda m: box(m, 0, 0, 120, 15), units=0, unit=1.0)
        assert "in millimetres but the mast file says m" in found

    def test_slip_with_curves(self, tmp_path: Path) -> None:
        """The wrong unit makes tolerances wrong too: only the unit is told."""
        (found,) = problems(tmp_path, lambda m: m.add_ellipse((0, 0), (0.06, 0), ratio=0.12), units=4)
        assert "seems to be in metres" in found


class TestAxes:
    TRIANGLE = np.array([(0, 5), (100, 0), (100, 12)], float)  # leading edge at the left, flat tail

    @pytest.mark.parametrize(
        ("nose", "turn"),
        [
            ("left", [(1, 0), (0, 1)]),
            ("right", [(-1, 0), (0, -1)]),
            ("up", [(0, 1), (-1, 0)]),
            ("down", [(0, -1), (1, 0)]),
        ],
    )
    def test_nose(self, tmp_path: Path, nose: str, turn: list[tuple[int, int]]) -> None:
        """The same shape drawn four ways, turned but not mirrored: the short edge stays to starboard."""
        points = self.TRIANGLE @ np.array(turn).T + (30, -200)
        drawing = read(tmp_path, lambda m: m.add_lwpolyline(points.tolist(), close=True), nose=nose)
        assert drawing.loops[0].points * 1e3 == pytest.approx(np.array([(100, 6), (0, -1), (100, -6)]))
        assert drawing.chord == pytest.approx(0.1)
        assert drawing.thickness == pytest.approx(0.012)

    def test_upright_drawing(self, tmp_path: Path) -> None:
        (found,) = problems(tmp_path, lambda m: box(m, 0, 0, 15, 120))
        assert 'nose = "up" or "down"' in found
        (found,) = problems(tmp_path, lambda m: box(m, 0, 0, 120, 15), nose="up")
        assert 'nose = "left" or "right"' in found

    def test_contract(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            m.add_circle((90, 17), 2)
            m.add_circle((40, 17), 3)
            m.add_circle((40, 17), 1)
            box(m, 10, 10, 130, 25)

        path = drawn(tmp_path, build)
        drawing = read_drawing(path, label="name", material=ALUMINIUM, fills={})
        assert drawing.file == "name"
        assert drawing.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        assert [loop.parent for loop in drawing.loops] == [None, 0, 0, 1]
        assert [area(loop) > 0 for loop in drawing.loops] == [True] * 4
        assert drawing.loops[0].points.min(axis=0) == pytest.approx((0, -0.0075))
        for loop in drawing.loops:
            assert (np.hypot(*(loop.points - np.roll(loop.points, 1, axis=0)).T) > 0).all()
            assert not loop.points.flags.writeable


class TestFills:
    def test_three_deep(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            box(m, 2, 2, 60, 13)
            m.add_circle((30, 7), 4)
            m.add_circle((30, 7), 2)
            box(m, 65, 2, 110, 13)

        drawing = read(tmp_path, build)
        assert [(loop.parent, loop.fill) for loop in drawing.loops] == [
            (None, ALUMINIUM),
            (0, None),
            (0, None),
            (1, ALUMINIUM),
            (3, None),
        ]

    def test_layers(self, tmp_path: Path) -> None:
        """A core, a hole in the core (a void, not skin), an insert in a void, and lines to ignore."""

        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15, "Skin")
            box(m, 2, 2, 60, 13, "Foam")
            m.add_circle((30, 7), 2)
            box(m, 65, 2, 110, 13)
            m.add_circle((80, 7), 3, dxfattribs={"layer": "Bush"})
            m.add_circle((80, 7), 1, dxfattribs={"layer": "Bore"})
            lines(m, [(-5, 7), (125, 7)], "Centre")

        fills: dict[str, Fill] = {
            "FOAM": FOAM,
            "bush": INSERT,
            "bore": None,
            "CENTRE": "ignore",
            "no": "ignore",
        }
        drawing = read(tmp_path, build, fills=fills)
        assert [(loop.layer, loop.fill) for loop in drawing.loops] == [
            ("Skin", ALUMINIUM),
            ("Foam", FOAM),
            ("0", None),
            ("0", None),
            ("Bush", INSERT),
            ("Bore", None),
        ]
        assert read(tmp_path, build, fills={**fills, "bore": "void"}).loops[5].fill is None

    def test_unknown_layer(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            box(m, 2, 2, 60, 13, "FOAM_CORE")

        (found,) = problems(tmp_path, build, fills={"FOAMCORE": FOAM})
        assert 'section.layers."FOAMCORE": no such layer in the drawing' in found
        assert 'did you mean "FOAM_CORE"?' in found

    def test_loop_on_two_layers(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            lines(m, [(5, 5), (20, 5), (20, 10)], "A")
            lines(m, [(20, 10), (5, 5)], "B")

        (found,) = problems(tmp_path, build, fills={"A": FOAM})
        assert 'layers that are filled differently: "A", "B"' in found
        assert read(tmp_path, build).loops[1].layer == "A"

    def test_void_where_nothing_is(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15, "V")

        assert "the outermost loop is a void" in problems(tmp_path, build, fills={"V": None})[0]

        def island(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            box(m, 5, 3, 50, 12, "V")
            box(m, 10, 5, 20, 10, "V")

        assert "a loop in the void LWPOLYLINE" in problems(tmp_path, island, fills={"V": None})[0]

    def test_hidden_layer(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            m.doc.layers.add("OFF").off()
            box(m, 0, 0, 120, 15)
            m.add_circle((40, 7), 2, dxfattribs={"layer": "OFF"})

        (found,) = problems(tmp_path, build)
        assert 'layer "OFF": is off, frozen or invisible' in found
        assert len(read(tmp_path, build, fills={"OFF": "ignore"}).loops) == 1
        assert len(read(tmp_path, build, fills={"OFF": None}).loops) == 2


class TestFaults:
    def test_open_loop(self, tmp_path: Path) -> None:
        ends: list[Any] = []

        def build(m: Any) -> None:
            ends[:] = lines(m, [(0, 0), (120, 0), (120, 15), (0, 15), (0, 0.03)])

        (found,) = problems(tmp_path, build)
        first, last = ends[0].dxf.handle, ends[-1].dxf.handle
        assert f"loose end at (0, 0) mm of LINE {first} (nearest other end: 0.03 mm away" in found
        assert f"and at (0, 0.03) mm of LINE {last}" in found
        assert "gap_tolerance above 0.03 mm" in found
        assert len(read(tmp_path, build, gap=4e-5).loops) == 1, "and that remedy works"

    def test_gap_is_closed_at_the_middle(self, tmp_path: Path) -> None:
        corners = [(0.0, 0.0), (120.0, 0.0), (120.0, 15.0), (0.0, 15.0), (0.0, 0.008)]
        (loop,) = read(tmp_path, lambda m: lines(m, corners)).loops
        assert area(loop) == pytest.approx(1800 - 120 * 0.004 / 2)

    def test_curve_of_lines_shorter_than_the_gap(self, tmp_path: Path) -> None:
        """Lines that meet exactly are joined as drawn, however short."""
        a = np.linspace(0, math.tau, 6001)
        points = list(zip(60 * np.cos(a), 8 * np.sin(a), strict=True))
        drawing = read(tmp_path, lambda m: lines(m, points))
        assert drawing.chord == pytest.approx(0.12, abs=1e-9)
        assert area(drawing.loops[0]) == pytest.approx(math.pi * 480, rel=1e-6)

    def test_only_ends_are_joined(self, tmp_path: Path) -> None:
        """An end on the middle of a line is a fault that says so."""
        made: list[Any] = []

        def build(m: Any) -> None:
            box(m, -10, -10, 130, 25)
            made[:] = lines(m, [(0, 0), (120, 0), (120, 15), (0, 15), (0, -5)])

        (found,) = problems(tmp_path, build)
        assert f"(on the middle of LINE {made[-1].dxf.handle}: split that there)" in found

    def test_untrimmed_lines(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            m.add_line((-5, 0), (125, 0))
            m.add_line((-5, 15), (125, 15))
            m.add_line((0, -5), (0, 20))
            m.add_line((120, -5), (120, 20))

        found = problems(tmp_path, build)
        assert len(found) == 4
        assert "it crosses LINE" in found[0]
        assert "at (0, 0) mm" in found[0]
        assert "trim both there" in found[0]

    def test_three_ends(self, tmp_path: Path) -> None:
        """Cells drawn with shared walls of one line are no loops."""

        def build(m: Any) -> None:
            lines(m, [(0, 0), (60, 0), (120, 0), (120, 15), (60, 15), (0, 15), (0, 0)])
            m.add_line((60, 0), (60, 15))

        found = problems(tmp_path, build)
        assert "3 ends meet at (60, 0) mm" in found[0]
        assert "3 ends meet at (60, 15) mm" in found[1]

    @pytest.mark.parametrize("backward", [False, True])
    def test_duplicate_line(self, tmp_path: Path, backward: bool) -> None:
        made: list[Any] = []

        def build(m: Any) -> None:
            made[:] = lines(m, [(0, 0), (120, 0), (120, 15), (0, 15), (0, 0)])
            ends = ((120, 15), (0, 15)) if not backward else ((0, 15), (120, 15))
            made.append(m.add_line(*ends))

        (found,) = problems(tmp_path, build)
        assert f"LINE {made[4].dxf.handle}" in found
        assert f"lies on LINE {made[2].dxf.handle}: the same line is drawn twice" in found

    def test_duplicate_curves(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            m.add_circle((0, 0), 50)
            m.add_lwpolyline([(0, -50, 1), (0, 50, 1)], format="xyb", close=True)
            m.add_arc((0, 0), 50, 10, 190)
            m.add_arc((0, 0), 50, 190, 10)

        found = problems(tmp_path, build)
        assert len(found) == 2
        assert "the same line is drawn twice" in found[0]
        assert "the same loop is drawn twice" in found[1]

    def test_self_crossing(self, tmp_path: Path) -> None:
        made: list[Any] = []

        def build(m: Any) -> None:
            made.append(m.add_lwpolyline([(0, 0), (120, 10), (120, 0), (0, 10)], close=True))

        (found,) = problems(tmp_path, build)
        assert (
            f"LWPOLYLINE {made[0].dxf.handle}: the loop crosses or touches itself at (60, 5) mm" in found
        )

    def test_spike(self, tmp_path: Path) -> None:
        corners = [(0, 0), (120, 0), (120, 15), (120, 25), (120, 15), (0, 15)]
        (found,) = problems(tmp_path, lambda m: m.add_lwpolyline(corners, close=True))
        assert "crosses or touches itself" in found

    def test_loops_that_cross(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            box(m, 60, 7, 130, 20)

        (found,) = problems(tmp_path, build)
        assert "the loops cross at" in found
        assert "(120, 7) mm (LWPOLYLINE" in found
        assert "(60, 15) mm" in found

    def test_loops_that_touch(self, tmp_path: Path) -> None:
        def edge(m: Any) -> None:
            box(m, 0, 0, 60, 15)
            box(m, 60, 0, 120, 15)

        assert "the loops touch at (60, 0) mm" in problems(tmp_path, edge)[0]

        def near(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            m.add_circle((10, 7.5), 2)
            m.add_circle((14.005, 7.5), 2)

        (found,) = problems(tmp_path, near)
        assert "the loops touch: 0.005 mm apart at (12, 7.5) mm" in found

        def apart(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            m.add_circle((10, 7.5), 2)
            m.add_circle((14.05, 7.5), 2)

        assert len(read(tmp_path, apart).loops) == 3

    def test_zero_length(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            m.add_line((5, 5), (5, 5))

        (found,) = problems(tmp_path, build)
        assert "has no length, at (5, 5) mm; delete it" in found

    def test_two_outlines(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            m.add_circle((50, 7), 2)
            box(m, 0, 30, 60, 40)

        (found,) = problems(tmp_path, build)
        assert "2 loops lie in no other" in found
        assert "(120 x 15 mm)" in found
        assert "(60 x 10 mm)" in found

    def test_stray_entities_are_all_told(self, tmp_path: Path) -> None:
        made: list[Any] = []

        def build(m: Any) -> None:
            box(m, 0, 0, 120, 15)
            made.append(m.add_solid([(3, 4), (5, 4), (5, 6)], dxfattribs={"layer": "X"}))
            made.append(m.add_3dface([(7, 8), (9, 8), (9, 9)]))
            made.append(m.add_line((1, 5, 0), (2, 5, 3)))
            made.append(m.add_line((20, 5), (30, 5)))

        solid, face, steep, loose = problems(tmp_path, build)
        assert f'SOLID {made[0].dxf.handle} on layer "X"' in solid
        assert "at (3, 4) mm" in solid
        assert f"3DFACE {made[1].dxf.handle}" in face
        assert "leaves the drawing's plane (z from 0 mm to 3 mm)" in steep
        assert "loose end at (20, 5) mm" in loose
        assert "nearest other end: 10 mm away" in loose

    def test_coordinates_are_in_the_drawings_unit(self, tmp_path: Path) -> None:
        corners = [(0.0, 0.0), (4.75, 0.0), (4.75, 0.6), (0.0, 0.6), (0.0, 0.001)]
        (found,) = problems(tmp_path, lambda m: lines(m, corners), units=1)
        assert "(0, 0.001) in" in found

    def test_empty_drawing(self, tmp_path: Path) -> None:
        assert "nothing is drawn" in problems(tmp_path, lambda m: m.add_text("x"))[0]

        def on_paper(m: Any) -> None:
            m.doc.layout("Layout1").add_circle((0, 0), 50)

        assert "from paper space to model space" in problems(tmp_path, on_paper)[0]

    def test_many_faults_are_cut_short(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            for k in range(60):
                m.add_line((k, 0), (k, 0))
                m.add_line((k, 0), (k, 10))

        found = problems(tmp_path, build)
        assert len(found) == 41
        assert "more faults" in found[-1]

    def test_too_many_entities(self, tmp_path: Path) -> None:
        def build(m: Any) -> None:
            m.doc.blocks.new("DOT").add_circle((0, 0), 0.1)
            box(m, 0, 0, 120, 15)
            rows = {"column_count": 200, "column_spacing": 0.5, "row_count": 101, "row_spacing": 0.1}
            m.add_blockref("DOT", (1, 1), dxfattribs=rows)

        assert "more than 20,000 entities" in problems(tmp_path, build)[0]

    def test_tolerances_out_of_range(self, tmp_path: Path) -> None:
        found = problems(tmp_path, lambda m: box(m, 0, 0, 120, 15), chord_error=0.0, gap=1.0)
        assert len(found) == 2


class TestFiles:
    @pytest.mark.parametrize(
        ("content", "says"),
        [
            (b"", "is not a DXF file"),
            (b"hello\n", "is not a DXF file"),
            (b"AC1027\0\0\0", "is a DWG file"),
            (b"AutoCAD Binary DXF\r\n\x1a\0" + b"\0" * 50, "is a binary DXF file"),
            (b"\x00\x01" * 50, "is binary"),
            (b"  0\nSECTION\n  2\nENTITIES\n  0\nLINE\n  8\n0\n", "is cut short"),
            (b"  0\nSECTION\n  2\nENTITIES\nfoo\nLINE\n0\nENDSEC\n0\nEOF\n", "is damaged"),
        ],
    )
    def test_not_a_drawing(self, tmp_path: Path, content: bytes, says: str) -> None:
        path = tmp_path / "die.dxf"
        path.write_bytes(content)
        with pytest.raises(InputError) as caught:
            read_drawing(path, label="die.dxf", material=ALUMINIUM, fills={})
        assert str(caught.value).startswith("die.dxf: " + says)

    def test_missing_folder_and_large(self, tmp_path: Path) -> None:
        with (tmp_path / "large.dxf").open("wb") as out:
            out.truncate(20_000_001)
        for name, says in (
            ("none.dxf", "cannot be read"),
            (".", "is not a file"),
            ("large.dxf", "than 5 MB"),
        ):
            with pytest.raises(InputError, match=says):
                read_drawing(tmp_path / name, label="die.dxf", material=ALUMINIUM, fills={})

    def test_bare_entities_section(self, tmp_path: Path) -> None:
        """The least a script writes: no header, no tables."""
        path = tmp_path / "die.dxf"
        tags = "0 SECTION 2 ENTITIES 0 CIRCLE 8 0 10 0 20 0 40 60 0 ENDSEC 0 EOF"
        path.write_text("\n".join(tags.split()) + "\n")
        drawing = read_drawing(path, label="die.dxf", material=ALUMINIUM, fills={}, unit=1e-3)
        assert drawing.chord == pytest.approx(0.12)

    def test_lost_entity_is_not_overlooked(self, tmp_path: Path) -> None:
        """The library drops a circle without a radius; that would fill a hole unsaid."""
        path = drawn(tmp_path, lambda m: (box(m, 0, 0, 120, 15), m.add_circle((50, 7), 2.125)))
        path.write_text(path.read_text().replace("2.125", "0.0"))
        with pytest.raises(InputError, match=r"damaged|has no length"):
            read_drawing(path, label="die.dxf", material=ALUMINIUM, fills={})

    def test_library_says_nothing_itself(
        self, tmp_path: Path, capfd: pytest.CaptureFixture[str]
    ) -> None:
        path = tmp_path / "die.dxf"
        path.write_bytes(b"  0\nSECTION\n  2\nENTITIES\nfoo\nLINE\n0\nENDSEC\n0\nEOF\n")
        with pytest.raises(InputError):
            read_drawing(path, label="die.dxf", material=ALUMINIUM, fills={})
        assert capfd.readouterr() == ("", "")


def blade() -> tuple[Region, ...]:
    """Skin, two foam cores, one with a bush and its bore; on the section grid."""

    def on_grid(shape: Any) -> Any:
        return shapely.set_precision(shape, 1e-9)

    outer = on_grid(
        shapely.Polygon(
            contour("naca-4-digit", chord=0.12, thickness=0.0144, trailing_edge_radius=4e-4, panels=30)
        )
    )
    inner = on_grid(outer.buffer(-0.0023, join_style="mitre").buffer(0.0003, quad_segs=2))
    cells = on_grid(inner.difference(shapely.box(0.04, -0.02, 0.042, 0.02))).geoms
    fore, aft = sorted(cells, key=lambda cell: float(cell.bounds[0]))
    bore, boss = (on_grid(shapely.Point(0.065, 0).buffer(r, quad_segs=6)) for r in (0.002, 0.003))
    return (
        Region(
            polygon=shapely.Polygon(outer.exterior, [fore.exterior, aft.exterior]), material=ALUMINIUM
        ),
        Region(polygon=shapely.Polygon(fore.exterior), material=FOAM),
        Region(polygon=shapely.Polygon(aft.exterior, [boss.exterior]), material=FOAM),
        Region(polygon=shapely.Polygon(boss.exterior, [bore.exterior]), material=INSERT),
    )


def back(tmp_path: Path, content: bytes, fills: Mapping[str, Fill]) -> Drawing:
    path = tmp_path / "out.dxf"
    path.write_bytes(content)
    return read_drawing(path, label="out.dxf", material=ALUMINIUM, fills=fills)


class TestWriter:
    FILLS: Mapping[str, Fill] = {m.name: m for m in (ALUMINIUM, FOAM, INSERT)}

    def test_round_trip(self, tmp_path: Path) -> None:
        """Area and J to 0.01 %; measured 1e-8."""
        section = blade()
        assert is_nested(section)
        drawing = back(tmp_path, section_dxf(section, name="Test — blade"), self.FILLS)
        assert [(loop.parent, loop.layer) for loop in drawing.loops] == [
            (None, "test aluminium"),
            (0, "PVC foam 80"),
            (0, "PVC foam 80"),
            (2, "insert_bush"),
            (3, "VOID"),
        ]
        got = regions(drawing)
        assert [r.material for r in got] == [r.material for r in section]
        for ours, theirs in zip(section, got, strict=True):
            assert theirs.polygon.area == pytest.approx(ours.polygon.area, rel=1e-6)
        want, have = solve_section(section).properties, solve_section(got).properties
        assert have.area == pytest.approx(want.area, rel=1e-4)
        for key in ("GJ", "EIxx", "EIyy", "mass_per_length"):
            assert getattr(have, key) == pytest.approx(getattr(want, key), rel=1e-4)

    def test_hollow_round_trip_without_fills(self, tmp_path: Path) -> None:
        skin = blade()[0]
        drawing = back(tmp_path, section_dxf((skin,), name="hollow"), {})
        (got,) = regions(drawing)
        want, have = solve_section((skin,)).properties, solve_section((got,)).properties
        assert pytest.approx(want.GJ, rel=1e-4) == have.GJ
        assert have.area == pytest.approx(want.area, rel=1e-4)

    def test_file(self) -> None:
        content = section_dxf(blade(), name="Test\nblade")
        doc, auditor = recover.read(io.BytesIO(content))
        assert not auditor.errors
        assert not auditor.fixes
        assert doc.acad_release == "R2010"
        assert doc.units == 4
        polylines: Any = doc.modelspace().query("LWPOLYLINE")
        assert len(polylines) == 5, "a shared edge is written once"
        assert all(p.closed for p in polylines)
        assert [t.dxf.text for t in doc.modelspace().query("TEXT")] == ["Test blade"]

    def test_bytes_are_stable(self) -> None:
        """Two processes with different hash seeds write the same bytes as this one."""
        script = (
            "import sys, hashlib; from tests.unit.test_drawing import blade;"
            " from mastcheck.files.dxf import section_dxf;"
            " print(hashlib.sha256(section_dxf(blade(), name='x')).hexdigest())"
        )
        here = hashlib.sha256(section_dxf(blade(), name="x")).hexdigest()
        root = Path(__file__).parents[2]
        for seed in ("1", "2", "3", "4"):
            run = subprocess.run(
                [sys.executable, "-c", script],
                env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(root), "PATH": "/usr/bin"},
                cwd=root,
                capture_output=True,
                text=True,
                check=True,
            )
            assert run.stdout.strip() == here

    def test_library_option_is_left_as_it_was(self) -> None:
        before = options.write_fixed_meta_data_for_testing
        section_dxf(blade(), name="x")
        assert before == options.write_fixed_meta_data_for_testing

    def test_zones_side_by_side(self, tmp_path: Path) -> None:
        """Zones that touch: refused as it is; the outline and its void with the zones ignored."""
        outer, void = shapely.box(0, 0, 0.12, 0.015), shapely.box(0.02, 0.003, 0.1, 0.012)
        nose = replace(ALUMINIUM, name="nose laminate")
        skin = outer.difference(void)
        section = (
            Region(polygon=skin.intersection(shapely.box(0, 0, 0.015, 1)), material=nose),
            Region(polygon=skin.intersection(shapely.box(0.015, 0, 1, 1)), material=ALUMINIUM),
        )
        assert not is_nested(section)
        content = section_dxf(section, name="zones")
        with pytest.raises(InputError, match="touch"):
            back(tmp_path, content, {})
        zones: dict[str, Fill] = {"ZONE nose laminate": "ignore", "ZONE test aluminium": "ignore"}
        drawing = back(tmp_path, content, zones)
        assert [loop.layer for loop in drawing.loops] == ["OUTLINE", "VOID"]
        assert area(drawing.loops[0]) - area(drawing.loops[1]) == pytest.approx(skin.area * 1e6)

    def test_core_beside_a_void(self) -> None:
        """A core that fills its cell in part shares only part of the cell's edge."""
        cell = shapely.box(0.02, 0.003, 0.1, 0.012)
        core = shapely.box(0.02, 0.003, 0.06, 0.012)
        section = (
            Region(polygon=shapely.box(0, 0, 0.12, 0.015).difference(cell), material=ALUMINIUM),
            Region(polygon=core, material=FOAM),
        )
        assert not is_nested(section)

    def test_regions_of_one_material_are_one(self, tmp_path: Path) -> None:
        section = (
            Region(polygon=shapely.box(0, 0, 0.06, 0.015), material=ALUMINIUM),
            Region(polygon=shapely.box(0.06, 0, 0.12, 0.015), material=ALUMINIUM),
        )
        drawing = back(tmp_path, section_dxf(section, name="x"), {})
        assert [area(loop) for loop in drawing.loops] == [pytest.approx(1800)]

    def test_refusals(self) -> None:
        with pytest.raises(GeometryError, match="without regions"):
            section_dxf((), name="x")
        apart = tuple(
            Region(polygon=shapely.box(x, 0, x + 0.01, 0.01), material=ALUMINIUM) for x in (0.0, 0.05)
        )
        with pytest.raises(GeometryError, match="hang together"):
            section_dxf(apart, name="x")
        skin, core = blade()[:2]
        for name in ("Test Aluminium", "void"):
            twin = replace(core, material=replace(FOAM, name=name))
            with pytest.raises(GeometryError, match="would share the layer"):
                section_dxf((skin, twin), name="x")

    def test_layer_names_are_legal(self) -> None:
        from ezdxf.lldxf.validator import is_valid_table_name

        for text in ('a<b>/\\":;?*|=`,c', "  x\ty ", "", "é", "x" * 400):
            name = layer_name(text)
            assert is_valid_table_name(name)
            assert layer_name(name) == name


class TestProfile:
    PATH = FOLDER / "aluminium-75-extruded.dxf"

    def test_reads_and_solves(self) -> None:
        drawing = read_drawing(self.PATH, label="d", material=ALUMINIUM, fills={"CENTRE": "ignore"})
        assert drawing.chord == pytest.approx(0.12, abs=1e-9)
        assert drawing.thickness == pytest.approx(0.015, abs=1e-9)
        assert [loop.layer for loop in drawing.loops] == [
            "OUTLINE",
            "CELLS",
            "CHANNELS",
            "CELLS",
            "CHANNELS",
            "CELLS",
        ]
        (section,) = regions(drawing)
        assert solve_section((section,)).properties.area == pytest.approx(section.polygon.area, rel=1e-9)

    def test_area_by_green(self) -> None:
        """Area from the drawing's own arcs in closed form: chord polygon and circular segments."""
        space: Any = readfile(self.PATH).modelspace()

        def segment(r: float, theta: float) -> float:
            return r * r * (theta - math.sin(theta)) / 2

        arcs = sorted(
            space.query("ARC"), key=lambda a: math.atan2(a.start_point.y, a.start_point.x - 60)
        )
        corners = np.array([(a.start_point.x, a.start_point.y) for a in arcs])
        exact = shapely.Polygon(corners).area
        for a in arcs:
            sweep = math.radians((a.dxf.end_angle - a.dxf.start_angle) % 360)
            exact += segment(a.dxf.radius, sweep)
        for cell in space.query("LWPOLYLINE"):
            v = cell.get_points("xyb")
            x, y, bulges = np.array(v).T
            twice = np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)
            inside = float(twice) / 2
            for (x0, y0, b), (x1, y1, _) in zip(v, [*v[1:], v[0]], strict=True):
                if b:
                    theta = 4 * math.atan(abs(b))
                    r = math.hypot(x1 - x0, y1 - y0) / 2 / math.sin(theta / 2)
                    inside += math.copysign(segment(r, theta), b)
            assert inside > 0
            assert len(bulges) == len(v)
            exact -= inside
        exact -= sum(math.pi * c.dxf.radius**2 for c in space.query("CIRCLE"))
        fine = read_drawing(
            self.PATH, label="d", material=ALUMINIUM, fills={"CENTRE": "ignore"}, chord_error=1e-7
        )
        (section,) = regions(fine)
        assert section.polygon.area * 1e6 == pytest.approx(exact, rel=2e-5)
        assert exact == pytest.approx(624.54, abs=0.01), "the figure stated beside the drawing"
