"""Where the demo and the published drawings lie."""

from __future__ import annotations

import pathlib

import pytest

__all__ = ["DEMO", "DRAWINGS", "ROOT", "published"]

ROOT = pathlib.Path(__file__).resolve().parents[2]
DEMO = ROOT / "fixtures" / "potting-bench" / "job.toml"
DRAWINGS = ROOT.parent / "shared" / "drawings"


def published(name: str) -> pathlib.Path:
    """A drawing made by other people; skips the test where the collection is not at hand."""
    path = DRAWINGS / name
    if not path.exists():
        pytest.skip(f"the published drawing {name} is not at hand in {DRAWINGS}")
    return path
