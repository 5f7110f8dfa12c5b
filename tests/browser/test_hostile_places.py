"""Every place for free text in a mast file filled with what a stranger may write: nothing runs."""

from __future__ import annotations

from pathlib import Path

import pytest

from mastcheck.checks.compare import compare
from tests.browser.conftest import DESK, Open, checked, written
from tests.safety import whole
from tests.safety.places import toml
from tests.safety.test_report import turned


@pytest.mark.parametrize("turn", [0, 1])
def test_texts_at_every_place_are_text(open_page: Open, tmp_path: Path, turn: int) -> None:
    whole.write_outlines(tmp_path)
    file = tmp_path / "mast.toml"
    file.write_text(toml(whole.laminated()), encoding="utf-8")
    (result,) = checked(file).masts
    usual = open_page(written(compare([result]), tmp_path / "usual.html"), DESK)
    usual.settled()
    opened = open_page(written(compare([turned(result, turn)]), tmp_path / "page.html"), DESK)
    opened.settled()
    opened.page.wait_for_timeout(100)
    assert opened.faults == []
    assert opened.requests == []
    kinds = "[...new Set([...document.querySelectorAll('*')].map(e => e.tagName))].sort()"
    assert set(opened.page.evaluate(kinds)) <= set(usual.page.evaluate(kinds))
    scripts = "document.scripts.length"
    assert opened.page.evaluate(scripts) == usual.page.evaluate(scripts)
    assert opened.page.locator("#results").is_visible()
