from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from mastcheck.drawn import Coordinates
from mastcheck.errors import InputError
from mastcheck.files.coordinates import read_coordinates
from mastcheck.files.profiles import FOLDER
from mastcheck.files.smooth import heights
from mastcheck.outline import half_thickness

FloatArray = NDArray[np.float64]

THICKEST = 1.000118
"""Greatest height of the closed four-digit law over its nominal thickness (solved from the law)."""


def naca(x: FloatArray, t: float = 0.12) -> FloatArray:
    return half_thickness("naca-4-digit", x, chord=1.0, thickness=t)


def stations(n: int) -> FloatArray:
    """Cosine-spaced chord fractions."""
    return np.asarray((1 - np.cos(np.linspace(0, np.pi, n))) / 2)


TABLE = np.array([0, 1.25, 2.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 95, 100]) / 100
"""Chord fractions at which ordinate tables of four-digit sections are usually printed."""


def around(x: FloatArray, t: float = 0.12, camber: float = 0.0) -> FloatArray:
    """Tail, port face, nose, starboard face, tail; a parabolic camber line if asked."""
    y, mean = naca(x, t), 4 * camber * x * (1 - x)
    port, starboard = np.column_stack((x, mean + y)), np.column_stack((x, mean - y))
    return np.vstack((port[::-1], starboard[1:]))


def written(tmp_path: Path, text: str | bytes, name: str = "section.dat") -> Path:
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def lines(points: FloatArray, separator: str = " ") -> str:
    return "\n".join(separator.join(f"{v:.12f}" for v in p) for p in points) + "\n"


def read(tmp_path: Path, text: str | bytes) -> Coordinates:
    return read_coordinates(written(tmp_path, text), label="section.dat")


def problems(tmp_path: Path, text: str | bytes) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(tmp_path, text)
    found = [str(p) for p in caught.value.problems]
    assert all(line.isprintable() for line in found), "one line each"
    assert all(line.startswith("section.dat") for line in found), "each names its file"
    return found


def area(ring: FloatArray) -> float:
    return float(shapely.Polygon(ring).area)


def assert_normal(c: Coordinates) -> None:
    """The contract of Coordinates."""
    ring = c.points
    _, port, starboard = heights(ring)
    assert ring[:, 0].min() == 0
    assert ring[0, 0] == ring[:, 0].max() == 1
    assert (port - starboard).max() == pytest.approx(1, abs=1e-12)
    polygon = shapely.Polygon(ring)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    nose = int(ring[:, 0].argmin())
    assert ring[: nose + 1, 1].mean() > ring[nose:, 1].mean(), "port face first"
    assert (np.hypot(*(ring - np.roll(ring, 1, axis=0)).T) > 1e-5).all(), "no point twice"
    assert not ring.flags.writeable


class TestCurve:
    """Against the four-digit law itself (mastcheck.outline, tested against published ordinates)."""

    @pytest.mark.parametrize(
        ("x", "bound"),
        [(stations(18), 1e-5), (TABLE, 3e-5), (stations(50), 1e-6), (np.linspace(0, 1, 21), 4e-5)],
        ids=["35 cosine", "35 of a table", "99 cosine", "41 even"],
    )
    @pytest.mark.parametrize("t", [0.10, 0.12])
    def test_few_points_recover_the_law(
        self, tmp_path: Path, x: FloatArray, bound: float, t: float
    ) -> None:
        """Measured, in chords: 7e-6, 2.4e-5, 8e-7 and 2.9e-5 at t = 0.12.

        The third is the panels' own: their greatest height, which is 1, is a little under the curve's.
        """
        c = read(tmp_path, lines(around(x, t)))
        assert_normal(c)
        off = np.abs(np.abs(c.points[:, 1]) * t * THICKEST - naca(c.points[:, 0], t))
        assert off.max() < bound

    def test_area_of_35_points_is_the_laws(self, tmp_path: Path) -> None:
        """0.6808833 t c² (closed form of the closed law); straight panels lose 0.57 % of it."""
        c = read(tmp_path, lines(around(stations(18))))
        exact = 0.6808833 / THICKEST
        assert area(c.points) == pytest.approx(exact, rel=2e-4)
        assert area(around(stations(18))) / 0.12 < 0.9945 * exact * THICKEST

    def test_camber_is_scaled_with_thickness(self, tmp_path: Path) -> None:
        c = read(tmp_path, lines(around(stations(40), camber=0.02)))
        assert_normal(c)
        x, port, starboard = heights(c.points)
        inner = (x > 0.05) & (x < 0.95)
        mean = (port + starboard)[inner] / 2
        assert mean == pytest.approx(0.08 * (x * (1 - x))[inner] / (0.12 * THICKEST), abs=2e-3)

    def test_corners_do_not_overshoot(self, tmp_path: Path) -> None:
        """A polygon stays that polygon: its own area and height, nothing outside."""
        port = np.array([(0, 0), (0.1, 0.06), (0.7, 0.06), (1, 0)])
        polygon = np.vstack((port[::-1], port[1:] * (1, -1)))
        c = read(tmp_path, lines(polygon))
        assert_normal(c)
        assert area(c.points) * 0.12 == pytest.approx(area(polygon), rel=1e-12)
        assert np.abs(c.points[:, 1]).max() == pytest.approx(0.5, abs=1e-15)

    def test_many_points_on_straight_faces_keep_their_chine(self, tmp_path: Path) -> None:
        x = np.linspace(0, 1, 41)
        y = np.interp(x, [0, 0.2, 0.75, 1], [0, 0.06, 0.06, 0])
        polygon = np.vstack((np.column_stack((x, y))[::-1], np.column_stack((x, -y))[1:-1]))
        c = read(tmp_path, lines(polygon))
        off = np.abs(np.abs(c.points[:, 1]) * 0.12 - np.interp(c.points[:, 0], x, y))
        assert off.max() < 1e-9

    def test_round_nose_runs_into_long_flat_face(self, tmp_path: Path) -> None:
        """A slab as a CAD program lists it: arc of short panels, then one long one."""
        a = np.linspace(0, np.pi / 2, 12)
        port = np.vstack((0.06 * np.column_stack((1 - np.cos(a), np.sin(a))), [(0.7, 0.06), (1, 0)]))
        c = read(tmp_path, lines(np.vstack((port[::-1], port[1:] * (1, -1)))))
        exact = np.pi * 0.06**2 / 2 + 0.64 * 0.12 + 0.3 * 0.06
        assert area(c.points) * 0.12 == pytest.approx(exact, rel=1e-4)
        assert np.abs(c.points[:, 1]).max() == pytest.approx(0.5, abs=1e-9)

    def test_square_nose_and_blunt_tail_are_kept(self, tmp_path: Path) -> None:
        box = np.array([(120, 15), (0, 15), (0, 0), (120, 0)], float)
        c = read(tmp_path, lines(box))
        assert area(c.points) == pytest.approx(1, abs=1e-12)
        assert c.points[:, 1].min() == pytest.approx(-0.5)

    def test_open_tail_stays_open(self, tmp_path: Path) -> None:
        ring = around(stations(30))
        ring[:, 1] += np.where(np.arange(len(ring)) < 30, 0.004, -0.004) * ring[:, 0]
        c = read(tmp_path, lines(ring))
        assert_normal(c)
        tail = c.points[c.points[:, 0] == 1]
        assert np.ptp(tail[:, 1]) * 0.12 == pytest.approx(0.008, rel=0.06), "over the greater thickness"

    def test_round_tail_is_kept(self, tmp_path: Path) -> None:
        """An ellipse: area pi/4 of its box, at both ends round."""
        a = np.linspace(0, 2 * np.pi, 41)
        c = read(tmp_path, lines(np.column_stack((60 + 60 * np.cos(a), 8 * np.sin(a)))))
        assert area(c.points) == pytest.approx(np.pi / 4, rel=4e-4)  # 100 panels a side lose 2.5e-4


def test_shipped_list() -> None:
    """The invented section in the profiles folder: symmetric, thickest at 0.4, with a blunt tail."""
    c = read_coordinates(FOLDER / "aluminium-75-section.csv", label="list")
    assert_normal(c)
    x, port, starboard = heights(c.points)
    assert port == pytest.approx(-starboard, abs=1e-12)
    assert x[(port - starboard).argmax()] == pytest.approx(0.4, abs=0.02)
    assert port[-1] - starboard[-1] == pytest.approx(0.493 / 7.25, rel=1e-3)


class TestOrders:
    RING = around(stations(20), camber=0.01)
    PORT = RING[19::-1]
    STARBOARD = RING[19:]

    @pytest.mark.parametrize(
        "text",
        [
            lines(RING),
            lines(RING[::-1]),
            lines(RING[:-1]),
            lines(np.vstack((PORT, STARBOARD))),
            lines(np.vstack((STARBOARD, PORT))),
            lines(PORT) + "\n" + lines(STARBOARD),
            "20. 20.\n\n" + lines(PORT) + "\n" + lines(STARBOARD),
            "title\n20 20\n" + lines(STARBOARD) + lines(PORT),
            lines(np.vstack((PORT[::-1], STARBOARD[::-1]))),
            lines(np.vstack((PORT, STARBOARD[::-1]))),
            lines(np.vstack((PORT, STARBOARD[-2:0:-1]))),
            lines(np.vstack((STARBOARD, PORT[::-1]))),
            lines(np.vstack((PORT[::-1], STARBOARD))),
            lines(100 * RING),
            lines(RING * 120 + (15, 40)),
        ],
        ids=[
            "tail nose tail",
            "starboard first",
            "not closed",
            "two lists",
            "two lists, starboard first",
            "two lists with a blank line",
            "two lists with counts",
            "two lists with counts and title",
            "two lists from the tail",
            "nose tail nose",
            "nose tail nose, not closed",
            "nose tail nose, starboard first",
            "nose twice",
            "per cent",
            "millimetres, moved",
        ],
    )
    def test_any_order_is_the_same_section(self, tmp_path: Path, text: str) -> None:
        want = read(tmp_path, lines(self.RING)).points
        got = read(tmp_path, text)
        assert_normal(got)
        assert got.points == pytest.approx(want, abs=2e-7)

    def test_symmetric_list_is_symmetric(self, tmp_path: Path) -> None:
        points = read(tmp_path, lines(around(TABLE))).points
        mirror = np.vstack((points[:1], points[:0:-1])) * (1, -1)
        assert points == pytest.approx(mirror, abs=1e-12)


class TestText:
    RING = around(stations(12))

    @pytest.mark.parametrize(
        "text",
        [
            lines(RING, ","),
            lines(RING, ", "),
            lines(RING, ";"),
            lines(RING, "\t"),
            lines(RING, " ; ").replace(".", ","),
            lines(RING, "\t").replace(".", ","),
            lines(RING, "  ").replace(".", ","),
            "# made up\n; nothing\n// here\n! either\n" + lines(RING),
            "An invented section\nx y\n" + lines(RING),
            '"x","y"\n' + lines(RING, ","),
            lines(RING).replace("\n", "   # remark\n"),
            "\n\n" + lines(RING).replace("\n", "\r\n"),
            lines(RING).replace("\n", "\r"),
            b"\xef\xbb\xbf" + lines(RING).encode(),
            lines(RING).encode("utf-16"),
            b"Profil \xe9troit\n" + lines(RING).encode(),
            "\n".join(f"{x:.13E} {y:+.13e}" for x, y in RING),
        ],
    )
    def test_same_points(self, tmp_path: Path, text: str | bytes) -> None:
        want = read(tmp_path, lines(self.RING)).points
        assert read(tmp_path, text).points == pytest.approx(want, abs=1e-9)

    def test_file_and_hash(self, tmp_path: Path) -> None:
        import hashlib

        text = lines(self.RING)
        c = read(tmp_path, text)
        assert c.file == "section.dat"
        assert c.sha256 == hashlib.sha256(text.encode()).hexdigest()

    def test_bad_lines_are_all_named(self, tmp_path: Path) -> None:
        text = "title\n" + lines(self.RING) + "0.5 0.1 0.0\n0.5\n0.5 1.0O\nnan 0.1\n"
        n = 2 + len(self.RING)
        three, one, word, nan = problems(tmp_path, text)
        assert three.startswith(f"section.dat:{n}:")
        assert "3 columns, not two" in three
        assert one.startswith(f"section.dat:{n + 1}:")
        assert "1 column, not two" in one
        assert word.startswith(f"section.dat:{n + 2}:")
        assert '"1.0O" is not a number' in word
        assert nan.startswith(f"section.dat:{n + 3}:")
        assert "not a finite number" in nan

    def test_first_row_with_a_slip_is_no_title(self, tmp_path: Path) -> None:
        (found,) = problems(tmp_path, "1.O 0.0\n" + lines(self.RING[1:]))
        assert found.startswith("section.dat:1:")

    def test_ambiguous_commas(self, tmp_path: Path) -> None:
        found = problems(tmp_path, lines(self.RING, ",").replace(".", ","))
        assert "commas that may part the columns or the decimals" in found[0]
        assert "semicolons" in found[0]

    def test_many_bad_lines_are_cut_short(self, tmp_path: Path) -> None:
        found = problems(tmp_path, lines(self.RING) + "bad\n" * 100)
        assert len(found) == 21
        assert "80 more faults" in found[-1]

    def test_not_a_text(self, tmp_path: Path) -> None:
        assert "binary" in problems(tmp_path, b"\x00\x01\x02")[0]
        for path, word in ((tmp_path / "none.dat", "cannot be read"), (tmp_path, "not a file")):
            with pytest.raises(InputError, match=word):
                read_coordinates(path, label="section.dat")

    def test_too_large(self, tmp_path: Path) -> None:
        assert "larger than 1 MB" in problems(tmp_path, "0.1 0.2\n" * 130_000)[0]


class TestFaults:
    def test_too_few(self, tmp_path: Path) -> None:
        assert "holds 0 different points" in problems(tmp_path, "# nothing\n")[0]
        assert "holds 3 different points" in problems(tmp_path, "1 0\n0 0.1\n0 -0.1\n1 0\n")[0]

    def test_runs_back(self, tmp_path: Path) -> None:
        ring = around(stations(12))
        ring[[4, 5], 0] = ring[[5, 4], 0] - (0, 0.001)
        (found,) = problems(tmp_path, lines(ring))
        assert "runs back along the chord" in found
        assert found.startswith(("section.dat:5:", "section.dat:6:"))

    def test_crossing_faces(self, tmp_path: Path) -> None:
        ring = around(stations(12))
        ring[4, 1] = -0.1
        (found,) = problems(tmp_path, lines(ring))
        assert "meets itself at" in found
        assert found.startswith(("section.dat:4:", "section.dat:5:"))

    def test_touching_faces(self, tmp_path: Path) -> None:
        ring = around(stations(12))
        ring[1, 1] = ring[-2, 1] = 0.0
        assert "meets itself" in problems(tmp_path, lines(ring))[0]

    def test_duplicate(self, tmp_path: Path) -> None:
        ring = around(stations(12))
        (found,) = problems(tmp_path, lines(np.insert(ring, 5, ring[4], axis=0)))
        assert found.startswith("section.dat:6:")
        assert "same as the point before" in found

    def test_one_face(self, tmp_path: Path) -> None:
        x = stations(12)
        face = np.column_stack((x, naca(x)))
        for order in (face, face[::-1]):
            assert "one face only" in problems(tmp_path, lines(order))[0]

    def test_wrong_counts(self, tmp_path: Path) -> None:
        ring = np.vstack((TestOrders.PORT, TestOrders.STARBOARD))
        (found,) = problems(tmp_path, "21 21\n" + lines(ring))
        assert found.startswith("section.dat:1:")
        assert "but 40 points follow" in found
        (found,) = problems(tmp_path, "15 25\n" + lines(ring))
        assert "does not begin the second" in found

    def test_heights_in_another_unit(self, tmp_path: Path) -> None:
        assert "both in one unit" in problems(tmp_path, lines(around(stations(12)) * (1, 120)))[0]
        assert "both in one unit" in problems(tmp_path, lines(around(stations(12)) * (120, 1)))[0]

    def test_turned_list(self, tmp_path: Path) -> None:
        turn = np.array([[np.cos(0.1), -np.sin(0.1)], [np.sin(0.1), np.cos(0.1)]])
        assert "chord line runs along x" in problems(tmp_path, lines(around(stations(20)) @ turn.T))[0]

    def test_ends_in_the_middle(self, tmp_path: Path) -> None:
        ring = around(stations(12))
        assert "begin and end at the tail" in problems(tmp_path, lines(ring[5:]))[0]
