"""Damaged drawings by the thousand: none may end in a traceback, hang, or lose a closed loop without a word.

`python tests/benchmarks/fuzz_drawings.py 5000 [SEED] [--keep FOLDER]` damages generated drawings and, where
they lie beside the project, published ones up to 200 kB; each is read in a process of its own, within 10 s of
computing (60 s by the clock) and 1 GiB. It prints counts, and every fault with its seed; the files of faults
go into the folder. Read it under `nice`: 5,000 files take some fifteen minutes.
"""

from __future__ import annotations

import argparse
import pathlib
import random
import sys
import tempfile
import time
from collections import Counter

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent))

from support.bounded import BoundedReader
from support.hostile_dxf import binary, saved
from support.mutations import SAMPLE_SVG, damaged_bytes, damaged_entities, sample
from support.places import DRAWINGS

LARGEST = 200_000
LONGEST_S = 10.0
VERSIONS = ("R12", "R2000", "R2010", "R2018")


def sources() -> tuple[list[bytes], list[bytes]]:
    """Contents to damage byte by byte, and those of them whose entities can be changed."""
    documents = [sample(version) for version in VERSIONS]
    texts = [saved(document) for document in documents]
    published = [
        path.read_bytes() for path in sorted(DRAWINGS.glob("*.*")) if path.suffix.lower() in (".dxf", ".svg")
    ]
    small = [content for content in published if len(content) <= LARGEST]
    plain = [c for c in small if c.lstrip()[:1] == b"0" and c.isascii() and len(c) < 60_000]
    return [*texts, *(binary(d) for d in documents), SAMPLE_SVG, SAMPLE_SVG, *small], [*texts, *texts, *plain]


def made(number: int, seed: int, whole: list[bytes], changeable: list[bytes]) -> bytes:
    """The damaged drawing of that number; the same for the same seed."""
    chance = random.Random(f"{seed}/{number}")
    if chance.random() < 0.4:
        content = damaged_entities(chance.choice(changeable), chance)
        return damaged_bytes(content, chance) if chance.random() < 0.1 else content
    return damaged_bytes(chance.choice(whole), chance)


def main() -> None:
    """Damage, read, count, print."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("count", type=int)
    words.add_argument("seed", type=int, nargs="?", default=1)
    words.add_argument("--keep", type=pathlib.Path, default=pathlib.Path("fuzz-faults"))
    asked = words.parse_args()
    whole, changeable = sources()
    kinds: Counter[str] = Counter()
    rules: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    slowest, largest, begin = 0.0, 0.0, time.monotonic()
    with tempfile.TemporaryDirectory() as folder, BoundedReader(60) as reader:
        path = pathlib.Path(folder) / "drawing"
        for number in range(asked.count):
            content = made(number, asked.seed, whole, changeable)
            path.write_bytes(content)
            outcome = reader.read(path)
            slowest, largest = max(slowest, outcome.seconds), max(largest, outcome.memory_mib)
            kind = outcome.kind if outcome.seconds <= LONGEST_S else "hang"
            if kind in ("fault", "hang"):
                asked.keep.mkdir(parents=True, exist_ok=True)
                (asked.keep / f"{asked.seed}-{number}").write_bytes(content)
                print(
                    f"{kind}: seed {asked.seed}, number {number}, {outcome.seconds:.1f} s\n{outcome.said}\n"
                )
            elif kind == "refused":
                refused[outcome.rule] += 1
            else:
                rules.update(outcome.rules)
                kind = "read with findings" if outcome.rules else "read clean"
            kinds[kind] += 1
    took = time.monotonic() - begin
    print(f"{asked.count} files, seed {asked.seed}, {took:.0f} s: {dict(sorted(kinds.items()))}")
    print(f"refused by rule: {dict(refused.most_common())}")
    print(f"findings by rule: {dict(rules.most_common())}")
    print(f"slowest {slowest:.2f} s of computing, largest {largest:.0f} MiB")
    sys.exit(1 if kinds["fault"] or kinds["hang"] else 0)


if __name__ == "__main__":
    main()
