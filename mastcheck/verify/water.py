"""Water and the drag of a blade in it."""

from __future__ import annotations

import numpy as np

from mastcheck.fluid import Water, fresh_water, sea_density, sea_water
from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe, Station
from mastcheck.source import PRACTICE
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.shapes import METAL
from mastcheck.water.base_drag import base_coefficient
from mastcheck.water.drag import mast_drag, profile_factor
from mastcheck.water.friction import laminar, turbulent
from mastcheck.water.model import Drag


def _density(given: Given) -> float:
    """Density [kg/m³] of water of a ``kind`` at a temperature [°C], as the tool takes it."""
    make = {"sea": sea_water, "fresh": fresh_water}[given.words("kind")]
    return make(given.number("temperature")).density


def _surface_density(given: Given) -> float:
    """Density of sea water at the surface [kg/m³], no pressure on it."""
    return sea_density(given.number("temperature"), pressure=0.0)


def _old_scale_density(given: Given) -> float:
    """The same for a temperature on the scale of 1968, in which the equation is stated."""
    return sea_density(given.number("temperature") / 1.00024, pressure=0.0)


def _viscosity(given: Given) -> float:
    """Kinematic viscosity [m²/s]."""
    make = {"sea": sea_water, "fresh": fresh_water}[given.words("kind")]
    return make(given.number("temperature")).viscosity


def _dynamic_viscosity(given: Given) -> float:
    """Dynamic viscosity of fresh water [Pa·s]."""
    found = fresh_water(given.number("temperature"))
    return found.viscosity * found.density


def _turbulent(given: Given) -> float:
    """Friction coefficient of a smooth plate in turbulent flow."""
    return float(turbulent(np.array(given.number("reynolds"))))


def _laminar(given: Given) -> float:
    """Friction coefficient of a plate in laminar flow."""
    return float(laminar(np.array(given.number("reynolds"))))


def _profile(given: Given) -> float:
    """Section drag over the friction of both faces."""
    return 1 + float(profile_factor(np.array(given.number("ratio"))))


def _section_drag(given: Given) -> float:
    """Drag coefficient of a section on its chord, turbulent from the nose on."""
    return 2 * _turbulent(given) * _profile(given)


def _blade() -> Drag:
    """A blade of 120 x 14.4 mm, 0.5 m of it wet, at 10 m/s in the water of the worked example."""
    sea = Water(
        name="worked example",
        temperature=15.0,
        density=1026.021,
        viscosity=1.1892e-6,
        density_source=PRACTICE,
    )
    ends = tuple(Station(at=at, chord=0.12, thickness=0.0144) for at in (0.0, 1.0))
    recipe = SectionRecipe(
        outline=OutlineKind.NACA_4_DIGIT, construction=Construction.SOLID, material=METAL
    )
    mast = Mast(name="verification", length=0.8, stations=ends, section=recipe)
    return mast_drag(mast, level=0.3, speeds=np.array([10.0]), water=sea)


def _worked(given: Given) -> float:
    """Of that blade: Reynolds number, friction and profile drag per wet metre [N/m], or spray [N]."""
    found = _blade()
    return float(
        {
            "reynolds": found.reynolds[0, 0],
            "drag": (found.friction[0] + found.profile[0]) / 0.5,
            "spray": found.spray[0],
        }[given.words("of")]
    )


def _base_drag(given: Given) -> float:
    """Drag coefficient of a blunt tail on its own thickness."""
    ratio = given.number("tail_over_chord")
    found = base_coefficient(np.array([ratio]), np.array([given.number("friction")]))
    return float(found[0]) / ratio


COMPUTATIONS: dict[str, Compute] = {
    "water density": _density,
    "sea density at the surface": _surface_density,
    "sea density, scale of 1968": _old_scale_density,
    "kinematic viscosity": _viscosity,
    "dynamic viscosity": _dynamic_viscosity,
    "turbulent friction": _turbulent,
    "laminar friction": _laminar,
    "profile drag over friction": _profile,
    "section drag": _section_drag,
    "worked blade": _worked,
    "base drag": _base_drag,
}
