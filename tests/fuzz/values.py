"""Values that have upset readers before: numbers, words and bytes."""

from __future__ import annotations

from datetime import date, datetime, time
from random import Random
from typing import Any

UNITS = (
    "mm", "cm", "m", "in", "ft", "g", "kg", "lb", "N", "kN", "lbf", "N m", "kN m", "Nm", "Pa", "kPa",
    "MPa", "GPa", "psi", "ksi", "kg/m3", "g/cm3", "deg", "rad", "°", "m2", "cm2", "mm2", "m/s", "km/h",
    "kn", "mph", "Hz", "kg m2", "N/mm", "kN/mm", "N m/deg", "N·m/rad", "%", "µm", "furlong", "",
    "mm mm", "m³", "m^3",
)  # fmt: skip
NUMBERS = (
    "0", "-0", "0.0", "-1", "1", "1e0", "1e-9", "1e9", "1e99", "-1e99", "1e308", "1e309", "5e-324",
    "1e-400", "nan", "NaN", "inf", "-inf", "Infinity", "1,5", "1.2.3", "0x10", "1_000", "+5", ".5",
    "5.", "٣", "1e", "e5", "9" * 50, "9" * 400, "0." + "0" * 300 + "1", "--1", "1 000", "1d5", "½",
)  # fmt: skip
WORDS = (
    "", " ", "\t", "a", "A" * 81, "x" * 501, "y" * 5000, "naïve", "日本語", "\u202e", "\u200b", "\x00",
    "\x1b[2J", "\n", "a\nb", "\ufeff", "\ud7ff", "\U0001f600", "{0}", "%s", "$(id)", "[red]x[/red]",
    "</script>", "'", '"', "\\", "..", "../x.csv", "/dev/zero.csv", "/etc/passwd.txt", "C:\\a.dxf",
    "a\x00.csv", ".csv", "con.csv", "skin", "void", "ignore", "[0/±45/90]2s", "[" * 40, "[0/90]400",
    "[0" + "/45" * 60 + "]",
)  # fmt: skip


def number(rng: Random) -> float | int:
    """A plain number, seldom a sensible one."""
    return rng.choice(
        (
            0, 1, -1, 2, 10**4, 10**18, -(10**18), 10**30, 10**400, 2**20000, 0.0, -0.0, 0.5, 1.5,
            1e-320, 1e-12, 1e12, 1e308, -1e308, float("nan"), float("inf"), float("-inf"),
            rng.random(), rng.uniform(-100, 100), rng.randrange(-5, 500),
        )
    )  # fmt: skip


def quantity(rng: Random) -> str:
    """A number and a unit, as text."""
    plain = f"{10 ** rng.uniform(-3, 4):.4g}"
    gap = rng.choice((" ", " ", "", "  "))
    return f"{rng.choice((plain, plain, rng.choice(NUMBERS)))}{gap}{rng.choice(UNITS)}"


def value(rng: Random, depth: int = 0) -> Any:
    """Any TOML value."""
    kind = rng.randrange(10)
    if kind < 3:
        return quantity(rng)
    if kind < 5:
        return number(rng)
    if kind == 5:
        return rng.choice(WORDS)
    if kind == 6:
        return rng.choice((True, False, date(2026, 1, 1), time(1, 2), datetime(1, 1, 1)))
    if depth > 3:
        return []
    if kind == 7:
        return {
            rng.choice(("at", "wall", "case", "max", "x", "", "a b")): value(rng, depth + 1)
            for _ in range(2)
        }
    if kind == 8:
        return [value(rng, depth + 1)] * rng.choice((1, 2, 3, 60, 300))
    return [value(rng, depth + 1) for _ in range(rng.randrange(4))]


def near(rng: Random, old: Any) -> Any:
    """A value like the old one: of its kind, and perhaps still a good one."""
    if isinstance(old, bool):
        return not old
    if isinstance(old, int | float):
        if not abs(old) < 1e300:
            return 1.0
        return rng.choice((old * rng.uniform(0.2, 3), old + 1, -old, int(old), round(float(old), 2)))
    if isinstance(old, str):
        head, _, unit = old.partition(" ")
        try:
            size = float(head)
        except ValueError:
            return old[: rng.randrange(len(old) + 1)] + rng.choice(WORDS)
        return (
            f"{size * 10 ** rng.uniform(-1, 1):.5g} {rng.choice((unit, unit, unit, rng.choice(UNITS)))}"
        )
    return old


def damaged(rng: Random, content: bytes) -> bytes:
    """Bytes cut, flipped, repeated, filled in or written in another encoding."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(len(content) + 1)
        end = min(len(content), at + rng.choice((1, 2, 8, 64, 1000)))
        match rng.randrange(13):
            case 0:
                content = content[:at]
            case 1:
                content = content[:at] + content[end:]
            case 2:
                content = content[:at] + bytes([rng.randrange(256)]) + content[at + 1 :]
            case 3:
                content = content[:at] + content[at:end] * rng.choice((2, 3, 50)) + content[end:]
            case 4:
                content = (
                    content[:at]
                    + rng.choice((*NUMBERS, *WORDS)).encode("utf-8", "replace")
                    + content[at:]
                )
            case 5:
                content = (
                    content[:at]
                    + rng.choice((b"\0", b"\xff", b"\r", b"\n", b"\x1a", b"[", b"{", b'"', b"'''"))
                    + content[at:]
                )
            case 6:
                content = b"\xef\xbb\xbf" + content
            case 7:
                content = content.replace(b"\r\n", b"\n").replace(
                    b"\n", rng.choice((b"\r\n", b"\r", b"\n\n", b"\x0b"))
                )
            case 8:
                text = content.decode("utf-8", "replace")
                content = text.encode(
                    rng.choice(("utf-16", "utf-16-le", "utf-32", "latin-1", "cp500")), "replace"
                )
            case 9:
                content = (
                    content[:at]
                    + rng.choice((b"[", b"{a=", b"[[", b"a.", b"(", b"#", b" "))
                    * rng.choice((10, 500, 20000))
                    + content[at:]
                )
            case 10:
                other = rng.randrange(len(content) + 1)
                content = content[:at] + content[other : other + 200] + content[at:]
            case 11:
                lines = content.split(b"\n")
                k = rng.randrange(len(lines))
                lines.insert(
                    rng.randrange(len(lines) + 1), lines[k] if rng.random() < 0.5 else lines.pop(k)
                )
                content = b"\n".join(lines)
            case _:
                content = content.replace(
                    rng.choice((b"0", b".", b"=", b",", b'"', b" ")),
                    rng.choice((b"9", b",", b";", b"")),
                    rng.choice((1, -1)),
                )
        content = content[:300_000]
    return content
