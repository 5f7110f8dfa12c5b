"""Words for where the drag's formulas are used outside what they are known for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from mastcheck.mast import Mast, ModifiedNaca, Outline, OutlineKind, Ruled, outline_name
from mastcheck.motion.shedding import Edge
from mastcheck.motion.water import chord_at
from mastcheck.water.base_drag import THICKEST
from mastcheck.water.friction import LEAST_REYNOLDS, MOST_REYNOLDS, ROUGH_RANGE
from mastcheck.water.spray import LEAST_FROUDE, froude
from mastcheck.water.wet import WetPart

FloatArray = NDArray[np.float64]

RATIO_RANGE = (0.05, 0.25)
"""Thickness over chord for which Hoerner's profile drag is used without a word."""
TURBULENT = (
    "Friction is of flow turbulent from the nose on. A smooth clean blade at these speeds may keep part"
    " of its flow laminar and then drags less, down to about half by boundary-layer methods; the lower"
    " end of the band is a laminar plate."
)


def drag_notes(
    mast: Mast,
    wet: WetPart,
    *,
    speeds: FloatArray,
    reynolds: FloatArray,
    roughness: float,
    tail: FloatArray,
    edges: Sequence[Edge],
    fuselage_width: float | None,
    cavitation_speed: float,
) -> tuple[str, ...]:
    """Sentences on each range that is left; arguments as in ``drag.mast_drag``.

    Args:
        mast: the mast.
        wet: its wet part, m points.
        speeds: (n,) [m/s].
        reynolds: of the chord (n, m).
        roughness: sand-grain height [m].
        tail: thickness of the tail (m,) [m].
        edges: how the tail ends, each kind once.
        fuselage_width: [m].
        cavitation_speed: [m/s].
    """
    if not wet.z.size:
        return ("No part of the mast is under water: it has no drag.",)
    return (
        *_flow(mast, wet, speeds, reynolds),
        *_blade(mast, wet, tail, edges, roughness),
        *_ends(mast, wet, fuselage_width),
        *_bubbles(float(speeds.max()), cavitation_speed),
    )


def _flow(mast: Mast, wet: WetPart, speeds: FloatArray, reynolds: FloatArray) -> Iterator[str]:
    least, most = float(reynolds.min()), float(reynolds.max())
    if least < LEAST_REYNOLDS:
        yield (
            f"The chord's Reynolds number falls to {least:.2g} at {speeds.min():g} m/s; below"
            f" {LEAST_REYNOLDS:.0e} the turbulent friction line gives too much drag."
        )
    if most > MOST_REYNOLDS:
        yield (
            f"The chord's Reynolds number rises to {most:.2g}, above the friction line's"
            f" {MOST_REYNOLDS:.0e}."
        )
    if wet.top <= 0:
        yield "The board is in the water: its own drag, and the mast's where they meet, are not counted."
        return
    slow = float(speeds.min())
    number = froude(slow, float(chord_at(mast, np.array([wet.top]))[0]))
    if number < LEAST_FROUDE:
        yield (
            f"At {slow:g} m/s the Froude number on the chord at the surface is {number:.1f}, below"
            f" {LEAST_FROUDE:g}: the mast makes waves as well as spray, and their drag is not counted."
        )


def _blade(
    mast: Mast, wet: WetPart, tail: FloatArray, edges: Sequence[Edge], roughness: float
) -> Iterator[str]:
    ratio = wet.thickness / wet.chord
    low, high = RATIO_RANGE
    if ratio.min() < low or ratio.max() > high:
        yield (
            f"Thickness is {ratio.min():.1%} to {ratio.max():.1%} of the chord; profile drag is known"
            f" for {low:.0%} to {high:.0%}."
        )
    others = sorted({outline_name(o) for o in _outlines(mast) if not _streamlined(o)})
    if others:
        yield (
            f"Profile drag is that of streamlined sections (naca-4-digit); of {', '.join(others)} it is"
            " not known, and may be much more where the flow leaves a full tail. Nor is the speed at"
            " which water boils known, which a blunt nose may halve."
        )
    if Edge.UNKNOWN in edges:
        yield "The tail's thickness is not stated: no drag is counted behind it there."
    if Edge.SHARP in edges:
        yield (
            "The trailing edge counts as sharp; as built it has some thickness: state"
            " trailing_edge_radius or trailing_edge_thickness to have its drag."
        )
    if (tail > THICKEST * wet.chord).any():
        yield (
            f"The tail is up to {(tail / wet.chord).max():.1%} of the chord thick; the drag behind it is"
            f" known for thin ones, up to {THICKEST:.0%}."
        )
    grains = wet.chord / roughness if roughness > 0 else np.full_like(wet.chord, ROUGH_RANGE[0])
    if grains.min() < ROUGH_RANGE[0]:
        yield (
            f"Roughness is {1 / grains.min():.1%} of the chord, coarser than the"
            f" {1 / ROUGH_RANGE[0]:.0%} up to which its line is known: friction is too low."
        )


def _ends(mast: Mast, wet: WetPart, fuselage_width: float | None) -> Iterator[str]:
    depth, chord = wet.length - wet.top, float(wet.chord.max())
    if depth < chord:
        yield (
            f"Only {depth * 1e3:.0f} mm are wet, less than the chord: the flow goes round the ends, and"
            " strips as if each were part of a long blade say little."
        )
    thickness = mast.stations[-1].thickness
    if fuselage_width is not None and fuselage_width < thickness:
        yield (
            f"The fuselage ({fuselage_width * 1e3:.3g} mm) is narrower than the mast"
            f" ({thickness * 1e3:.3g} mm): the junction's drag is that of a mast on a wide wall."
        )


def _bubbles(fastest: float, onset: float) -> Iterator[str]:
    if fastest > onset:
        yield (
            f"Above about {onset:.0f} m/s the water may boil at the blade's thickest place even without"
            " leeway: drag is not known there."
        )


def _outlines(mast: Mast) -> list[Outline]:
    return [s.outline or mast.section.outline for s in mast.stations]


def _streamlined(outline: Outline) -> bool:
    if isinstance(outline, Ruled):
        return all(s.outline is None or _streamlined(s.outline) for s in (outline.first, outline.second))
    return isinstance(outline, ModifiedNaca) or outline is OutlineKind.NACA_4_DIGIT
