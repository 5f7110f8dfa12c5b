"""Invented masts at the ends of what can be written: sizes, walls, materials, loads, plies, counts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

SOURCE = "invented for a test"
SCALES = (0.1, 0.3, 1.0, 3.0, 6.0)
"""Of one mast and all that it carries, against its ordinary size."""


@dataclass(frozen=True, kw_only=True)
class Extreme:
    """One mast, and what is expected of it: a result, or a refusal whose text has a word."""

    group: str
    name: str
    raw: dict[str, Any]
    refused: str | None = None
    words: tuple[str, ...] = ()


def mm(metres: float) -> str:
    return f"{metres * 1000:.9g} mm"


def metal(E: float = 70e9, density: float = 2700.0) -> dict[str, Any]:
    return {
        "E": f"{E / 1e6:.9g} MPa",
        "nu": 0.33,
        "density": f"{density:g} kg/m3",
        "proof_strength": "250 MPa",
        "ultimate_strength": "290 MPa",
        "source": SOURCE,
    }


def mast(
    *,
    length: float = 0.7,
    base: tuple[float, float] = (0.12, 0.016),
    tip: tuple[float, float] | None = None,
    wall: float | None = None,
    E: float = 70e9,
    core: float | None = None,
    stations: int = 2,
    **tables: Any,
) -> dict[str, Any]:
    """A raw mast file: solid, or hollow with a wall, or on a core whose E is given [Pa]."""
    tip = tip or base
    kind = "solid" if wall is None else "hollow" if core is None else "shell-and-core"
    steps = [i / (stations - 1) for i in range(stations)]
    section = {
        "outline": "naca-4-digit",
        "construction": kind,
        "material": "shop metal",
        **({} if wall is None else {"wall": mm(wall)}),
        **({} if core is None else {"core": "filling"}),
        **tables.pop("section", {}),
    }
    materials = {"shop metal": metal(E)}
    if core is not None:
        materials["filling"] = {
            "E": f"{core / 1e6:.9g} MPa",
            "nu": 0.33,
            "density": "80 kg/m3",
            "shear_strength": "1 MPa",
            "source": SOURCE,
        }
    return {
        "mast": {
            "name": "extreme",
            "length": mm(length),
            "station": [
                {
                    "at": round(t, 9),
                    "chord": mm(base[0] + t * (tip[0] - base[0])),
                    "thickness": mm(base[1] + t * (tip[1] - base[1])),
                }
                for t in steps
            ],
        },
        "section": section,
        "material": materials,
        **tables,
    }


def case(name: str, **keys: Any) -> dict[str, Any]:
    return {"name": name, **keys}


def forces(*newtons: float) -> dict[str, Any]:
    return {"force": [f"{f:g} N" for f in newtons], "lift": "dead"}


def laminated(
    plies: list[dict[str, Any]], *, thickness: float = 0.016, **section: Any
) -> dict[str, Any]:
    """A shell of plies on foam."""
    raw = mast(base=(0.12, thickness), wall=0.002, core=100e6)
    del raw["section"]["wall"], raw["section"]["material"]
    raw["section"] |= {"ply": plies, **section}
    del raw["material"]["shop metal"]
    raw["lamina"] = {
        "tape": {
            "E1": "120 GPa",
            "E2": "8 GPa",
            "G12": "4.5 GPa",
            "nu12": 0.3,
            "density": "1550 kg/m3",
            "Xt": "1500 MPa",
            "Xc": "900 MPa",
            "Yt": "40 MPa",
            "Yc": "150 MPa",
            "S12": "60 MPa",
            "source": SOURCE,
        }
    }
    return raw


def ply(thickness: str, angle: str = "0 deg", count: int = 1) -> dict[str, Any]:
    return {"material": "tape", "thickness": thickness, "angle": angle, "count": count}


def scaled(k: float) -> dict[str, Any]:
    """One mast ``k`` times the ordinary size, under forces of its size squared: one stress for all."""
    f = 200 * k**2
    return mast(
        length=0.7 * k,
        base=(0.15 * k, 0.02 * k),
        tip=(0.10 * k, 0.015 * k),
        wall=0.003 * k,
        load_case=[
            case(
                "hang",
                force=["0 N", f"{f:.9g} N", "0 N"],
                moment=[f"{0:g} N m"] * 2 + [f"{0.1 * f * k:.9g} N m"],
            )
        ],
    )


def extremes() -> Iterator[Extreme]:
    """All of them."""
    yield from _sizes()
    yield from _materials()
    yield from _loads()
    yield from _water()
    yield from _plies()
    yield from _counts()


def _sizes() -> Iterator[Extreme]:
    for length, refused in (
        (0.001, "50 mm"),
        (0.05, None),
        (0.1, None),
        (2.0, None),
        (10.0, None),
        (10.001, "10 m"),
    ):
        yield Extreme(
            group="length",
            name=f"{length:g} m long, 120 mm chord",
            raw=mast(length=length),
            refused=refused,
        )
    for k in SCALES:
        yield Extreme(group="scaled", name=f"all sizes times {k:g}", raw=scaled(k))
    yield Extreme(
        group="length",
        name="10 m long, 1 m chord",
        raw=mast(length=10, base=(1.0, 0.13), tip=(0.6, 0.08), wall=0.01),
    )
    yield Extreme(
        group="length", name="50 mm long, 10 mm chord", raw=mast(length=0.05, base=(0.010, 0.0012))
    )
    yield Extreme(group="length", name="chord 1 mm", raw=mast(base=(0.001, 0.0005)), refused="10 mm")
    for ratio in (0.02, 0.05, 0.3, 0.6):
        yield Extreme(group="t/c", name=f"{100 * ratio:g} %, solid", raw=mast(base=(0.12, 0.12 * ratio)))
        yield Extreme(
            group="t/c",
            name=f"{100 * ratio:g} %, wall t/6",
            raw=mast(base=(0.12, 0.12 * ratio), wall=0.02 * ratio),
        )
    yield Extreme(group="t/c", name="100 %", raw=mast(base=(0.12, 0.12)), refused="less than the chord")
    for wall, refused in (
        (0.00001, "from 0.1 mm"),
        (0.0001, "under 1 %"),
        (0.00016, None),
        (0.0003, None),
        (0.001, None),
        (0.004, None),
        (0.007, None),
        (0.0078, "leaves no void"),
        (0.0079, "leaves no void"),
        (0.008, "leaves nothing hollow"),
        (0.02, "leaves nothing hollow"),
    ):
        yield Extreme(
            group="wall", name=f"{1000 * wall:g} mm of 16 mm", raw=mast(wall=wall), refused=refused
        )
    for name, base, tip in (
        ("10:1 chord and thickness", (0.3, 0.04), (0.03, 0.004)),
        ("1:10 chord and thickness", (0.03, 0.004), (0.3, 0.04)),
        ("10:1 chord, thickness the same", (0.3, 0.02), (0.03, 0.02)),
        ("1:10 chord, thickness the same", (0.03, 0.02), (0.3, 0.02)),
        ("10:1 thickness, chord the same", (0.12, 0.04), (0.12, 0.004)),
        ("chord up, thickness down, 10:1", (0.03, 0.025), (0.3, 0.0025)),
    ):
        yield Extreme(group="taper", name=name, raw=mast(base=base, tip=tip))
    for about in (0.0, 1.0):
        raw = mast(base=(0.3, 0.04), tip=(0.03, 0.004), wall=0.0015)
        raw["mast"]["taper_about"] = about
        yield Extreme(group="taper", name=f"10:1, hollow, straight at {about:g} of the chord", raw=raw)
    raw = mast()
    raw["mast"]["station"].insert(1, {**raw["mast"]["station"][0], "at": 0.5})
    raw["mast"]["station"].insert(2, {"at": 0.5000001, "chord": "60 mm", "thickness": "9 mm"})
    yield Extreme(group="taper", name="a step within 0.07 µm", raw=raw, refused="at least 0.001")
    raw = mast(base=(0.12, 0.016), tip=(0.06, 0.009))
    first, last = raw["mast"]["station"]
    raw["mast"]["station"] = [first, {**first, "at": 0.5}, {**last, "at": 0.501}, last]
    yield Extreme(group="taper", name="a step within 0.7 mm", raw=raw, refused="too steeply")
    for name, keys in (
        ("0 mm (sharp)", {"trailing_edge_radius": "0 mm"}),
        ("radius 1 µm", {"trailing_edge_radius": "0.001 mm"}),
        ("radius 0.01 mm", {"trailing_edge_radius": "0.01 mm"}),
        ("0.02 mm, square", {"trailing_edge_thickness": "0.02 mm"}),
        ("radius 7.9 of 8 mm", {"trailing_edge_radius": "7.9 mm"}),
        ("15.9 of 16 mm, square", {"trailing_edge_thickness": "15.9 mm"}),
    ):
        yield Extreme(group="tail", name=name, raw=mast(section=keys))
        yield Extreme(group="tail", name=f"{name}, wall 1 mm", raw=mast(wall=0.001, section=keys))


def _materials() -> Iterator[Extreme]:
    for name, skin, core in (
        ("skin 10⁴ times the core", 70e9, 7e6),
        ("core 10⁴ times the skin", 7e6, 70e9),
        ("skin 2,000 GPa on 0.2 GPa", 2000e9, 0.2e9),
        ("skin 2·10⁷ times the core", 2000e9, 0.1e6),
        ("equal", 70e9, 70e9),
    ):
        yield Extreme(group="E ratio", name=name, raw=mast(wall=0.001, E=skin, core=core))
    for E in (0.1e6, 1e9, 2000e9):
        yield Extreme(group="E", name=f"solid, E = {E / 1e6:g} MPa", raw=mast(E=E))
    yield Extreme(group="E", name="E = 0", raw=mast(E=0), refused="from 0.1 MPa")
    for nu in (-0.999999, 0.0, 0.5):
        raw = mast()
        raw["material"]["shop metal"]["nu"] = nu
        yield Extreme(group="E", name=f"ν = {nu:g}", raw=raw)


def _loads() -> Iterator[Extreme]:
    zero = {"force": ["0 N"] * 3, "moment": ["0 N m"] * 3}
    one = [case("push", **forces(0, 200, -900))]
    back = [case("push", **forces(0, -200, -900))]
    huge = [case("push", **forces(1e5, 1e5, -1e5), moment=["100 kN m"] * 3)]
    for name, cases in (
        ("all zero", [case("nothing", **zero)]),
        ("to port", one),
        ("to starboard", back),
        ("upward pull (n = −1)", [case("pull", n=-1.0, offset="60 mm", lift="through-rider")]),
        ("n = 20", [case("hard", n=20.0, offset="2 m", lift="through-rider")]),
        ("n = 20, follower", [case("hard", n=20.0, offset="2 m", lift="follower")]),
        ("n = −20", [case("hard", n=-20.0, offset="-2 m", lift="follower")]),
        ("a nanonewton", [case("breath", **forces(0, 1e-9, 0))]),
        ("100 kN and 100 kN·m each way", huge),
        ("pure torque", [case("wring", moment=["0 N m", "0 N m", "100 N m"])]),
    ):
        yield Extreme(group="loads", name=name, raw=mast(load_case=cases))
    for mass, refused in (("0 kg", "10 kg"), ("10 kg", None), ("300 kg", None), ("1000 kg", "300 kg")):
        yield Extreme(group="rider", name=mass, raw=mast(rider={"mass": mass}), refused=refused)
    light = {"mass": "10 kg", "gear_mass": "0 kg", "rider_height": "0.1 m", "stance_width": "0 m"}
    yield Extreme(group="rider", name="10 kg, no gear, lying, no stance", raw=mast(rider=light))
    heavy = {"mass": "300 kg", "gear_mass": "200 kg", "rider_height": "3 m", "stance_width": "2 m"}
    yield Extreme(
        group="rider", name="500 kg in all, on a thin mast", raw=mast(base=(0.12, 0.0024), rider=heavy)
    )


def _water() -> Iterator[Extreme]:
    for speed, refused in (
        ("0.1 m/s", None),
        ("50 m/s", None),
        ("60 m/s", "50 m/s"),
        ("0 m/s", "0.1 m/s"),
    ):
        yield Extreme(group="speed", name=speed, raw=mast(conditions={"speed": speed}), refused=refused)
    foil = {"mass": "1.5 kg", "area": "0.12 m2", "span": "0.8 m", "wing_ahead": "100 mm"}
    yield Extreme(
        group="speed",
        name="0.1 to 50 m/s, a wing",
        raw=mast(conditions={"speed": ["0.1 m/s", "50 m/s"]}, foil=foil),
    )
    heavy = {**foil, "mass": "50 kg", "ahead": "2 m", "below": "2 m", "area": "3 m2", "span": "2 m"}
    light = {**foil, "mass": "1 g", "area": "10 cm2", "span": "150 mm"}
    odd = {**foil, "area": "3 m2", "span": "50 mm"}
    yield Extreme(group="foil", name="50 kg, 2 m ahead, 2 m below, 3 m²", raw=mast(foil=heavy))
    yield Extreme(group="foil", name="1 g, 10 cm²", raw=mast(foil=light))
    yield Extreme(group="foil", name="3 m² on 50 mm", raw=mast(foil=odd), refused="aspect ratio")
    for wet in (0.0, 1.0):
        yield Extreme(
            group="water", name=f"wet fraction {wet:g}", raw=mast(conditions={"wet_fraction": wet})
        )
    for height, refused in (
        ("0 mm", None),
        ("699 mm", None),
        ("700 mm", "whole mast"),
        ("10 m", "whole mast"),
    ):
        water = {"ride_height": height}
        yield Extreme(
            group="water", name=f"ride height {height}", raw=mast(conditions=water), refused=refused
        )


def _plies() -> Iterator[Extreme]:
    yield Extreme(
        group="plies", name="one of 0.01 mm", raw=laminated([ply("0.01 mm")]), refused="under 1 %"
    )
    yield Extreme(group="plies", name="one of 0.2 mm", raw=laminated([ply("0.2 mm")]))
    yield Extreme(group="plies", name="one of 0.2 mm at 90°", raw=laminated([ply("0.2 mm", "90 deg")]))
    yield Extreme(group="plies", name="200 of 0.02 mm", raw=laminated([ply("0.02 mm", "30 deg", 200)]))
    many = [ply("0.02 mm", f"{(37 * i) % 180 - 90} deg") for i in range(200)]
    yield Extreme(group="plies", name="200 of as many angles", raw=laminated(many))
    yield Extreme(
        group="plies",
        name="200 of 0.2 mm in 16 mm",
        raw=laminated([ply("0.2 mm", count=200)]),
        refused="half the thickness",
    )
    yield Extreme(
        group="plies", name="401", raw=laminated([ply("0.01 mm", count=401)]), refused="1 to 400"
    )


def _counts() -> Iterator[Extreme]:
    yield Extreme(group="counts", name="200 stations", raw=mast(stations=200, tip=(0.08, 0.012)))
    yield Extreme(
        group="counts",
        name="200 stations, hollow",
        raw=mast(stations=200, tip=(0.08, 0.012), wall=0.003),
    )
    yield Extreme(
        group="counts",
        name="200 stations, wall 0.3 mm",
        raw=mast(stations=200, tip=(0.08, 0.012), wall=0.0003),
    )
    for name, plies, refused in (
        ("2 mm of plies on foam", [ply("0.25 mm", count=4), ply("0.25 mm", "45 deg", 4)], None),
        # Meshes so fine differ by more than stations 2 mm apart do; the remedy, fewer stations, helps.
        ("one ply of 0.2 mm on foam", [ply("0.2 mm")], "too steeply"),
    ):
        raw = laminated(plies)
        raw["mast"] = mast(stations=200, tip=(0.08, 0.012))["mast"]
        yield Extreme(group="counts", name=f"200 stations, {name}", raw=raw, refused=refused)
    yield Extreme(
        group="counts",
        name="201 stations",
        raw=mast(stations=201, tip=(0.08, 0.012)),
        refused="at most 200",
    )
    raw = mast(stations=200)
    for station in raw["mast"]["station"][1::2]:
        station |= {"chord": "60 mm", "thickness": "8 mm"}
    yield Extreme(group="counts", name="200 stations, zigzag 2:1", raw=raw, refused="too steeply")
    many = [case(f"case {i}", **forces(0, i + 1, -300)) for i in range(1000)]
    yield Extreme(group="counts", name="1,000 load cases", raw=mast(load_case=many))
    raw = laminated([ply("0.02 mm", f"{(37 * i) % 180 - 90} deg") for i in range(200)])
    raw["load_case"] = many
    yield Extreme(group="counts", name="1,000 load cases, 200 plies of as many angles", raw=raw)
    yield Extreme(
        group="counts",
        name="1,001 load cases",
        raw=mast(load_case=[*many, case("more")]),
        refused="at most 1,000",
    )
