"""Published tables of tests/reference, read for the flight tests."""

import csv
from pathlib import Path
from typing import Any

import yaml

FOLDER = Path(__file__).resolve().parent.parent / "reference"


def rows(name: str) -> list[dict[str, str]]:
    lines = (FOLDER / name).read_text(encoding="utf-8").splitlines()
    found = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert found, f"{name} holds no rows"
    return found


def published() -> dict[str, Any]:
    found = yaml.safe_load((FOLDER / "published_flights.yaml").read_text(encoding="utf-8"))
    assert all("source" in entry and "status" in entry for entry in found.values())
    return found
