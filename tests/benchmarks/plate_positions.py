"""How long plates' positions take, recognition apart: seats over uprights, and a bench with seat and back.

Run: python tests/benchmarks/plate_positions.py
"""

from __future__ import annotations

import pathlib
import sys
import time
from collections.abc import Sequence

sys.path.insert(0, str(pathlib.Path(__file__).parents[1]))

from support.uprights import board, shelf, turned, upright

from camkit.joinery.pairs import pairs
from camkit.joinery.plate_lines import laid
from camkit.joinery.plate_shifts import by_shoulders
from camkit.joinery.positions import positions
from camkit.joinery.stations import frames
from camkit.part import Part

_SHELF, _TIMES = (200.0, 100.3, 18.0), 20


def _bench(count: int, *, each: bool, back: bool) -> list[Part]:
    places = [300.0 * k for k in range(count)]
    made = [board("seat", places, length=places[-1] + 100)]
    if back:
        made.append(turned(board("back", places, span=60.3, length=places[-1] + 100), 30, mirrored=True))
    tenons = (80.0, 60.0) if back else (80.0,)
    made += [upright(f"upright {k}", tenons, [_SHELF]) for k in range(count if each else 1)]
    return [*made, *(shelf(f"shelf {k}", 282) for k in range(count - 1 if each else 1))]


def _timed(parts: Sequence[Part]) -> tuple[float, float]:
    """Milliseconds for all and for the solving alone, the best of several."""
    drawn, made = [18.0] * len(parts), [17.6] * len(parts)
    found = pairs(parts, drawn)
    whole, solving = [], []
    for _ in range(_TIMES):
        start = time.perf_counter()
        assert positions(parts, found, drawn, made).findings == ()
        whole.append(time.perf_counter() - start)
        on_lines = laid(frames(parts, found, drawn, made))[1]
        start = time.perf_counter()
        for line, ties in on_lines:
            if ties:
                by_shoulders(line, ties)
        solving.append(time.perf_counter() - start)
    return 1e3 * min(whole), 1e3 * min(solving)


def main() -> None:
    """Print one line a bench."""
    for count in (2, 6, 12):
        for each in (False, True):
            for back in (False, True):
                parts = _bench(count, each=each, back=back)
                whole, solving = _timed(parts)
                print(
                    f"{count:3} uprights, {len(parts):3} parts: {whole:7.2f} ms, solved in {solving:.2f} ms"
                )


if __name__ == "__main__":
    main()
