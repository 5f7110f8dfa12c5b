"""What the model covers, what it does not, and how far its results have been from others: plain words.

The report of the verification ends with it; ``docs/validity.md`` is ``markdown()``, held by a test.
"""

from __future__ import annotations

from dataclasses import dataclass

from mastcheck.report.content import ACCURACY, APPROVAL, LAMINATES

TITLE = "What the results are good for"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A heading with its lines; ``listed`` lines are a list, the others paragraphs."""

    title: str
    lines: tuple[str, ...]
    listed: bool = True


PARTS = (
    Part(title="What comes first", lines=APPROVAL, listed=False),
    Part(
        title="What the model covers",
        lines=(
            "A mast with one straight stacking line, of solid, hollow or cored sections that keep their "
            "shape; elastic materials; small strains, large movements.",
            "Bending, shear, extension, torsion with restrained warping, and what taper and offset "
            "centres couple. Tip movement by two independent ways.",
            "Every load case by second-order analysis: a rider's weight on a bent mast bends it "
            "further. Buckling, and flutter of a lift that turns with the wing.",
            "Natural frequencies in air and water, static divergence, frequencies of shedding.",
            "Stress in metals, first ply failure, core shear, plate buckling and wrinkling of faces, "
            "bolts as stated; ranges of stress in plain material where a life is asked for.",
            "Steady drag and side force of the mast alone, and stated manoeuvres as balanced bodies.",
        ),
    ),
    Part(
        title="What it does not cover",
        lines=(
            "Impact damage: rocks, other boards, a mast dropped on concrete. A laminate may look whole "
            "and be weak. The strike that is checked is a force or a stopping distance, not a damage.",
            "Fatigue of screw holes, threads, welds, bond lines, tapped ends and laminates. The fatigue "
            "check is of plain metal away from them, while cracks tend to begin at them.",
            "Delamination, splitting at ply drops, cure and moisture strains, creep, heat: a black "
            "mast in a hot car may be softer than its table says.",
            "Ventilation, cavitation and stall in waves. They are named with the leeway or the speed at "
            "which they may begin, from remembered rules; the load as they come and go is not in it.",
            "Faults of manufacture: voids, wrinkled or turned fibres, dry spots, a core that has "
            "shifted, poor welds, a die worn thin. Tolerances scatter sizes and moduli alone, never "
            "strength.",
            "Corrosion and wear. Mixed metals in salt water are named; what they lose in a season is "
            "not computed.",
            "Local stress at inserts, sockets, screw heads and sharp inner corners; walls that change "
            "shape.",
            "Shear by a force across the mast, beyond that of a material that does not contract "
            "sideways. At nose and tail of a wide solid section it may be some four times as much: 3.3 "
            "MPa for 1 kN on 120 by 14 mm, where bending at 0.75 m makes 180. In a carbon shell on a "
            "foam core of 120 by 14 mm it is 8 % less in the core, and the same in the shell.",
            "The board, the fuselage and the wings: their strength, and their flex where it is not "
            "stated.",
            "Loads as time goes on. Cases are static with a load factor; most are common practice "
            "recalled from memory, without a source.",
            "Swept or curved masts, and layups that couple stretching and twist: the second are named "
            "with how much further they may twist, and not carried.",
        ),
    ),
    Part(
        title="How far it has been from solid models",
        lines=(
            *ACCURACY,
            "Frequencies and buckling loads are within 1.5 % and 2 % of the same models, and stress at "
            "half length within 5 % of the greatest there. On one slender mast landing off its axis, a "
            "nonlinear solid model moves 1.79 times as far as by first order; this method is within 2 "
            "% of that movement.",
            LAMINATES,
            "Those models were a uniform, a tapered and a hollow blade of one isotropic material, "
            "fixed all over their root: no joints, no cores, no plies.",
        ),
        listed=False,
    ),
    Part(
        title="How far it has been from measurements",
        lines=(
            "No measured mast is among the published values: none with its sizes, its "
            "material and its readings was at hand. Measured slopes of the published box beams were "
            "not found in readable form either; their computed stiffnesses are held instead.",
            "The drag of a section stands beside one measurement, recalled from a plot (MEAS-1): a "
            "NACA 0012 with tripped flow, within 5 %. A clean blade may drag half as much.",
            "Joints, inserts and play are as soft as the mast file says, and a real board softens them "
            "more. mastcheck bench finds stiffness and play of a made mast from its readings. Trust "
            "those before any calculation; they say nothing of strength.",
        ),
        listed=False,
    ),
)


def markdown() -> str:
    """The page as Markdown, with its lines unbroken; it ends with a newline."""
    out = [f"# {TITLE}", ""]
    for part in PARTS:
        out += [f"## {part.title}", ""]
        for line in part.lines:
            out += [f"- {line}"] if part.listed else [line, ""]
        if part.listed:
            out.append("")
    out.append(
        "Published values that the tool computes anew, with sources, tolerances and differences: "
        "`mastcheck verify`, as a report with `--report verification.pdf`."
    )
    return "\n".join(out) + "\n"
