"""All measures of a program at once: would a machinist sign it?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from support import signed_features as features
from support import signed_holding as holding
from support import signed_paths as paths
from support.steps import Step, of_kind, steps
from support.trials import Piece, Trial

__all__ = ["Signed", "sign"]


@dataclass
class Signed:
    """Complaints by measure; `left` are leftovers in mm2, `tabs` the tabs of each piece."""

    complaints: dict[str, list[str]] = field(default_factory=dict)
    left: list[float] = field(default_factory=list)
    tabs: dict[str, list[holding.Held]] = field(default_factory=dict)
    changes: tuple[int, int] = (0, 0)

    def add(self, measure: str, said: list[str]) -> None:
        """Take complaints, if there are any."""
        if said:
            self.complaints.setdefault(measure, []).extend(said)


def sign(trial: Trial, texts: Sequence[str], pitch: float = 0.5) -> Signed:
    """Measure programs of one sheet in running order."""
    run = [step for text in texts for step in steps(text, trial.origin())]
    board, bites = paths.carved(trial, run, pitch)
    done = Signed()
    done.add("rapids", paths.rapids_in_wood(trial, run, bites))
    done.add("descents", paths.descents(trial, run, bites))
    for measure, said in paths.bites_too_deep(trial, bites, pitch):
        done.add(measure, [said])
    done.add("feeds", paths.feeds(trial, bites))
    lengths = {("PROFILE", p.name.upper()): p.outline.polygon().length for p in trial.pieces}
    lengths |= {
        ("OPENING", p.name.upper()): min(o.polygon().length for o in p.openings)
        for p in trial.pieces
        if p.openings
    }
    done.add("passes", paths.passes(trial, run, lengths))
    done.add("order", holding.order(trial, run, bites, board))
    done.changes = holding.changes(run)
    if done.changes[0] > done.changes[1]:
        done.add("changes", [f"the cutter changes {done.changes[0]} times, {done.changes[1]} are needed"])
    done.add("loose", holding.loose(trial, board, pitch))
    done.add("gouges", features.gouges(trial, board))
    for piece in trial.pieces:
        _outline(trial, run, piece, done)
        _openings(trial, run, piece, done)
        for pocket in piece.pockets:
            left, _ = features.left_over(trial, run, pocket.shape.polygon(), -pocket.depth)
            done.left.append(left)
            if left > 0.001:
                done.add("leftover", [f"{piece.name}: pocket {pocket.depth} keeps {left:.4f} mm2"])
        for hole in piece.holes:
            done.add("holes", features.holes(trial, run, hole))
    return done


def _climb(trial: Trial) -> bool:
    return bool(trial.machine.get("direction", "climb") == "climb")


def _outline(trial: Trial, run: list[Step], piece: Piece, done: Signed) -> None:
    own = [s for mark, its in of_kind(run, "PROFILE").items() if mark.part == piece.name.upper() for s in its]
    tools = {s.tool for s in own if s.word}
    if not own or len(tools) != 1:
        done.add("profile", [f"{piece.name}: outline cut by {sorted(tools)}"])
        return
    radius, shape = trial.row(tools.pop())["diameter"] / 2, piece.outline.polygon()
    done.add("line", paths.off_the_line(piece.name, own, shape, radius, trial.bottom, outside=True))
    at = paths.fed_points(own, trial.bottom - 1, -1e-3)
    done.add("side", paths.side(piece.name, at, shape, radius, climb=_climb(trial), outside=True))
    tabs = holding.held(trial, run, shape, radius, piece.outline.corners())
    done.tabs[piece.name] = tabs
    done.add("ridges", [f"{piece.name}: {r}" for r in holding.ridges(trial, run, shape, radius, tabs)])
    done.add("tabs", holding.tab_faults(trial, piece, tabs, 2 * radius))


def _openings(trial: Trial, run: list[Step], piece: Piece, done: Signed) -> None:
    cuts = [
        s for mark, its in of_kind(run, "OPENING").items() if mark.part == piece.name.upper() for s in its
    ]
    for k, opening in enumerate(piece.openings):
        shape, name = opening.polygon(), f"{piece.name}, opening {k + 1}"
        x0, y0, x1, y1 = shape.bounds
        own = [s for s in cuts if (s.points[:, :2].min(0) > (x0, y0)).all()
               and (s.points[:, :2].max(0) < (x1, y1)).all()]  # fmt: skip
        tools = {s.tool for s in own if s.word}
        if not tools:
            done.add("opening", [f"{name}: not cut"])
            continue
        least = min(trial.row(t)["diameter"] for t in tools) / 2
        if len(tools) == 1:
            done.add("line", paths.off_the_line(name, own, shape, least, trial.bottom, outside=False))
        for tool in tools:
            its = [s for s in own if s.tool == tool]
            at = paths.fed_points(its, trial.bottom - 1, -1e-3)
            radius = trial.row(tool)["diameter"] / 2
            done.add("side", paths.side(name, at, shape, radius, climb=_climb(trial), outside=False))
        rim = shape.difference(shape.buffer(-min(0.5, least)))
        left, _ = features.left_over(trial, run, shape, trial.bottom)
        tabs = holding.held(trial, run, shape, least, opening.corners(), outside=False)
        if not tabs and left > 0.001 + 1e-9:
            inner = features.swept_to(trial, run, trial.bottom, shape)
            reach = shape.buffer(-0.012).buffer(-least).buffer(least - 0.001)
            missing = reach.intersection(rim).difference(inner).area
            if missing > 0.001:
                done.add("leftover", [f"{name}: {missing:.4f} mm2 of its rim stay"])
        if tabs or left <= 0.001:
            found = holding.ridges(trial, run, shape, least, tabs, outside=False)
            done.add("ridges", [f"{name}: {r}" for r in found])
        for tab in tabs:
            if abs(tab.height - trial.tabs.get("height", 3.0)) > 0.005:
                done.add("tabs", [f"{name}: tab {tab.height:.3f} high at ({tab.x:.1f}, {tab.y:.1f})"])
