"""DXF drawings with tags, values and entities changed; and the drawings they are made of."""

from __future__ import annotations

import io
import math
from random import Random

from tests.fuzz import values

_NAMES = (
    "LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE", "VERTEX", "SEQEND",
    "INSERT", "TEXT", "HATCH", "POINT", "SOLID", "3DFACE", "MLINE", "IMAGE", "BLOCK", "ENDBLK",
    "SECTION", "ENDSEC", "EOF", "TABLE", "ENDTAB", "LAYER", "HEADER", "ENTITIES", "BLOCKS", "OBJECTS",
    "CLASSES", "DICTIONARY", "XLINE", "RAY", "REGION", "DIMENSION", "VIEWPORT",
)  # fmt: skip


def seeds(shipped: tuple[bytes, ...]) -> tuple[bytes, ...]:
    """The shipped drawings, and a small one of each kind of line."""
    return (*shipped, *map(_drawn, ("lines", "curves", "polylines", "blocks")))


def changed(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A drawing made of one of the seeds."""
    seed = rng.choice(seeds)
    if rng.random() < 0.25:
        return values.damaged(rng, seed)
    lines = seed.decode("utf-8", "replace").splitlines()
    tags = list(zip(lines[::2], lines[1::2], strict=False))
    begin = next((i for i, t in enumerate(tags) if t[1] == "ENTITIES"), 0)
    for _ in range(rng.choice((1, 1, 2, 4, 12))):
        low = begin if rng.random() < 0.8 else 0  # what is drawn, more often than its tables
        _change(rng, tags, rng.randrange(low, max(low + 1, len(tags))))
    text = "\n".join(f"{code}\n{value}" for code, value in tags) + "\n"
    content = text.encode("utf-8", "replace")
    return values.damaged(rng, content) if rng.random() < 0.1 else content


def _change(rng: Random, tags: list[tuple[str, str]], k: int) -> None:
    """One change at tag ``k``."""
    if not tags:
        return
    k = min(k, len(tags) - 1)
    code, old = tags[k]
    many = rng.choice((1, 3, 12, 60))
    match rng.randrange(9):
        case 0 | 1:
            tags[k] = (code, _near(rng, old))
        case 2:
            tags[k] = (code, rng.choice((*values.NUMBERS, *values.WORDS, *_NAMES)).replace("\n", " "))
        case 3:
            tags[k] = (
                str(
                    rng.choice(
                        (
                            0,
                            1,
                            2,
                            5,
                            8,
                            10,
                            20,
                            30,
                            40,
                            41,
                            42,
                            70,
                            71,
                            73,
                            100,
                            210,
                            230,
                            310,
                            999,
                            -1,
                            10**9,
                        )
                    )
                ),
                old,
            )
        case 4:
            del tags[k : k + many]
        case 5:
            tags[k:k] = tags[k : k + many] * rng.choice((1, 2, 30))
        case 6:
            other = rng.randrange(len(tags))
            tags[k:k] = tags[other : other + many]
        case 7:
            tags.insert(k, ("0", rng.choice(_NAMES)))
        case _:
            places = [i for i, t in enumerate(tags) if t[0].strip() == "0"]
            a = rng.randrange(len(places)) if places else 0
            if a + 2 < len(places):  # two entities change places
                first, second, third = places[a : a + 3]
                tags[first:third] = tags[second:third] + tags[first:second]


def _near(rng: Random, old: str) -> str:
    """A number like the old one, or another word."""
    try:
        size = float(old)
    except ValueError:
        return rng.choice((*_NAMES, old[::-1], old * 3))
    return rng.choice(
        (
            f"{size * 10 ** rng.uniform(-2, 2):.6g}",
            f"{-size:g}",
            f"{size + 1e-6!r}",
            f"{int(size) if abs(size) < 1e9 else 0}",
            "0",
        )
    )


def _drawn(kind: str) -> bytes:
    """A section of 120 x 15 mm drawn in one way, with handles that do not change."""
    import ezdxf
    from ezdxf import options, units

    options.write_fixed_meta_data_for_testing = True
    doc = ezdxf.new("R2010", units=units.MM)
    space = doc.modelspace()
    ring = [(0, 0), (30, 7.5), (120, 1), (120, -1), (30, -7.5)]
    if kind == "lines":
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
            space.add_line(a, b)
        space.add_circle((40, 0), 3, dxfattribs={"layer": "BORES"})
        space.add_text("made up")
    elif kind == "curves":
        space.add_ellipse((60, 0), (60, 0), 0.125)
        space.add_spline([(30, 0), (40, 3), (60, 3), (70, 0)])
        side = math.degrees(math.atan2(40, 20))  # an arc from one end of the spline to the other
        space.add_arc((50, 40), math.hypot(20, 40), 180 + side, 360 - side)
    elif kind == "polylines":
        space.add_lwpolyline(
            [(x, y, 0, 0, 0.1 * (x > 100)) for x, y in ring], format="xyseb", close=True
        )
        space.add_polyline2d(
            [(30 + 5 * math.cos(a), 3 * math.sin(a)) for a in (0, 1, 2, 3, 4, 5)], close=True
        )
    else:
        block = doc.blocks.new("PART")
        block.add_lwpolyline(ring, close=True)
        inner = doc.blocks.new("INNER")
        inner.add_circle((0, 0), 2)
        block.add_blockref("INNER", (30, 0), dxfattribs={"xscale": 2})
        space.add_blockref(
            "PART", (0, 0), dxfattribs={"column_count": 1, "row_count": 1, "rotation": 0.0}
        )
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()
