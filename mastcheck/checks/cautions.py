"""What every reader must see beside the numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from mastcheck.checks.coupling import materials_of, unsymmetrical, worst_coupling
from mastcheck.checks.galvanic import mixed_metals
from mastcheck.checks.result import CaseResult, Criterion
from mastcheck.checks.thickness import beyond_range
from mastcheck.job import Job
from mastcheck.joint import Joints, OnePiece
from mastcheck.loadcase import STANDARD_CASES, Lift
from mastcheck.mast import Construction
from mastcheck.material import Material
from mastcheck.section.model import SectionModel

GENERAL = (
    "A calculation aid, not an approval: a qualified structural review, local rules and the "
    "makers' instructions come first. A mast that breaks can hurt people.",
    "The base plate, screws, socket and adapters are not in these numbers: a real mast, measured "
    "with its joints, is softer. Screw holes, welds, fatigue, impact, corrosion and manufacturing "
    "faults need checks of their own.",
    "Load cases and partial factors are common practice recalled from memory, with no source: "
    "edit them to your own use.",
)
JOINED = (
    "{described}{missing} Left out, and in need of checks of their own: prying, bending of bolts and "
    "plates, fatigue, screw holes, welds, creep of boxes and inserts, impact, corrosion and "
    "manufacturing faults."
)
"""In place of the second of ``GENERAL`` where joints are described."""
TAPER = (
    "Twist under side force of a tapered mast is within 1.5 % of solid models, and its small twist "
    "under roll moment within 12 %: the taper's coupling of bending and twist and a root fixed all "
    "over are modelled, but not the taper close to the root. Where a material's E and G imply a "
    "Poisson's ratio outside 0 to 0.45 (most laminates) the root holds torsion's warping alone: within "
    "4 % and 24 %."
)
GIVEN_MOMENT = (
    "Case {names}: a moment of given direction is taken half as if its two forces ran along the mast "
    "and half as if across it; made of forces along the mast alone it may buckle a narrow blade at "
    "half the moment found here."
)
FOLLOWER = (
    "Case {name}: a lift that turns with the wing has no static buckling load, and a static answer "
    "is no proof that it is stable. It is held to the least of the buckling factor of a lift that keeps "
    "its direction ({dead}) and its flutter factor ({flutter}): growing vibrations about the straight "
    "mast, in air and in water, without damping, which may lower a flutter load by half."
)
CORNERS = (
    "Torsion stress at the sharp inner corners of a hollow depends on their radius, here a tenth of "
    "the wall: a sharper corner in the metal sees more."
)
FILLETS = (
    "Stress at the inner corners of a laminate, beside webs and at the tips of a core, is that of a "
    "rounded corner: its radius is a tenth of the thinnest wall at tips, and up to a fifth of it beside "
    "webs. A sharper corner, as of a web bonded without a fillet, sees more. In plies of a web that "
    "differ from the skin's the number may move by a tenth with a small change of size."
)
CORE = (
    "The bond between skin and core, core crushing at fittings, and dents are not checked. Wrinkling of "
    "a skin on its core is judged by Hoff's rule with 0.5 in place of theory's 0.91, from memory."
)
STIFF = (
    "{names}: a core this stiff along the mast carries bending stress of its own, which is not judged."
)
STIFF_CORE = 1e9
"""A core's E [Pa] above which its own bending stress is worth naming: wood, not foam."""
PLATE = (
    "Plate buckling of faces over a hollow is judged by rules recalled from memory: each face hinged at "
    "the ends of its hollow, pressed all over as at its worst point. Shear buckling is not checked."
)
PLIES = (
    "Plies are judged one by one up to the first failure, each given the strain of the wall's worst "
    "point. Strains left by cure, heat and water, free edges, ply ends, delamination and fatigue are "
    "not in it: test your own laminate."
)
PLAIN_LAMINATE = (
    "{names}: a laminate judged by von Mises stress against one strength is a first look, not a "
    "laminate check; list its plies for that."
)
DRAWN = (
    "Stress at a sharp inner corner of a drawing has no true value, and grows with a finer mesh: draw "
    "the radius that will be made."
)

FATIGUE = (
    "Fatigue is judged for plain material alone: welds, screw holes, threads, sharp corners, scratches "
    "and corrosion pits break sooner, and need their own check. Salt water lowers the fatigue strength "
    "of bare metal, which no curve here allows for unless the one stated does."
)
FATIGUE_MISSING = "Fatigue was not checked: load case {names} was not asked for."

ERRORS_LEAVE = "measuring errors of"
"""Words in the note of a mast file that was written from outside measurements."""
MEASURED = (
    "Measured from outside, {note}. This doubt is in no verdict here: near a limit such a mast has not "
    "passed. Measure the wall where it shows; --tolerances says what the errors in [tolerances] do."
)


_BY_PLY = {Criterion.MAX_STRAIN, Criterion.TSAI_WU}


def cautions(
    job: Job, cases: tuple[CaseResult, ...], sections: Sequence[SectionModel]
) -> tuple[str, ...]:
    """General cautions, then those this mast, its sections and these cases call for."""
    out = [GENERAL[0], *_measured(job), _joints(job.joints), *GENERAL[2:]]
    stations, recipe = job.mast.stations, job.mast.section
    if any((s.chord, s.thickness) != (stations[0].chord, stations[0].thickness) for s in stations):
        out.append(TAPER)
    if recipe.construction is Construction.HOLLOW:
        out.append(CORNERS)
    if recipe.construction is Construction.DRAWN:
        out.append(DRAWN)
    materials = materials_of(sections)
    out += mixed_metals(job, sections)
    out += [
        f"{name}: its strengths hold for walls up to {bound * 1e3:g} mm, and this mast is"
        f" {wall * 1e3:.3g} mm thick there: not a pass. Take the entry for that thickness."
        for name, (wall, bound) in beyond_range(job.mast).items()
    ]
    out += [*_unjudged(materials), *_criteria(materials, cases), *_layups(sections)]
    out += [
        FOLLOWER.format(
            name=c.case.name, dead=_times(c.buckling_factor), flutter=_times(c.flutter_factor)
        )
        for c in cases
        if c.case.lift is Lift.FOLLOWER
    ]
    standard = {case.name for case in STANDARD_CASES}
    given = [c.case.name for c in cases if any(c.case.moment) and c.case.name not in standard]
    if given:
        out.append(GIVEN_MOMENT.format(names=", ".join(given)))
    out += [text for c in cases if (text := _case_caution(c))]
    out += _fatigue(job)
    return tuple(out)


def measured_notes(job: Job) -> list[str]:
    """Notes of a mast file that was written from outside measurements: what they leave open."""
    return [note for note in job.notes if ERRORS_LEAVE in note]


def _measured(job: Job) -> Iterator[str]:
    """That sizes and wall are measured, beside the answer and not among the assumptions alone."""
    for note in measured_notes(job):
        yield MEASURED.format(note=note)


def _joints(joints: Joints) -> str:
    """What of the joints is in the numbers, and what is left out."""
    base = joints.base is not None or bool(joints.adapters)
    tip = joints.tip is not None
    if not base and not tip:
        return GENERAL[1]
    if not base and isinstance(joints.tip, OnePiece):
        described = "Mast and foil are taken as one piece, rigid where they meet."
    else:
        described = (
            "The joints that the mast file describes are in these numbers, no better than the file "
            "states them, with plates taken as rigid."
        )
    missing = ""
    if not base:
        missing = " The base plate, its screws and adapters are not in these numbers:"
    elif not tip:
        missing = " The socket or flange at the foil is not in these numbers:"
    if missing:
        missing += " a real mast, measured with its joints, is softer."
    return JOINED.format(described=described, missing=missing)


def _fatigue(job: Job) -> Iterator[str]:
    """What the check of fatigue leaves out, where one is asked for."""
    if job.fatigue is None:
        return
    yield FATIGUE
    known = {case.name for case in job.cases}
    if missing := [name for name, _ in job.fatigue.cycles if name not in known]:
        yield FATIGUE_MISSING.format(names=", ".join(missing))


def _unjudged(materials: Sequence[Material]) -> Iterator[str]:
    """Names what states no strength: the laminas of a laminate, else the material."""
    names: dict[str, None] = {}
    for m in materials:
        if m.laminate is not None:
            names.update((lamina.name, None) for lamina in m.laminas if lamina.strengths is None)
        elif not m.judged:
            names[m.name] = None
    if names:
        yield (
            f"Not judged for strength (none stated): {', '.join(names)}. "
            "Stresses there are reported, and are not a pass."
        )


def _criteria(materials: Sequence[Material], cases: tuple[CaseResult, ...]) -> Iterator[str]:
    """What each criterion that was used leaves out."""
    used = {f.criterion for c in cases for f in c.findings}
    if used & {Criterion.CORE_SHEAR, Criterion.WRINKLING}:
        yield CORE
    if Criterion.BUCKLING in used:
        yield PLATE
    stiff = [m.name for m in materials if m.shear_strength is not None and m.E > STIFF_CORE]
    if stiff:
        yield STIFF.format(names=", ".join(dict.fromkeys(stiff)))
    if any(m.laminate is not None for m in materials):
        yield PLIES
        if any(f.criterion in _BY_PLY for c in cases for f in c.findings):
            yield FILLETS
    plain = [
        m.name
        for m in materials
        if m.galvanic_group.startswith(("carbon", "graphite"))
        and m.laminate is None
        and m.design_strength is not None
    ]
    if plain:
        yield PLAIN_LAMINATE.format(names=", ".join(dict.fromkeys(plain)))


def _layups(sections: Sequence[SectionModel]) -> Iterator[str]:
    """Unbalanced and unsymmetrical layups, with what this model leaves out of them."""
    coupling = worst_coupling(sections)
    if coupling is not None:
        yield (
            f"{coupling.material} is unbalanced: its coupling term K16/sqrt(K11 K66) is "
            f"{coupling.term:.2f}. This beam model does not carry extension-twist coupling, nor that of "
            f"bending with shear. A mast free to do both twists up to {coupling.ratio:.2f} times "
            f"T/GJ, bends up to {coupling.ratio:.2f} times what is printed, and buckles that much "
            "sooner; stresses grown by the second order are too low as well. Limits on movement and "
            "buckling are judged with that factor. An equal ply at -θ for each at +θ balances it."
        )
    layups = unsymmetrical(sections)
    if layups:
        named = ", ".join(f"{name} ({size:.2f})" for name, size in layups.items())
        yield (
            f"Unsymmetrical from outside to inside: {named} (size of B over the root of A and D; 0 is "
            "symmetrical). This model holds the wall to its shape, as a closed section nearly does. Such"
            " a laminate warps as it cools from cure, and may spring out of shape where it is cut."
        )


def _case_caution(c: CaseResult) -> str:
    if not c.stable:
        need = max(1.0, c.case.strength_factor)
        if c.stability_factor <= need:
            why = f"{need:.2f} is required"
        elif c.shaky:
            why = f"the balanced shape found at up to the required {need:.2f} does not stand by itself"
        else:
            why = f"no balanced shape was found at the required {need:.2f}"
        return (
            f"Case {c.case.name} is unstable: the mast {c.gives_way} at {_times(c.stability_factor)} "
            f"times its service load; {why}."
        )
    turned = [np.abs(line.rotation).max() for line in (c.line, c.strength_line) if line is not None]
    if turned and max(turned) > np.radians(10):
        level = "at service load" if turned[0] > np.radians(10) else "at factored load"
        return (
            f"Case {c.case.name} turns a section by {np.degrees(max(turned)):.0f} degrees, past 10 "
            f"already {level}: the solve is made for large rotations (its elements turn with the mast), "
            "but loads on real water would have changed before."
        )
    return ""


def _times(factor: float | None) -> str:
    """A load multiple in words.

    >>> _times(2.5), _times(float("inf"))
    ('2.50', 'none found')
    """
    return "none found" if factor is None or not np.isfinite(factor) else f"{factor:.2f}"
