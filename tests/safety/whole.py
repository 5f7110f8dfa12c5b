"""Two invented mast files that between them fill every place for free text with a word of its own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

_BOLTS = {
    "size": "M8",
    "property_class": "A4-70",
    "plate_thickness": "10 mm",
    "torque": "13 N m",
    "friction": [0.10, 0.18],
    "edge_distance": "14 mm",
}
OWN_METAL = {
    "E": "70 GPa",
    "nu": 0.33,
    "density": "2700 kg/m3",
    "proof_strength": "250 MPa",
    "ultimate_strength": "290 MPa",
    "galvanic_group": "aluminium",
}
WORD = "Zq{:02}q"
"""A word that stands for what a person writes: unlike any of the tool's own."""


def word(number: int) -> str:
    return WORD.format(number)


def laminated() -> dict[str, Any]:
    """Plies on a core, listed coordinates at a station, three joints, two wings, fatigue, a bench."""
    w = word
    metal, cloth, core, carve = w(10), w(12), w(16), w(20)
    return {
        "mast": {
            "name": w(1),
            "note": w(2),
            "length": "600 mm",
            "price": "320 EUR",
            "station": [
                {"at": 0.0, "chord": "140 mm", "thickness": "19 mm", "file": f"{w(3)}.csv"},
                {"at": 1.0, "chord": "120 mm", "thickness": "16 mm"},
            ],
        },
        "section": {
            "file": f"{w(4)}.csv",
            "construction": "shell-and-core",
            "core": core,
            "symmetric_plies": True,
            "ply": [
                {"material": cloth, "angle": "45 deg", "thickness": "0.4 mm"},
                {"material": cloth, "layup": "[0/90]", "thickness": "0.4 mm"},
            ],
        },
        "material": {
            metal: {**OWN_METAL, "source": w(11), "note": w(19)},
            core: {
                "E": "80 MPa",
                "G": "28 MPa",
                "density": "80 kg/m3",
                "shear_strength": "1.1 MPa",
                "source": w(17),
            },
        },
        "lamina": {
            cloth: {
                "E1": "60 GPa",
                "E2": "60 GPa",
                "G12": "4 GPa",
                "nu12": 0.05,
                "density": "1500 kg/m3",
                "Xt": "600 MPa",
                "Xc": "500 MPa",
                "Yt": "600 MPa",
                "Yc": "500 MPa",
                "S12": "70 MPa",
                "galvanic_group": "carbon",
                "source": w(13),
                "note": w(14),
            }
        },
        "load_case": [
            {"name": carve, "n": 1.5, "offset": "60 mm", "roll_offset": "40 mm"},
        ],
        "limits": {
            "side_deflection": {"case": carve, "max": "60 mm"},
            "fore_aft_deflection": {"case": carve, "max": "60 mm"},
            "roll": [{"case": carve, "max": "9 deg"}],
            "pitch": [{"case": carve, "max": "9 deg"}],
            "twist": [{"case": carve, "max": "4 deg"}],
        },
        "foil": {"mass": "0.9 kg", "ahead": "-80 mm"},
        "wing": [
            {"name": w(21), "area": "800 cm2", "span": "760 mm", "mass": "0.7 kg", "ahead": "140 mm"},
            {"name": w(22), "area": "1300 cm2", "span": "1150 mm", "mass": "1.1 kg", "ahead": "150 mm"},
        ],
        "base_joint": {
            "kind": "bolted-plate",
            "bolts": {
                **_BOLTS,
                "rows": ["-72 mm", "72 mm"],
                "columns": ["-38 mm", "38 mm"],
                "plate_material": metal,
                "thread_material": metal,
                "thread_engagement": "14 mm",
                "insert_stiffness": "200 kN/mm",
                "insert_shear_stiffness": "150 kN/mm",
            },
        },
        "adapter": [
            {
                "name": w(23),
                "length": "63.5 mm",
                "section": "rectangular",
                "along": "150 mm",
                "across": "60 mm",
                "material": metal,
                "bolts": {
                    **_BOLTS,
                    "rows": ["-82 mm", "82 mm"],
                    "columns": ["-45 mm", "45 mm"],
                    "plate_material": metal,
                    "thread_material": metal,
                    "thread_engagement": "14 mm",
                    "insert_stiffness": "8 kN/mm",
                    "insert_shear_stiffness": "12 kN/mm",
                },
            }
        ],
        "tip_joint": {
            "kind": "socket",
            "engagement": "45 mm",
            "contact_stiffness": "60 kN/mm",
            "chord": "110 mm",
            "clearance": "0.05 mm",
            "clearance_fore_aft": "0.05 mm",
            "bolts": {
                **_BOLTS,
                "positions": [["-30 mm", "0 mm"], ["30 mm", "0 mm"]],
                "plate_material": metal,
                "thread_material": metal,
                "thread_engagement": "20 mm",
            },
        },
        "calibration": {"factor_GJ": 0.9, "source": w(24)},
    }


def drawn() -> dict[str, Any]:
    """A drawn section with named layers, and fatigue by a curve of the file's own."""
    w = word
    metal, filling, carve = w(30), w(32), w(35)
    return {
        "mast": {
            "name": w(1),
            "length": "600 mm",
            "station": [{"at": 0.0}, {"at": 1.0}],
        },
        "section": {
            "file": f"{w(4)}.dxf",
            "construction": "drawn",
            "material": metal,
            "layers": {w(36): filling},
        },
        "material": {
            metal: {**OWN_METAL, "source": w(31)},
            filling: {**OWN_METAL, "source": w(33), "galvanic_group": w(34)},
        },
        "load_case": [{"name": carve, "n": 1.0, "offset": "50 mm", "roll_offset": "20 mm"}],
        "limits": {
            "side_deflection": [{"case": carve, "max": "60 mm"}],
            "fore_aft_deflection": [{"case": carve, "max": "60 mm"}],
            "roll": {"case": carve, "max": "9 deg"},
            "pitch": {"case": carve, "max": "9 deg"},
            "twist": {"case": carve, "max": "4 deg"},
        },
        "fatigue": {
            "cycles": {carve: 1e5},
            "delta_sigma_c": "60 MPa",
            "m1": 5.0,
            "material": metal,
            "source": w(37),
        },
    }


def channelled() -> dict[str, Any]:
    """A hollow section of the tool's own outline, with a boss of another metal."""
    metal, boss = word(40), word(42)
    return {
        "mast": {
            "name": word(1),
            "length": "600 mm",
            "station": [
                {"at": 0.0, "chord": "140 mm", "thickness": "20 mm"},
                {"at": 1.0, "chord": "130 mm", "thickness": "20 mm"},
            ],
        },
        "section": {
            "outline": "naca-4-digit",
            "construction": "hollow",
            "wall": "3 mm",
            "material": metal,
            "webs": [{"at": 0.36, "thickness": "3 mm"}],
            "channels": [{"at": 0.36, "bore": "6 mm", "boss": "11 mm", "material": boss}],
        },
        "material": {
            metal: {**OWN_METAL, "source": word(41)},
            boss: {**OWN_METAL, "source": word(43)},
        },
    }


def write_outlines(folder: Path) -> None:
    """The coordinate lists and the drawing that the files name."""
    import ezdxf

    points = "0,0\n.05,.05\n.3,.075\n.7,.045\n1,0\n.7,-.045\n.3,-.075\n.05,-.05\n"
    for number in (3, 4):
        (folder / f"{word(number)}.csv").write_text(f"x,y\n{points}", encoding="utf-8")
    drawing = ezdxf.new()
    drawing.units = ezdxf.units.MM
    drawing.layers.add(word(36))
    space = drawing.modelspace()
    space.add_ellipse((60, 0), (60, 0), 9 / 60)
    space.add_ellipse((60, 0), (40, 0), 5 / 40, dxfattribs={"layer": word(36)})
    drawing.saveas(folder / f"{word(4)}.dxf")
