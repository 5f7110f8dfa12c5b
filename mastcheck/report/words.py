"""How a mast is made, in words: outlines, walls, fillings. Shared by the report and the terminal."""

from __future__ import annotations

import math
from pathlib import PurePath

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.laminate import Lamina
from mastcheck.mast import Mast, Outline, Ruled, Wall, Web, Zone, outline_name
from mastcheck.material import Material
from mastcheck.report.display import System, factor, given, stated


def outline_words(outline: Outline | None) -> str:
    """An outline's name; of a file its name alone, since where it lies does not matter."""
    if isinstance(outline, Coordinates | Drawing):
        return PurePath(outline.file.replace("\\", "/")).name or "points"
    if isinstance(outline, Ruled):
        ends = outline_words(outline.first.outline), outline_words(outline.second.outline)
        return f"ruled from {ends[0]} to {ends[1]}"
    return "" if outline is None else outline_name(outline)


def outlines(mast: Mast) -> list[str]:
    """The mast's outlines from base to tip, each once where the next is the same."""
    names: list[str] = []
    for station in mast.stations:
        name = outline_words(station.outline or mast.section.outline)
        if not names or names[-1] != name:
            names.append(name)
    return names


def isotropic_materials(mast: Mast) -> list[Material]:
    """Materials a mast is made of, its laminate apart: skin, fills of a drawing, core, bosses."""
    recipe = mast.section
    found: dict[Material, None] = {}
    if recipe.material.laminate is None:
        found[recipe.material] = None
    for outline in {id(o): o for o in _all_outlines(mast)}.values():
        if isinstance(outline, Drawing):
            found.update((loop.fill, None) for loop in outline.loops if loop.fill is not None)
    if recipe.core is not None:
        found[recipe.core] = None
    found.update((c.material, None) for c in recipe.channels if c.material is not None)
    return list(found)


def laminas(mast: Mast) -> list[Lamina]:
    """Ply materials of a mast's layup, from the outside in."""
    return list(dict.fromkeys(ply.lamina for ply in mast.stations[0].plies))


def made_of(mast: Mast) -> str:
    """Construction, outline and materials in one phrase."""
    recipe = mast.section
    names = [m.name for m in isotropic_materials(mast)]
    plies = " and ".join(ply.name for ply in laminas(mast))
    core = recipe.core.name if recipe.core is not None else None
    others = [name for name in names if name != core]
    what = ", ".join([*([f"laminate of {plies}"] if plies else []), *others])
    return f"{recipe.construction}, {' to '.join(outlines(mast))}; {what}" + (
        f" on {core}" if core is not None else ""
    )


def wall_words(wall: float | Wall | None, units: System) -> str:
    """A wall in display units, without the unit; by face and chord fraction where it differs."""
    size = 1e3 * factor("mm", units)
    if wall is None:
        return "–"
    if not isinstance(wall, Wall):
        return given(wall * size)

    def law(points: tuple[tuple[float, float], ...]) -> str:
        if len({t for _, t in points}) == 1:
            return given(points[0][1] * size)
        return ", ".join(f"{given(t * size)} at {given(x)}" for x, t in points)

    port, starboard = law(wall.port), law(wall.starboard)
    return port if port == starboard else f"port {port}; starboard {starboard}"


def web_words(web: Web, units: System) -> str:
    """A web's place, thickness and lean."""
    thick = web.thickness
    parts = ["as thick as its plies" if thick is None else stated(thick * 1e3, "mm", units)]
    if web.lean:
        parts.append(f"leaning {angle_words(web.lean)}, port end {'aft' if web.lean > 0 else 'forward'}")
    return f"{given(web.at)} ({', '.join(parts)})"


def angle_words(angle: float) -> str:
    """An angle [rad] in degrees, as it is stated in a layup.

    >>> angle_words(math.pi / 4), angle_words(-0.0), angle_words(-math.pi / 4)
    ('45°', '0°', '−45°')
    """
    return f"{given(round(math.degrees(angle), 4))}°"


def outline_rules(mast: Mast, units: System) -> list[str]:
    """What the recipe says of tail, solid ends, webs, channels and zones; nothing where silent."""
    s = mast.section
    out = []
    if s.trailing_edge_thickness:
        out.append(f"tail cut square, {stated(s.trailing_edge_thickness * 1e3, 'mm', units)} thick")
    elif not any(isinstance(o, Drawing) for o in _all_outlines(mast)):
        out.append(f"trailing edge radius {stated(s.trailing_edge_radius * 1e3, 'mm', units)}")
    if s.nose_solid_to:
        out.append(f"nose solid to {given(s.nose_solid_to)} of the chord")
    if s.tail_solid_from < 1:
        out.append(f"tail solid from {given(s.tail_solid_from)} of the chord")
    if s.webs:
        out.append(f"webs at {', '.join(web_words(w, units) for w in s.webs)} of the chord")
    for c in s.channels:
        text = f"channel at {given(c.at)} of the chord, bore {stated(c.bore * 1e3, 'mm', units)}"
        text += f", boss {stated(c.boss * 1e3, 'mm', units)}" if c.boss else ", drilled"
        if c.offset:
            side = "port" if c.offset > 0 else "starboard"
            text += f", {stated(abs(c.offset) * 1e3, 'mm', units)} to {side}"
        out.append(text + (f", of {c.material.name}" if c.material is not None else ""))
    plies = mast.stations[0].plies
    if any(Zone.NOSE in p.zones or Zone.TAIL in p.zones for p in plies):
        ends = f"nose to {given(s.nose_to)}, tail from {given(s.tail_from)} of the chord"
        out.append(f"ply zones: {ends}")
    if plies:
        out.append(f"ply strengths times {given(s.knock_down)} (the product of the stated knock-downs)")
    return out


def _all_outlines(mast: Mast) -> list[Outline]:
    """Outlines of the stations, those of a ruled one's ends among them."""
    out: list[Outline] = []
    waiting: list[Outline] = [s.outline or mast.section.outline for s in mast.stations]
    while waiting:
        outline = waiting.pop(0)
        if isinstance(outline, Ruled):
            waiting += [o for o in (outline.first.outline, outline.second.outline) if o is not None]
        else:
            out.append(outline)
    return out
