"""Parts from closed loops: outlines with their openings, holes, pockets and names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from camkit.drawing.candidate import SMALLEST_PART, Candidate
from camkit.drawing.crossings import settled
from camkit.drawing.framing import framed, sheet_edge, told_frame, without_title_blocks
from camkit.drawing.lettering import left_out, on_wood
from camkit.drawing.meaning import Roles
from camkit.drawing.names import named
from camkit.drawing.nest import Nest, nest
from camkit.drawing.offers import Reading
from camkit.drawing.recesses import with_recesses
from camkit.drawing.same_parts import told_same_parts
from camkit.drawing.sheets import Frame, may_be_border
from camkit.drawing.sinks import with_countersinks
from camkit.drawing.sketch import Label
from camkit.drawing.two_faces import cut_once, named_after
from camkit.errors import Finding
from camkit.geometry.measure import Bounds, bounds
from camkit.geometry.path import Path, oriented
from camkit.part import Hole, Part, Source

__all__ = ["Assembled", "assemble"]

# No cutter makes an opening this small, no part is: line soup leaves such rings (common practice, no source).
_SMALLEST_LOOP = 0.5


@dataclass(frozen=True, slots=True)
class Assembled:
    """Parts in order of their place (lower left corner: Y, then X), the sheet's border, and loops not cut.

    `readings` say what each loop that is used was read as; `again` are parts that other views of the sheet
    repeat.
    """

    parts: tuple[Part, ...]
    sheet_edge: Path | None
    findings: tuple[Finding, ...]
    left: tuple[Path, ...] = ()
    readings: tuple[Reading, ...] = ()
    again: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class _Field:
    """What is cut through, without title blocks and mended where loops cross; `found` are frames among it."""

    through: tuple[Candidate, ...]
    nested: Nest
    found: tuple[Frame, ...]
    labels: tuple[Label, ...]
    left: tuple[Path, ...]

    @property
    def frame(self) -> set[int]:
        """The numbers of the frames."""
        return {one.number for one in self.found}


def assemble(candidates: Sequence[Candidate], labels: Sequence[Label], drawn: Nest, file: str) -> Assembled:
    """Give every loop its meaning and make parts of them; `drawn` is the nest of all closed candidates."""
    findings: list[Finding] = []
    candidates = [c for c in candidates if c.open or not _is_speck(c, file, findings)]
    edges = [c for c in candidates if c.meaning == "sheet edge" and not c.open]
    field = _field(candidates, edges, labels, drawn, file, findings)
    through, frame = field.through, field.frame
    roles = Roles(through, field.nested, frame, file)
    letters = left_out(through, roles.inside, file)
    findings += (*roles.findings, *letters.findings)
    left = [*field.left, *_left(through, field.nested, frame, roles)]
    left += [through[number].path for number in sorted(letters.loops)]
    outlines = {number: inside for number, inside in roles.inside.items() if number not in letters.loops}
    parts = sorted(_parts(field, outlines, file, findings), key=_place)
    recesses = [c for c in candidates if c.depth is not None]
    parts = with_recesses(parts, recesses, file, findings, left)
    rims = [c for c in candidates if c.meaning == "countersink"]
    parts = with_countersinks(parts, rims, file, findings, left)
    findings += _small_parts(parts, file)
    kept, again, edge = _once(parts, field, edges, file, findings, left)
    findings += told_same_parts(kept, file)
    readings = [Reading(through[n], "sheet edge") for n in sorted(frame)]
    for number, inside in outlines.items():
        readings.append(Reading(through[number], "outline"))
        readings += [Reading(through[i], "hole" if _is_hole(through[i]) else "opening") for i in inside]
    return Assembled(kept, edge, tuple(findings), tuple(left), tuple(readings), again)


def _field(
    candidates: Sequence[Candidate],
    edges: Sequence[Candidate],
    labels: Sequence[Label],
    drawn: Nest,
    file: str,
    findings: list[Finding],
) -> _Field:
    through = [c for c in candidates if c.meaning not in ("sheet edge", "countersink") and c.depth is None]
    closed = [c for c in candidates if not c.open]
    known = through == closed and len(closed) == len(drawn.parent)
    nested = drawn if known else nest([c.path for c in through])
    bare = without_title_blocks(through, nested, labels, file)
    through, nested, titled, worded = list(bare.candidates), bare.nested, bare.titled, bare.worded
    findings += bare.findings
    if any(fault is not None for fault in nested.faults) or nested.crossings or nested.touches:
        around = set() if edges else {f.number for f in framed(through, nested, titled, worded)}
        mended = settled(through, nested, around, file)
        titled, worded = (_same_loops(n, through, mended.candidates) for n in (titled, worded))
        through, nested = list(mended.candidates), mended.nested
        findings += mended.findings
    found = () if edges else framed(through, nested, titled, worded)
    for one in found:
        findings += told_frame(one, through[one.number], file)
    return _Field(tuple(through), nested, tuple(found), tuple(bare.labels), tuple(bare.left))


def _parts(
    field: _Field, outlines: Mapping[int, Sequence[int]], file: str, findings: list[Finding]
) -> Iterator[Part]:
    through = field.through
    paths = [c.path for c in through]
    for number, inside in outlines.items():
        large = [i for i in inside if through[i].is_part_sized and not through[number].meaning]
        if may_be_border(number, paths, field.nested, large, alone=len(inside) == 1):
            said = f"the rectangle was read as a part with openings, large ones: {len(large)}"
            remedy = 'If it is the border of the sheet, give its layer the meaning "sheet edge"'
            findings.append(through[number].finding("warning", "sheet-border", said, remedy, file))
        findings += on_wood(through, inside, file)
        yield _part(through[number], [through[i] for i in sorted(inside)], file, findings)


def _once(
    parts: Sequence[Part],
    field: _Field,
    edges: Sequence[Candidate],
    file: str,
    findings: list[Finding],
    left: list[Path],
) -> tuple[tuple[Part, ...], tuple[Part, ...], Path | None]:
    """The parts under their names, those that other views repeat, and the border of the sheet."""
    borders = [field.through[f.number] for f in field.found if f.kind == "border"]
    bounds_of_frames = [field.through[f.number].bounds for f in field.found]
    faces = cut_once(parts, field.labels, bounds_of_frames, file)
    findings += faces.findings
    if faces.again:
        left += [
            path for number, _ in faces.again for path in (parts[number].outline, *parts[number].openings)
        ]
        spots = [bounds(parts[number].outline) for number in faces.kept]
        borders = [it for it in borders if all(_holds(it.bounds, spot) for spot in spots)]
    edge = sheet_edge(edges, borders, file, findings)
    texts = [label for number, label in enumerate(field.labels) if number not in faces.texts]
    called = named([parts[number] for number in faces.kept], texts, file)
    findings += called.findings
    by_number = dict(zip(faces.kept, called.parts, strict=True))
    again = named_after([(parts[number], by_number[kept]) for number, kept in faces.again])
    return tuple(called.parts), tuple(again), edge


def _left(through: Sequence[Candidate], nested: Nest, frame: set[int], roles: Roles) -> list[Path]:
    """Loops that are in no part; one drawn twice is told by its first."""
    used = frame.union(roles.inside, *roles.inside.values(), (second for _, second in nested.copies))
    return [c.path for number, c in enumerate(through) if number not in used and not c.open]


def _holds(outer: Bounds, inner: Bounds) -> bool:
    """Whether the middle of one extent lies within another."""
    x, y = (inner[0] + inner[2]) / 2, (inner[1] + inner[3]) / 2
    return outer[0] <= x <= outer[2] and outer[1] <= y <= outer[3]


def _place(part: Part) -> tuple[float, ...]:
    # Rounded, so that noise in the last digit does not change the order between two files of one drawing.
    x0, y0, x1, y1 = (round(v, 2) for v in bounds(part.outline))
    return (y0, x0, y1, x1)


def _same_loops(
    numbers: frozenset[int], before: Sequence[Candidate], after: Sequence[Candidate]
) -> frozenset[int]:
    """The numbers that the same loops have afterwards."""
    loops = {id(before[i].loop) for i in numbers}
    return frozenset(i for i, it in enumerate(after) if id(it.loop) in loops)


def _part(outline: Candidate, inside: Sequence[Candidate], file: str, findings: list[Finding]) -> Part:
    holes, openings = [], []
    for it in inside:
        if it.circle is not None and _is_hole(it):
            holes.append(Hole(*it.circle))
            continue
        if it.meaning == "hole":
            said = "the loop is a hole by its layer, but not round; it was read as an opening"
            findings.append(it.finding("note", "not-round", said, "", file))
        openings.append(oriented(it.path, clockwise=True))
    source = Source(file, outline.loop.layer, outline.loop.entity)
    return Part("", oriented(outline.path), tuple(openings), tuple(holes), source=source)


def _is_hole(it: Candidate) -> bool:
    return it.circle is not None and (it.meaning == "hole" or (it.meaning == "" and it.is_small_round))


def _is_speck(it: Candidate, file: str, findings: list[Finding]) -> bool:
    if it.size >= _SMALLEST_LOOP:
        return False
    said = f"a closed loop of only {it.size:.2f} mm was left out"
    findings.append(it.finding("warning", "tiny-loop", said, "Delete it, or draw it larger", file))
    return True


def _small_parts(parts: Sequence[Part], file: str) -> list[Finding]:
    small = []
    for part in parts:
        x0, y0, x1, y1 = bounds(part.outline)
        if max(x1 - x0, y1 - y0) < SMALLEST_PART:
            small.append((part, (x0, y0, x1 - x0, y1 - y0)))
    if not small:
        return []
    part, (x, y, length, width) = small[0]
    return [
        Finding(
            "warning",
            "small-part",
            f"outlines under {SMALLEST_PART:g} mm, read as parts: {len(small)}; the first is"
            f" {length:.1f} x {width:.1f} mm, at ({x:.2f}, {y:.2f})",
            'If they are letters or marks, give their layer the meaning "ignore"',
            x_mm=x,
            y_mm=y,
            file=file,
            layer=part.source.layer or None,
            entity=part.source.entity,
        )
    ]
