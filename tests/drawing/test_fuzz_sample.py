"""A few drawings damaged as tests/benchmarks/fuzz_drawings.py does by the thousand, always the same ones."""

import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from support.bounded import BoundedReader
from support.hostile_dxf import binary, saved
from support.mutations import SAMPLE_SVG, damaged_bytes, damaged_entities, sample

VERSIONS = ("R12", "R2000", "R2018")


@pytest.fixture(scope="module")
def reader() -> Iterator[BoundedReader]:
    with BoundedReader(60) as reader:
        yield reader


@pytest.fixture(scope="module")
def texts() -> list[bytes]:
    return [saved(sample(version)) for version in VERSIONS]


def test_the_undamaged_samples_are_read_whole(
    tmp_path: Path, reader: BoundedReader, texts: list[bytes]
) -> None:
    for content in (*texts, binary(sample()), SAMPLE_SVG):
        path = tmp_path / "drawing"
        path.write_bytes(content)
        outcome = reader.read(path)
        assert (outcome.kind, outcome.lost) == ("read", 0), outcome.said
        assert outcome.parts >= 3


@pytest.mark.parametrize("seed", range(20))
def test_damaged_drawings_end_in_words(
    tmp_path: Path, reader: BoundedReader, texts: list[bytes], seed: int
) -> None:
    chance = random.Random(seed)
    text = chance.choice(texts)
    for content in (
        damaged_bytes(chance.choice((text, binary(sample()))), chance),
        damaged_bytes(SAMPLE_SVG, chance),
        damaged_entities(text, chance),
    ):
        path = tmp_path / "drawing"
        path.write_bytes(content)
        outcome = reader.read(path)
        assert outcome.kind in ("read", "refused"), outcome.said
        assert outcome.seconds < 10


FAULTS = sorted((Path(__file__).parent / "faults").glob("*.[ds][xv][fg]"))


@pytest.mark.parametrize("path", FAULTS, ids=[path.name for path in FAULTS])
def test_files_that_once_broke_the_reader_end_in_words(reader: BoundedReader, path: Path) -> None:
    outcome = reader.read(path)
    assert outcome.kind in ("read", "refused"), outcome.said
