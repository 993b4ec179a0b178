"""Read the published tables in fixtures/reference; their sources are in its README."""

import csv
import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent.parent / "fixtures" / "reference"


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one CSV table, every cell a string."""
    with (FOLDER / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def document(name: str) -> Any:
    """Return one JSON table."""
    return json.loads((FOLDER / name).read_text(encoding="utf-8"))
