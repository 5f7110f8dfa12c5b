"""The standard laminate code, read as builders write it."""

from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mastcheck.laminate import MOST_PLIES, parse_code
from mastcheck.units import UnitError


@pytest.mark.parametrize(
    ("code", "angles"),
    [
        ("[0]", [0]),
        ("[0/90]s", [0, 90, 90, 0]),
        ("[0/±45/90]", [0, 45, -45, 90]),
        ("[0/±45/90]2s", [0, 45, -45, 90] * 2 + [90, -45, 45, 0] * 2),
        ("[0/+-45/90]S", [0, 45, -45, 90, 90, -45, 45, 0]),
        ("[0/+/-45]", [0, 45, -45]),
        ("[∓45]", [-45, 45]),
        ("[-+45]", [-45, 45]),
        ("[0_2/90]", [0, 0, 90]),
        ("[0₂/90₁₂]", [0, 0] + [90] * 12),
        ("[±45_2]", [45, -45, 45, -45]),
        ("[(0/90)2/45]s", [0, 90, 0, 90, 45, 45, 90, 0, 90, 0]),
        ("[[0/90]s/30]", [0, 90, 90, 0, 30]),
        ("[0/90]_2S", [0, 90, 0, 90, 90, 0, 90, 0]),
        ("[0/90]s2", [0, 90, 90, 0] * 2),
        ("[0/90]T", [0, 90]),
        ("0, 90, -45", [0, 90, -45]),
        ("[ 0 / 90 ] 2", [0, 90, 0, 90]),
        ("[−30°/22.5 deg]", [-30, 22.5]),
    ],
)
def test_read(code, angles):
    assert parse_code(code) == tuple(float(a) for a in angles)


@pytest.mark.parametrize(
    ("code", "word"),
    [
        ("", "angle in degrees"),
        ("[]", "angle in degrees"),
        ("[0/90", "] is missing"),
        ("[0/90)", "] is missing"),
        ("[0//90]", "angle in degrees"),
        ("[0/x]", "angle in degrees"),
        ("[0/90]s and more", "not understood"),
        ("[450]", "no ply angle"),
        ("[0/90]0s", "repeat of 0"),
        ("[0_0]", "repeat of 0"),
        (f"[0]{MOST_PLIES}s", "more than"),
        ("[[[[0]999]999]999]999", "more than"),
        ("[" * 500, "brackets"),
        ("[0/90]2 s x", "not understood"),
    ],
)
def test_refused_with_the_remedy(code, word):
    with pytest.raises(UnitError) as caught:
        parse_code(code)
    assert word in str(caught.value)
    assert caught.value.remedy


@given(st.text(alphabet="[](){}0123456789±∓/,sST_+-₂ .°deg", max_size=60))
def test_any_text_is_read_or_refused(text):
    with contextlib.suppress(UnitError):
        angles = parse_code(text)
        assert 0 < len(angles) <= MOST_PLIES
        assert all(-180 <= a <= 180 for a in angles)


@given(st.lists(st.integers(-90, 90), min_size=1, max_size=20), st.integers(1, 4))
def test_code_written_from_angles_reads_back(angles, times):
    body = "/".join(str(a) for a in angles)
    once = tuple(float(a) for a in angles) * times
    assert parse_code(f"[{body}]{times}") == once
    assert parse_code(f"[{body}]{times}s") == once + once[::-1]
