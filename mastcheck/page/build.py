"""The page as one HTML file: no network, one script and one style, both named by their hash."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from importlib.resources import files
from typing import Any

from mastcheck.checks.result import Comparison
from mastcheck.errors import MastcheckError
from mastcheck.page import fixed
from mastcheck.page.data import RoomError, page_data
from mastcheck.page.fixed_inputs import inputs
from mastcheck.page.text import safe
from mastcheck.page.told import Told

SIZE_LIMIT = 1_500_000
"""Bytes of a page: what a phone takes in at once, and what can be sent by mail."""
_KEPT_BACK = 40_000
"""Bytes kept free of stress fields for what is not known before the page is put together."""
_ORDER = ("beam_", "strength", "drag", "ui_")
"""Scripts by the start of their names: what is used by others comes first."""


class PageError(MastcheckError):
    """A page that cannot be made from these results."""


def page(comparison: Comparison, told: Told) -> bytes:
    """The whole page, UTF-8; the same results and words give the same bytes.

    Args:
        comparison: checked masts.
        told: document id and words on each mast, in the same order.

    Raises: PageError when it would pass SIZE_LIMIT.
    """
    assets = Assets.read()
    shell = _assemble(assets, comparison, told, {})
    room = SIZE_LIMIT - len(shell) - _KEPT_BACK
    try:
        whole = _assemble(assets, comparison, told, page_data(comparison, told, max(room, 0)))
    except RoomError as fault:
        raise PageError(f"page: {fault}; choose fewer masts") from fault
    if len(whole) > SIZE_LIMIT:
        raise PageError(
            f"page: {len(whole) / 1e6:.2f} MB, and {SIZE_LIMIT / 1e6:g} MB is the most a page may hold;"
            " choose fewer masts"
        )
    return whole


class Assets:
    """The page's own files: template, style and script."""

    def __init__(self, template: str, style: str, script: str) -> None:
        self.template, self.style, self.script = template, style, script

    @classmethod
    def read(cls) -> Assets:
        """Read them; the scripts are joined into one, in strict mode, with no name left outside."""
        folder = files("mastcheck").joinpath("page", "assets")
        texts = {f.name: f.read_text(encoding="utf-8") for f in folder.iterdir() if f.is_file()}
        names = sorted((n for n in texts if n.endswith(".js")), key=_place)
        joined = "\n".join(texts[n].strip() for n in names)
        script = f'(function () {{\n"use strict";\n{joined}\nstartPage();\n}})();'
        return cls(texts["page.html"], texts["page.css"].strip(), script)


def _place(name: str) -> tuple[int, str]:
    """Where a script stands in the order."""
    found = [i for i, start in enumerate(_ORDER) if name.startswith(start)]
    return (found[0] if found else len(_ORDER), name)


def script_source(text: str) -> str:
    """A content-security-policy source that allows this very script or style and no other."""
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def policy(style: str, script: str) -> str:
    """The content-security-policy: nothing may be loaded, sent or framed."""
    return (
        f"default-src 'none'; script-src {script_source(script)}; style-src {script_source(style)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def as_json(data: dict[str, Any]) -> str:
    r"""JSON that may stand inside a script element: ASCII, and no ``<`` that could end it.

    >>> as_json({"a": "</script>"})
    '{"a":"\\u003c/script>"}'
    """
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c")


def _assemble(assets: Assets, comparison: Comparison, told: Told, data: dict[str, Any]) -> bytes:
    first, others, count = fixed.cautions(comparison)
    parts = {
        "policy": policy(assets.style, assets.script),
        "style": assets.style,
        "script": assets.script,
        "title": fixed.title(comparison),
        "document": safe(told.document),
        "version": safe(told.version),
        "answer": fixed.answer(comparison, told),
        "first_caution": first,
        "cautions": others,
        "caution_count": str(count),
        "results": fixed.results(comparison),
        "inputs": inputs(comparison, told),
        "data": as_json(data),
    }
    # One pass: what is put in is not looked at again, so that a name with braces stays a name.
    text = re.sub(r"\{\{(\w+)\}\}", lambda found: parts[found[1]], assets.template)
    return text.encode("utf-8")
