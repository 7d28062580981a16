"""Loads at the couplings of all stances: linear in the motion of the bodies, but for the stiffness of a roll tie."""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.unknowns import Array
from steelyard.statics import Joint


class JointOutputs:
    """Where coupling loads, couples and roll ties stand among the outputs, and what makes them."""

    def __init__(self, rig: Rig, layout: Layout) -> None:
        self._rig, self._layout = rig, layout
        shape = layout.outputs, layout.size
        self._motion, self._linear = np.zeros(shape), np.zeros((layout.outputs, len(rig.unknowns)))
        self._constant = np.zeros(layout.outputs)
        self._out: list[int] = []
        self._ties: list[tuple[int, Joint, Array]] = []
        for index, stance in enumerate(layout.stances):
            for trailer, out in layout.coupling_out[index].items():
                self._out.append(out)
                self._motion[out, layout.joint_at[index][trailer]] = 1.0
            for joint in rig.joints[stance.state]:
                if joint.towing is not None:
                    self._couple(index, joint)
                    self._tie(index, joint)
        self._motion, self._linear = self._motion[self._out], self._linear[self._out]
        self._constant = self._constant[self._out]
        self._at = np.array(self._out, dtype=int)

    def _couple(self, index: int, joint: Joint) -> None:
        """The weight-distributing couple: that of its root state, less what the bars give as the rig bends."""
        layout = self._layout
        root = self._rig.couple_root(layout.stances[index].state, joint.trailer)
        if root is None:
            return
        out = layout.couple_out[index][joint.trailer]
        self._out.append(out)
        term = self._rig.couples[root, joint.trailer]
        if term.index is None:
            self._constant[out] = term.value
        else:
            self._linear[out, term.index] = 1.0
        for at, sign in ((index, 1.0), (layout.level[root], -1.0)) if joint.bars else ():
            trailer, towing = layout.ends(at, joint)
            self._motion[out, trailer + 1] -= sign * joint.bars
            self._motion[out, towing + 1] += sign * joint.bars

    def _tie(self, index: int, joint: Joint) -> None:
        layout, stance = self._layout, self._layout.stances[index]
        if not joint.tie or stance.deck(joint.trailer) is not None:
            return
        trailer, towing = layout.ends(index, joint)
        roll = np.zeros(layout.size)
        roll[trailer + 2] += 1.0
        roll[towing + 2] -= 1.0
        roll[layout.level_at[self._rig.twist_of(stance.state, joint)]] -= 1.0
        self._ties.append((layout.tie_out[index][joint.trailer], joint, roll))

    def put(self, unknowns: Array, found: Array, by_unknown: Array, values: Array, jacobian: Array) -> None:
        """Write the loads at the motion ``found``, shape (rows,), and their derivatives.

        ``by_unknown`` are those of the motion, shape (rows, unknowns).
        """
        values[self._at] = self._constant + self._motion @ found + self._linear @ unknowns
        jacobian[self._at] = self._motion @ by_unknown + self._linear
        for out, joint, roll in self._ties:
            latched, at, rate = self._rig.latched(joint), self._rig.tie_at(joint), self._rig.tie(joint, unknowns)
            made = rate * float(roll @ found)
            values[out] = unknowns[latched] + made
            jacobian[out] = rate * (roll @ by_unknown)
            jacobian[out, latched] += 1.0
            if at is not None:
                jacobian[out, at] += made
