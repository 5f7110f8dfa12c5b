"""The page's scripts by themselves, in the browser that a page runs in."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ASSETS = Path(__file__).parents[2] / "mastcheck" / "page" / "assets"


def source(*starts: str) -> str:
    """The page's scripts whose names begin so, joined as the page joins them."""
    paths = sorted(p for p in ASSETS.glob("*.js") if p.name.startswith(starts))
    assert paths, f"no scripts begin with {starts}"
    return '"use strict";\n' + "\n".join(p.read_text(encoding="utf-8") for p in paths)


@dataclass(frozen=True)
class Scripts:
    """Scripts on an empty page of a browser."""

    page: Any
    text: str

    def run(self, body: str, given: Any) -> Any:
        """What the body of a function of ``given`` returns; both as JSON holds them.

        Typed arrays come back as lists, numbers without end as None.
        """
        plain = "(key, value) => ArrayBuffer.isView(value) ? Array.from(value) : value"
        told = f"return JSON.stringify((() => {{\n{body}\n}})(), {plain});"
        call = f"(text) => {{\n{self.text}\nconst given = JSON.parse(text);\n{told}\n}}"
        return json.loads(self.page.evaluate(call, json.dumps(given)))
