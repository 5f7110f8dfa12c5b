"""Writes the JSON Schema of the mast file anew: ``python -m mastcheck.files.publish``."""

from __future__ import annotations

import json

from mastcheck.files.mastfile import mast_file_schema
from mastcheck.files.materials import DATA


def main() -> None:
    """Write ``mastcheck/data/mast-file.schema.json``."""
    text = json.dumps(mast_file_schema(), indent=2, ensure_ascii=False) + "\n"
    (DATA / "mast-file.schema.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
