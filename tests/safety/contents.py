"""Texts that a stranger, or a slip, may put into a mast file; each by a short name."""

from __future__ import annotations

MARKUP = {
    "script": "<script>alert(1)</script>",
    "script-end": "</script><script>document.title='owned'</script>",
    "comment": "<!-- <script> --> ]]> <![CDATA[ x ]]>",
    "image": "<img src=x onerror=alert(1)>",
    "svg": '"><svg onload="alert(1)"><foreignObject/></svg>',
    "entity": "&lt;b&gt; &amp; &#x3c;script&#x3e; &unknown;",
    "attribute": '" onmouseover="alert(1)" x=\'',
    "uri": "javascript:alert(1) https://example.invalid/x.js",
}
SETTING = {
    "typst-code": '#import "@preview/x:1.0.0": * #eval("1+1") #panic("no")',
    "typst-read": '#read("/etc/passwd") #include "/etc/passwd"',
    "typst-marks": "$x^2$ *bold* _thin_ `raw` <label> @ref = head ~ // gone /* gone */ \\",
    "typst-open": "#{ [ ( $ * _ `",
    "mathtext": r"$\frac{}{}$ $\undefined{x}$ \mathbf{b}",
    "dollar": "costs 5$ or $6 or 7$",
    "backslashes": r"C:\new\table\u0041\x1b[31m\n\\",
    "format": "{0} {name} %s %d %(x)s {{}} ${HOME} $(id) `id`",
}
TERMINAL = {
    "rich": "[bold red]x[/bold red] [/] [link=https://example.invalid]y[/link] :skull:",
    "rich-open": "[blink][on red] \\[bold]",
    "clear": "a\x1b[2J\x1b[Hb",
    "osc-8": "a\x1b]8;;https://example.invalid\x1b\\b\x1b]8;;\x1b\\",
    "osc-52": "a\x1b]52;c;aWQK\x07b",
    "bell": "a\x07b",
    "c1": "a\u009b31mb\u009d0;title\u009cc\u0090d",
    "null": "a\0b",
    "controls": "".join(map(chr, [*range(1, 32), 127, *range(128, 160)])),
    "returns": "safe\rgone\x08\x08\x08\x08over",
    "feeds": "first\nsecond\r\nthird\x0bfourth\x0cfifth\x85sixth",
    "separators": "a\u2028b\u2029c",
    "tab": "a\tb",
}
LETTERS = {
    "bidi": "mast\u202etsam\u202c \u2066x\u2069 \u200frl",
    "zero-width": "ma\u200bst\ufeff \u00ad\u2060\u200dx",
    "tags": "flag\U000e0067\U000e007f",
    "combining": "Zo" + "\u0300\u0316\u0489" * 25 + "n",
    "non-latin": "日本の帆柱 мачта κατάρτι मस्तूल สวัสดี",
    "right-to-left": "תורן סירה صاري القارب 75",
    "emoji": "🏄 👩‍🚒 🇳🇿 ⛵",
    "private": "\ue000\uf8ff\U0010fffd",
    "unassigned": "a\u0378\uffffb",
    "long-words": "wide and deep " * 714 + "end",
    "long-word": "W" * 10_000,
    "long-wide": "帆" * 2_000,
    "blank": "\u00a0\u3000 x",
}
CELLS = {
    "formula": "=1+1",
    "formula-call": '=HYPERLINK("https://example.invalid","x")',
    "plus": "+1+1",
    "minus": "-1+1",
    "at": "@SUM(1,1)",
    "tab-formula": "\t=1+1",
    "return-formula": "\r=1+1",
    "wide-formula": "＝1+1",
    "commas": 'one, two; "three"',
    "quotes": '"quoted" \'single\' ""',
    "json": '", "verdict": "pass", "x": {"',
    "json-end": '"}]}\\',
    "toml": 'x"\n[mast]\nname = "other" # \'\'\' """',
}
FILES = {
    "file-spaces": " two  spaces ",
    "file-hyphen": "--report=x.pdf",
    "file-path": "../../../etc/passwd",
    "file-url": "file:///etc/passwd",
}

CONTENTS: dict[str, str] = {**MARKUP, **SETTING, **TERMINAL, **LETTERS, **CELLS, **FILES}
"""All of them."""
