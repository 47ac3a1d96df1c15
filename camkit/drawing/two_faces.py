"""One sheet drawn in several views: which view is cut, what the others add, and when the maker is asked.

Parts that repeat as a group are views of one sheet
- where texts beside them or names of their layers say which face they show (front, back, reverse, side B);
- where one view is the mirror image of the other, but other pockets or blind holes are drawn in it: handed
  pieces have theirs mirrored too;
- where one view is the mirror image of the other and each lies in a border of its own.
The last two need two or more different parts in a view. Then one view is cut: the front by its words, else
the one with more pockets and blind holes, else the first.

Any other repeated group of two or more different parts may as well be two sets, and so may mirrored pairs
that are recessed differently: all are cut, and a warning asks. One part drawn often is wanted often.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from camkit.drawing.congruent import Motion
from camkit.drawing.label_words import Face, face_of, says_face_only
from camkit.drawing.names import unique
from camkit.drawing.sketch import Label
from camkit.drawing.views import Repeat, repeats
from camkit.errors import Finding
from camkit.geometry.flatten import as_polygon
from camkit.geometry.measure import Bounds, bounds
from camkit.geometry.path import circle
from camkit.geometry.tolerance import CHAIN
from camkit.part import Part

__all__ = ["Faces", "cut_once", "named_after"]

Floats = NDArray[np.float64]
# Features of the other face that are named before the rest is counted.
_NAMED = 6
_PICK = "or pick them with [[part]] rows and at = [x, y]"


@dataclass(frozen=True, slots=True)
class Faces:
    """The parts to cut, by number, those drawn again, each with the one it repeats, and texts about views."""

    kept: tuple[int, ...]
    again: tuple[tuple[int, int], ...] = ()
    texts: frozenset[int] = frozenset()
    findings: tuple[Finding, ...] = ()


def cut_once(parts: Sequence[Part], labels: Sequence[Label], borders: Sequence[Bounds], file: str) -> Faces:
    """Which parts are cut when some may be drawn in several views; findings tell, warn or ask."""
    everything = tuple(range(len(parts)))
    repeat = repeats(parts)
    if repeat is None:
        return Faces(everything)
    boxes = [_around([parts[number] for number in view.parts]) for view in repeat.views]
    texts, faces = _faces(parts, repeat, boxes, labels)
    why = _words(repeat, faces) or _other_recesses(parts, repeat) or _own_borders(repeat, boxes, borders)
    if not why:
        return Faces(everything, findings=tuple(_asked(parts, repeat, file)))
    chosen = _chosen(parts, repeat, faces)
    order = repeat.views[chosen].parts
    again = tuple(
        pair
        for number, view in enumerate(repeat.views)
        if number != chosen
        for pair in zip(view.parts, order, strict=True)
    )
    findings = _told(parts, repeat, chosen, why, file)
    return Faces(tuple(sorted(order)), again, frozenset(texts), tuple(findings))


def named_after(again: Sequence[tuple[Part, Part]]) -> tuple[Part, ...]:
    """Parts of other views under the names of those that are cut."""
    names = unique([f"{kept.name}, other view" for _, kept in again])
    return tuple(replace(part, name=name) for (part, _), name in zip(again, names, strict=True))


def _around(parts: Sequence[Part]) -> Bounds:
    boxes = np.array([bounds(part.outline) for part in parts])
    (x0, y0), (x1, y1) = boxes[:, :2].min(axis=0).tolist(), boxes[:, 2:].max(axis=0).tolist()
    return (x0, y0, x1, y1)


def _faces(
    parts: Sequence[Part], repeat: Repeat, boxes: Sequence[Bounds], labels: Sequence[Label]
) -> tuple[list[int], list[dict[Face, bool]]]:
    """Texts that name faces, by number, and for each view the faces, True where nothing else is meant."""
    found: list[dict[Face, bool]] = [{} for _ in repeat.views]
    texts: list[int] = []
    areas = shapely.box(*np.array(boxes).T)
    telling = [(number, label, face) for number, label in enumerate(labels) if (face := face_of(label.text))]
    outlines = [as_polygon(part.outline, 0.05) for part in parts] if telling else []
    for number, label, face in telling:
        spot = shapely.Point(label.at)
        if not shapely.contains_xy(outlines, *label.at).any():
            near = int(np.argmin(shapely.distance(areas, spot)))
            found[near][face] = found[near].get(face, False) or says_face_only(label.text)
            texts.append(number)
    for view, said in zip(repeat.views, found, strict=True):
        layers = {face_of(parts[number].source.layer) for number in view.parts}
        if len(layers) == 1 and (face := layers.pop()) is not None:
            said[face] = True
    return texts, found


def _words(repeat: Repeat, faces: Sequence[dict[Face, bool]]) -> str:
    """Both faces named, or the back alone in words that mean nothing else; no face named for two views."""
    backs = [said["back"] for said in faces if "back" in said]
    fronts = [said["front"] for said in faces if "front" in said]
    if len(backs) != 1 or len(fronts) > 1 or any(len(said) > 1 for said in faces):
        return ""
    # "Front" and "Back" beside two equal parts are their names.
    sure = all(backs + fronts)
    return "their texts or layers name the faces" if sure or (fronts and repeat.different > 1) else ""


def _other_recesses(parts: Sequence[Part], repeat: Repeat) -> str:
    if repeat.different < 2:
        return ""
    return "they are mirrored, with other pockets or blind holes" if _recesses_differ(parts, repeat) else ""


def _recesses_differ(parts: Sequence[Part], repeat: Repeat) -> bool:
    """Whether views are mirror images through and through but for pockets and blind holes."""
    first, *others = repeat.views
    for view in others:
        pairs = list(zip(first.parts, view.parts, strict=True))
        through = [_unmatched(_through(parts[a]), _through(parts[b]), view.motion) for a, b in pairs]
        sunk = [_unmatched(_sunk(parts[a]), _sunk(parts[b]), view.motion) for a, b in pairs]
        if view.kind != "mirrored" or any(map(any, through)) or not any(map(any, sunk)):
            return False
    return True


def _own_borders(repeat: Repeat, boxes: Sequence[Bounds], borders: Sequence[Bounds]) -> str:
    homes = []
    for box in boxes:
        around = [
            number
            for number, (x0, y0, x1, y1) in enumerate(borders)
            if x0 - CHAIN <= box[0] and y0 - CHAIN <= box[1] and x1 + CHAIN >= box[2] and y1 + CHAIN >= box[3]
        ]
        homes.append(around)
    mirrored = all(view.kind == "mirrored" for view in repeat.views[1:])
    alone = all(homes) and not any(set(a) & set(b) for i, a in enumerate(homes) for b in homes[:i])
    return (
        "they are mirrored, in a border of their own" if mirrored and alone and repeat.different > 1 else ""
    )


def _chosen(parts: Sequence[Part], repeat: Repeat, faces: Sequence[dict[Face, bool]]) -> int:
    def rank(number: int) -> tuple[bool, bool, int, int]:
        sunk = sum(len(_sunk(parts[part])) for part in repeat.views[number].parts)
        return ("front" not in faces[number], "back" in faces[number], -sunk, number)

    return min(range(len(repeat.views)), key=rank)


def _through(part: Part) -> Floats:
    """Extents of openings and through holes, one row each."""
    bored = [bounds(circle(hole.centre, hole.diameter)) for hole in part.holes if hole.depth is None]
    return np.array([*map(bounds, part.openings), *bored], dtype=np.float64).reshape(-1, 4)


def _sunk(part: Part) -> Floats:
    """Extents of pockets and blind holes, one row each."""
    bored = [bounds(circle(hole.centre, hole.diameter)) for hole in part.holes if hole.depth is not None]
    sunk = [bounds(pocket.outline) for pocket in part.pockets]
    return np.array([*sunk, *bored], dtype=np.float64).reshape(-1, 4)


def _unmatched(a: Floats, b: Floats, motion: Motion) -> tuple[int, int]:
    """How many of the extents a are moved onto none of b, and how many of b are met by none of a."""
    meets = _meets(a, b, motion)
    return int((~meets.any(axis=1)).sum()), int((~meets.any(axis=0)).sum())


def _meets(a: Floats, b: Floats, motion: Motion) -> NDArray[np.bool_]:
    """Which of the extents a are moved onto which of b."""
    one, other = motion.applied(a[:, :2]), motion.applied(a[:, 2:])
    moved = np.hstack((np.minimum(one, other), np.maximum(one, other)))
    meets: NDArray[np.bool_] = np.abs(moved[:, None] - b[None]).max(axis=2, initial=0.0) <= 2 * CHAIN
    return meets


def _sunk_only_there(a: Part, b: Part, motion: Motion) -> list[str]:
    """The pockets and blind holes of b that a has not, in words."""
    boxes = _sunk(b)
    words = []
    for number in np.flatnonzero(~_meets(_sunk(a), boxes, motion).any(axis=0)):
        x0, y0, x1, y1 = boxes[number].tolist()
        kind = "pocket" if number < len(b.pockets) else "blind hole"
        size = f"{x1 - x0:.1f} x {y1 - y0:.1f}" if kind == "pocket" else f"{x1 - x0:.1f}"
        words.append(f"{kind} {size} at ({(x0 + x1) / 2:.1f}, {(y0 + y1) / 2:.1f})")
    return words


def _told(parts: Sequence[Part], repeat: Repeat, chosen: int, why: str, file: str) -> list[Finding]:
    findings = []
    kept = repeat.views[chosen]
    for number, view in enumerate(repeat.views):
        if number == chosen:
            continue
        motion = view.motion.after(kept.motion.inverse)
        pairs = [(parts[a], parts[b]) for a, b in zip(kept.parts, view.parts, strict=True)]
        loops = sum(_loops(part) for _, part in pairs)
        said = f"parts drawn again in another view of the sheet, not cut a second time ({why}): {len(pairs)}"
        remedy = f"If both are wanted, take those words or that border away, {_PICK}"
        findings.append(_finding("view-repeated", said, remedy, pairs[0][1], file, loops))
        only_there = [words for a, b in pairs for words in _sunk_only_there(a, b, motion)]
        if only_there:
            more = f" and {len(only_there) - _NAMED} more" if len(only_there) > _NAMED else ""
            named = ", ".join(only_there[:_NAMED]) + more
            said = f"pockets and blind holes drawn in the other view only belong to the other face: {named}"
            remedy = f"They are not cut. Cut that face from a program of its own, {_PICK}"
            findings.append(_finding("other-face", said, remedy, pairs[0][1], file, len(only_there)))
        through = [_unmatched(_through(a), _through(b), motion) for a, b in pairs]
        here, there = sum(a for a, _ in through), sum(b for _, b in through)
        if here or there:
            said = (
                f"openings and holes drawn in one view only: {here} in the one that is cut, {there} in the"
                f" other; what goes through shows on both faces"
            )
            remedy = "Give the layer of those that do not go through a depth"
            findings.append(_finding("seen-once", said, remedy, pairs[0][0], file, here + there))
    return findings


def _loops(part: Part) -> int:
    sunk = sum(1 + len(pocket.islands) for pocket in part.pockets)
    return 1 + len(part.openings) + len(part.holes) + sunk


def _asked(parts: Sequence[Part], repeat: Repeat, file: str) -> list[Finding]:
    # Two ends of a cabinet are mirrored and drilled differently too.
    if repeat.different < 2 and not _recesses_differ(parts, repeat):
        return []
    views = repeat.views
    how = "mirrored" if views[1].kind == "mirrored" else "shifted"
    first = parts[views[1].parts[0]]
    said = (
        f"{len(views[0].parts)} parts are drawn {len(views)} times in the same places, {how}: either"
        f" {len(views)} sets are wanted, or one sheet is drawn in {len(views)} views; all are cut"
    )
    remedy = (
        "If they are views, name the parts of one of them in [[part]] rows with at = [x, y], or draw the"
        ' others on a layer that means "ignore"'
    )
    return [_finding("views-unclear", said, remedy, first, file, len(views))]


def _finding(rule: str, said: str, remedy: str, part: Part, file: str, count: int) -> Finding:
    x, y, *_ = bounds(part.outline)
    return Finding(
        "warning",
        rule,
        f"{said}, at ({x:.2f}, {y:.2f})",
        remedy,
        x_mm=x,
        y_mm=y,
        file=file,
        layer=part.source.layer or None,
        entity=part.source.entity or None,
        count=count,
    )
