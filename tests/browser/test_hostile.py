"""Names from a mast file are text on the page, whatever is in them: nothing runs, nothing breaks."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from mastcheck.checks.result import Comparison
from tests.browser.conftest import DESK, PHONE, Open, written

HOSTILE = {
    "markup": '</script><img src=x onerror="window.intruded=1"><b>bold</b>',
    "comment": "<!--<script>window.intruded=1</script>",
    "entity": "&lt;script&gt; &amp; &#60;",
    "template": "{{script}} ${1} {{policy}}",
    "quotes": "\"'`--></style><style>*{display:none}",
    "control": "bell\x07 nul\x00 escape\x1b[31m red\x7f",
    "direction": "abc\u202egnol yrev\u202c \u2066x\u2069 \u05d0\u05d1\u05d2",
    "surrogate": "half \udc80 of a pair",
    "separators": "line\u2028and\u2029paragraph",
    "scripts": "桅杆 מסט ماست มาสต์ 🌊",
}


def named(comparison: Comparison, name: str) -> Comparison:
    """The same masts, all their texts from the file replaced."""
    masts = []
    for m in comparison.masts:
        cases = tuple(replace(c, case=replace(c.case, name=name)) for c in m.cases[:1]) + m.cases[1:]
        job = replace(
            m.job,
            mast=replace(m.job.mast, name=name),
            cases=tuple(c.case for c in cases),
            file=f"folder/{name}.toml",
            notes=(name,),
        )
        masts.append(
            replace(m, job=job, cases=cases, cautions=(*m.cautions, f"Case {name} is unstable."))
        )
    return replace(comparison, masts=tuple(masts), sentence=f"{name} is stiffer than {name}.")


@pytest.mark.parametrize("kind", HOSTILE)
def test_names_are_text(open_page: Open, two: Comparison, tmp_path: Path, kind: str) -> None:
    name = HOSTILE[kind]
    opened = open_page(written(named(two, name), tmp_path / "page.html"), DESK)
    opened.settled()
    opened.page.wait_for_timeout(100)
    assert opened.faults == []
    assert opened.requests == []
    assert opened.page.evaluate("window.intruded") is None
    assert opened.page.locator("body img, body b").count() == 0
    assert opened.page.locator("#results").is_visible()
    shown = opened.page.locator("h3 bdi").first.inner_text()
    body = opened.page.evaluate("document.body.textContent")
    for hidden in ("\x07", "\x00", "\x1b", "\x7f", "\u202e", "\u2066", "\udc80"):
        assert hidden not in body
        if hidden in name:
            assert f"[U+{ord(hidden):04X}]" in shown
    if kind in ("markup", "entity", "template", "quotes", "scripts"):
        assert shown == name
        assert opened.page.locator("label[for=mast-0] bdi").inner_text()[:20] == name[:20]
        assert name in [o.inner_text() for o in opened.page.locator("#case option").all()]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_ten_thousand_characters(
    open_page: Open, two: Comparison, tmp_path: Path, size: tuple[int, int]
) -> None:
    name = "long" * 2500
    opened = open_page(written(named(two, name), tmp_path / "page.html"), size)
    opened.settled()
    assert opened.faults == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert opened.page.locator("h1").inner_text().endswith("masts")
    assert len(opened.page.locator("#results thead").inner_text()) < 300
    # Nothing is lost: the whole name stands among the inputs.
    assert name in opened.page.evaluate("document.getElementById('inputs').textContent")


def test_a_hostile_case_survives_the_link(open_page: Open, two: Comparison, tmp_path: Path) -> None:
    page = written(named(two, HOSTILE["markup"]), tmp_path / "page.html")
    opened = open_page(page, DESK)
    opened.page.locator("#case").select_option(index=0)
    opened.settled()
    opened.until("document.getElementById('link').value.includes('c=')")
    link = opened.page.locator("#link").input_value()
    assert "<" not in link
    again = open_page(page, DESK, "#" + link.split("#")[1])
    again.settled()
    assert again.page.evaluate("window.mastcheck.state().caseName") == HOSTILE["markup"]
    assert again.page.evaluate("window.intruded") is None
    assert again.faults == []
