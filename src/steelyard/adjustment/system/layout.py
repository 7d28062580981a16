"""Positions in the joint system of a day's stances: rows of bodies and joints, outputs of loads."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.stances import Stance
from steelyard.statics import Joint


class Layout:
    """Rows and outputs of all stances. Level stances of all states come first, in file order.

    Attributes
    ----------
    level: the level stance of each state. number: the index of each stance.
    body_at: by stance, the first of the three rows of each vehicle.
    joint_at: by stance, the row of each trailer's joint. level_at: the row of each level (see ``Heights``).
    wheels_out, coupling_out, couple_out, tie_out: by stance, where the loads of each vehicle or trailer stand among the
    outputs.
    """

    def __init__(self, rig: Rig, stances: Sequence[Stance]) -> None:
        levels = [Stance(name) for name in rig.day.states]
        self.stances = levels + [stance for stance in dict.fromkeys(stances) if not stance.level]
        self.level = {name: index for index, name in enumerate(rig.day.states)}
        self.number = {stance: index for index, stance in enumerate(self.stances)}
        self.body_at: list[dict[str, int]] = []
        self.joint_at: list[dict[str, int]] = []
        self.wheels_out: list[dict[str, slice]] = []
        self.coupling_out: list[dict[str, int]] = []
        self.couple_out: list[dict[str, int]] = []
        self.tie_out: list[dict[str, int]] = []
        self.size = self.outputs = 0
        for stance in self.stances:
            self._add(rig, stance)
        self.level_at = {level: self._rows(1) for level in rig.heights.levels}

    def _add(self, rig: Rig, stance: Stance) -> None:
        vehicles, joints = rig.day.states[stance.state].vehicles, rig.joints[stance.state]
        self.body_at.append({name: self._rows(3) for name in vehicles})
        self.joint_at.append({joint.trailer: self._rows(1) for joint in joints})
        wheels: dict[str, slice] = {}
        for name in vehicles:
            first = self._out(rig.layouts[name].wheels)
            wheels[name] = slice(first, self.outputs)
        self.wheels_out.append(wheels)
        linked = [joint.trailer for joint in joints if joint.towing is not None]
        self.coupling_out.append({joint.trailer: self._out(1) for joint in joints})
        self.couple_out.append({trailer: self._out(1) for trailer in linked})
        self.tie_out.append({trailer: self._out(1) for trailer in linked})

    def _rows(self, count: int) -> int:
        first, self.size = self.size, self.size + count
        return first

    def _out(self, count: int) -> int:
        first, self.outputs = self.outputs, self.outputs + count
        return first

    def ends(self, index: int, joint: Joint) -> tuple[int, int]:
        """First rows of the trailer and of the towing vehicle of a joint, in one stance.

        Raises
        ------
        ValueError: the joint is a stand.
        """
        if joint.towing is None:
            raise ValueError("a stand has no towing vehicle")
        return self.body_at[index][joint.trailer], self.body_at[index][joint.towing]
