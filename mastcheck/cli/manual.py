"""What ``--help`` says of each command beyond its options: what it does, an example, exit statuses.

``main`` registers the commands from here, so that none is without. Lines are kept short enough for a
terminal of 80 columns, since plain help is printed as it stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

WIDEST = 78
"""Characters of a line of help, so that no terminal of 80 columns folds it."""

QUANTITIES = """A quantity carries its unit ("750 mm", "30 in", "85 kg")."""

JUDGED = (
    (0, "every limit held"),
    (1, "a limit is exceeded, a load case is unstable, or a self-check failed"),
)
DONE = ((0, "done; nothing is judged"),)
REFUSED = (2, "bad input: one line a fault, with its place, the rule and the remedy")
STOPPED = (130, "stopped by Ctrl-C; files from before are as they were")


@dataclass(frozen=True, slots=True, kw_only=True)
class Manual:
    """A command's page: its line in the list of commands, what it does, an example, exit statuses."""

    summary: str
    text: str
    example: str
    statuses: tuple[tuple[int, str], ...]
    stopped: tuple[int, str] = STOPPED
    operands: str | None = None
    """The words after the command's name, where the parser cannot name them."""

    @property
    def head(self) -> str:
        """What stands above the options."""
        return f"{self.summary}\n\n{self.text}"

    @property
    def foot(self) -> str:
        """What stands below the options."""
        return f"Example\n  {self.example}\n\n{status_table((*self.statuses, REFUSED, self.stopped))}"


def status_table(statuses: Iterable[tuple[int, str]]) -> str:
    """Exit statuses with their meanings, one a line."""
    return "\n".join(["Exit status", *(f"  {status:<3}  {meaning}" for status, meaning in statuses)])


MANUALS: dict[str, Manual] = {
    "bench": Manual(
        summary="Plan a bench test, or find from its readings where the flex comes from.",
        text="""With --plan: a test sheet with set-ups, predicted readings, play and when to
stop. With READINGS: the stiffness of blade and joints, and free play, by
least squares, as far as the readings can tell, and what they leave open.""",
        example="mastcheck bench my-mast.toml --plan --out sheet.pdf --template form.csv",
        statuses=DONE,
        operands="FILE [READINGS]",
    ),
    "check": Manual(
        summary="Check one mast: stiffness, each load case, limits, cautions.",
        text=f"""Solves the sections, bends the mast under every load case by second order, and
holds stress, stability, joints and the file's own limits against what they
may be. What has no limit is reported and never counted as a pass.
{QUANTITIES}""",
        example='mastcheck check my-mast.toml --rider "95 kg" --report check.pdf',
        statuses=JUDGED,
    ),
    "compare": Manual(
        summary="Compare masts: the same side by side, with ratios to the first.",
        text=f"""Each mast is checked as by check; the first is what the others are measured
against. Ends with both sides of the choice in plain words.
{QUANTITIES}""",
        example="mastcheck compare wide.toml tapered.toml --report wide-vs-tapered.pdf",
        statuses=JUDGED,
        operands="FILE FILE...",
    ),
    "completion": Manual(
        summary="Print what makes the shell complete commands and options.",
        text="""Prints a script and writes no file. Send it where your shell looks, such as
  bash: ~/.local/share/bash-completion/completions/mastcheck
  zsh:  a folder in $fpath, as _mastcheck
  fish: ~/.config/fish/completions/mastcheck.fish""",
        example="source <(mastcheck completion bash)      for this bash session only",
        statuses=DONE,
    ),
    "envelope": Manual(
        summary="The heaviest rider at each length, for every limit.",
        text="""Lengthens the mast step by step (a taper stretches) and finds at each length
the heaviest rider that strength, stability, joints and every limit still
allow.""",
        example="mastcheck envelope my-mast.toml --rider 55kg:110kg --length 65cm:95cm",
        statuses=((0, "done; a rider or length that fails is a finding, not an error"),),
    ),
    "materials": Manual(
        summary="List the shipped materials, or one with all its sources.",
        text="""Every group of numbers names its source and how far that can be trusted. Hold
them against the certificate of your own batch.""",
        example='mastcheck materials "EN AW-6082-T6"',
        statuses=DONE,
        operands="[NAME]",
    ),
    "new": Manual(
        summary="Write a commented starter mast file, or one inferred from measurements.",
        text="""With --measured, for a mast that can only be measured: the wall, which cannot
be seen, is inferred from the mass, as the uniform wall with which the mast
weighs what it weighs. The bands that measuring errors leave on it and on the
stiffness are printed and written into the file. A station's place is a
distance from the base, a fraction of the length, or base or tip.""",
        example="""mastcheck new mine.toml --measured --length "750 mm" --mass "1.42 kg" \\
    --station "base: 150 mm x 18 mm" --station "tip: 100 mm x 14 mm" \\
    --material "EN AW-6082-T6" --construction hollow""",
        statuses=((0, "the file is written"),),
    ),
    "page": Manual(
        summary="Write one HTML file to play with, offline: sliders, shapes, stresses.",
        text="""The masts are checked first. The file needs no network and holds everything it
shows. A slider bends the mast anew in the browser; the page says what it
keeps fixed.""",
        example="mastcheck page wide.toml tapered.toml --out compare.html",
        statuses=JUDGED,
        operands="FILE... --out PATH",
    ),
    "profiles": Manual(
        summary="List the shipped masts.",
        text="""Path, name and note of each. All are invented for demonstration and describe
no product.""",
        example="mastcheck profiles",
        statuses=DONE,
    ),
    "redraw": Manual(
        summary="Draw an old check again from its result file: tables, report, figures.",
        text="""Prints what check or compare printed, and writes what is asked for. Nothing is
computed anew, and the program that computed it is named.""",
        example="mastcheck redraw check.json --report check.pdf --units imperial",
        statuses=JUDGED,
    ),
    "schema": Manual(
        summary="Print a published JSON Schema: of the mast file, or of the result file.",
        text="""Editors complete and check a mast file by its schema; scripts check a result
by theirs. Both come with the program and carry their own version in $id.""",
        example="mastcheck schema mast > mast-file.schema.json",
        statuses=DONE,
    ),
    "section": Manual(
        summary="Solve one cross-section: properties, picture, outline, buildability notes.",
        text="""Stiffnesses, mass per length, centroid and shear centre of the section at one
place along the mast, and what would be hard to make about it.""",
        example="mastcheck section my-mast.toml --at 0.25 --draw section.svg",
        statuses=DONE,
    ),
    "size": Manual(
        summary="Find the lightest mast that meets its limits, and what governs it.",
        text="""Sizes named by --vary are free; the others stay. The answer is checked whole,
and a step either way shows that it is the lightest nearby. Without the limits
of [limits] in the mast file only strength and stability hold it.""",
        example="mastcheck size my-mast.toml --vary wall=2mm:4mm --round 0.1mm",
        statuses=((0, "a mast was found that meets its limits"), (1, "there is none within the bounds")),
    ),
    "sweep": Manual(
        summary="Check every combination of sizes, lengths and riders; mark the best.",
        text="""Every design is checked whole and kept in a table; those that no other beats
in everything are marked. Ctrl-C stops it; the same command goes on from
there.""",
        example="mastcheck sweep my-mast.toml --vary wall=2mm:3.5mm:4 --rider 70kg:100kg:4",
        statuses=(
            (0, "the sweep is whole, whatever its designs are worth"),
            (1, "the program failed at some designs"),
        ),
        stopped=(130, "stopped by Ctrl-C; the same command goes on from there"),
    ),
    "verify": Manual(
        summary="Compute published values anew and hold them against their tolerances.",
        text="""Each value stands with its source, how it was come by, and why its tolerance
is as wide as it is. What is verified is the arithmetic and the method, not
your mast.""",
        example="mastcheck verify --only sections --report verification.pdf",
        statuses=((0, "every value held its tolerance"), (1, "one did not")),
    ),
}
"""A page a command, by name."""
