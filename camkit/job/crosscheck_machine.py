"""Keys of [machine] that contradict each other or the cutters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from camkit.job.lines import KeyPath
from camkit.job.machine import Cutter, Machine

__all__ = ["machine_contradictions"]

Said = list[tuple[KeyPath, str, str]]


def machine_contradictions(machine: Machine, raw: Mapping[str, Any], cutters: Sequence[Cutter]) -> Said:
    """Where it stands, what is wrong and what to do; `raw` is the table as it was written."""
    return [
        *_words_left_out(machine, cutters),
        *_speeds(machine, cutters),
        *_blending(machine, raw),
        *_touching_off(machine),
    ]


def _words_left_out(machine: Machine, cutters: Sequence[Cutter]) -> Said:
    at: KeyPath = ("machine", "omit")
    if machine.takes("M6") and not machine.takes("T"):
        return [(at, "machine.omit: M6 changes to no cutter when T is left out", "Leave out M6 too")]
    if machine.drilling_cycles and not machine.takes("G80"):
        return [(at, "machine.omit: a drilling cycle is ended by G80", "Keep G80, or drop drilling_cycles")]
    silent = not (machine.takes("T") and machine.takes("M6"))
    if silent and machine.cutter_change == "automatic" and len(cutters) > 1:
        what = f"machine.omit: without T and M6 nothing changes the {len(cutters)} cutters by itself"
        return [(at, what, 'Write cutter_change = "stop", or keep T and M6')]
    return []


def _speeds(machine: Machine, cutters: Sequence[Cutter]) -> Said:
    speeds = sorted({cutter.speed for cutter in cutters})
    if not machine.speed_by_hand or machine.cutter_change != "automatic" or len(speeds) < 2:
        return []
    said = " and ".join(f"{speed:g}" for speed in speeds)
    what = f"machine.speed_by_hand: nobody sets the speed when cutters of {said} rev/min change by themselves"
    return [
        (("machine", "speed_by_hand"), what, 'Write cutter_change = "stop", or one speed for all cutters')
    ]


def _blending(machine: Machine, raw: Mapping[str, Any]) -> Said:
    if machine.path == "blended" or "path_deviation" not in raw:
        return []
    what = "machine.path_deviation has no meaning for an exact path"
    return [(("machine", "path_deviation"), what, 'Write path = "blended", or take it out')]


def _touching_off(machine: Machine) -> Said:
    spot, reach = machine.touch_off, machine.ranges()
    at: KeyPath = ("machine", "touch_off")
    if spot is None:
        return []
    if machine.cutter_change == "automatic":
        what = "machine.touch_off has no meaning where cutters change by themselves"
        return [(at, what, 'Take it out, or write cutter_change = "stop"')]
    if reach is not None and any(not low <= p <= high for p, (low, high) in zip(spot, reach, strict=False)):
        what = f"machine.touch_off: [{spot[0]:g}, {spot[1]:g}] lies beyond what the machine reaches"
        return [(at, what, "Choose a spot within travel")]
    return []
