"""The part of the equations of all stances that no estimate changes: who pulls on whom, and by which unknown.

Each stance of a day has three rows a body (balance of load, pitch and roll) and one a joint (its gap). A template holds
their constant coefficients, the unknowns that enter linearly, and the few coefficients that are the place of a coupling
or the stiffness of a roll tie times a factor.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from steelyard.adjustment.system.aboard import Aboard
from steelyard.adjustment.system.heights import Equation, Hold, Motion
from steelyard.adjustment.system.joint_outputs import JointOutputs
from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.loads import CargoLoad, changes
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.stances import Stance
from steelyard.adjustment.system.unknowns import Array, Term
from steelyard.statics import Joint, Lift


class Template:
    """``A X + L unknowns = constant + (cargo, supports, slope)``, without what geometry and stiffness put into ``A``.

    Attributes
    ----------
    matrix: ``A``, shape (rows, rows). by_unknown: ``L``, shape (rows, unknowns). constant: shape (rows,).
    places, ties: by joint, the factors of a coupling's place [m] or a tie's stiffness [kg*m/rad] in ``A``, each of
    shape (rows, rows).
    scaling: of ``A`` and of its inverse, each of shape (rows, rows); None until first asked for.
    cargo: what comes aboard (+1) or goes (-1), with the first row of the body it acts on; aboard: all of it at once.
    ends: the loads at their couplings.
    """

    def __init__(self, rig: Rig, layout: Layout, lifts: Mapping[str, Lift]) -> None:
        self._layout = layout
        self._rig = rig
        self.matrix = np.zeros((layout.size, layout.size))
        self.by_unknown = np.zeros((layout.size, len(rig.unknowns)))
        self.constant = np.zeros(layout.size)
        self.places: dict[Joint, Array] = {}
        self.ties: dict[Joint, Array] = {}
        self.scaling: tuple[Array, Array] | None = None
        self.cargo: list[tuple[int, float, CargoLoad]] = []
        for index, stance in enumerate(layout.stances):
            self._balance(index, stance)
            off = lifts[stance.state].stands if stance.state in lifts else frozenset[str]()
            for joint in self._rig.joints[stance.state]:
                self._hold(index, stance, joint, lifted=joint.trailer in off)
        for level, equation in self._rig.heights.levels.items():
            self._equate(layout.level_at[level], level.trailer, equation, level.hold)
        self.aboard = Aboard(self.cargo, layout.size, len(rig.unknowns))
        self.ends = JointOutputs(rig, layout)

    def _factors(self, of: dict[Joint, Array], joint: Joint) -> Array:
        """The factors of a joint's quantity, to be added to."""
        if joint not in of:
            of[joint] = np.zeros_like(self.matrix)
        return of[joint]

    # -- balance of each body ---------------------------------------------------------------------------------------

    def _balance(self, index: int, stance: Stance) -> None:
        state = self._rig.day.states[stance.state]
        for name, row in self._layout.body_at[index].items():
            reference = self._layout.level[self._rig.reference[name]]
            self._joints_on(row, name, index, 1.0)
            self._joints_on(row, name, reference, -1.0)
            if name in self._layout.joint_at[reference]:
                # its own coupling load there is an unknown of its own, not the outcome of another body's equations
                self.matrix[row, self._layout.joint_at[reference][name]] += 1.0
                self.by_unknown[row, self._rig.coupling_at[name]] -= 1.0
            then = self._rig.aboard[self._rig.reference[name]]
            self.cargo.extend((row, sign, load) for sign, load in changes(self._rig.aboard[state.id], then, name))
            self.cargo.extend((row, 1.0, load) for load in self._rig.drifted(stance, name))
            self.cargo.extend((row, 1.0, load) for load in self._rig.decks_on(stance, name))

    def _joints_on(self, row: int, vehicle: str, index: int, sign: float) -> None:
        """Write the joint loads of stance ``index`` on ``vehicle`` into the equations at ``row``."""
        for joint in self._rig.joints[self._layout.stances[index].state]:
            if vehicle not in (joint.trailer, joint.towing):
                continue
            side = sign if vehicle == joint.trailer else -sign
            column = self._layout.joint_at[index][joint.trailer]
            self.matrix[row, column] += side
            if vehicle == joint.towing:
                self._factors(self.places, joint)[row + 1, column] += side
            if joint.towing is not None:
                self._couple(row + 1, index, joint, -side)
                if self._layout.stances[index].deck(joint.trailer) is None:  # what rests on a plate is not held in roll
                    self._tie(row + 2, index, joint, side)

    def _couple(self, row: int, index: int, joint: Joint, factor: float) -> None:
        """The weight-distributing couple: that of its root state, less what the bars give as the rig bends."""
        root = self._rig.couple_root(self._layout.stances[index].state, joint.trailer)
        if root is None:
            return
        self._term(row, self._rig.couples[root, joint.trailer], factor)
        level = self._layout.level[root]
        if joint.bars and level != index:
            for at, sign in ((index, 1.0), (level, -1.0)):
                trailer, towing = self._layout.ends(at, joint)
                self.matrix[row, trailer + 1] -= factor * sign * joint.bars
                self.matrix[row, towing + 1] += factor * sign * joint.bars

    def _tie(self, row: int, index: int, joint: Joint, factor: float) -> None:
        """The roll tie of a fifth wheel: what was latched in, and its stiffness on the difference in roll."""
        if not joint.tie:
            return
        self.by_unknown[row, self._rig.latched(joint)] += factor
        trailer, towing = self._layout.ends(index, joint)
        ties = self._factors(self.ties, joint)
        ties[row, trailer + 2] += factor
        ties[row, towing + 2] -= factor
        ties[row, self._layout.level_at[self._rig.twist_of(self._layout.stances[index].state, joint)]] -= factor

    def _term(self, row: int, term: Term, factor: float) -> None:
        """A number that enters linearly: exact or an unknown."""
        if term.index is None:
            self.constant[row] -= factor * term.value
        else:
            self.by_unknown[row, term.index] += factor

    def _ahead(self, row: int, body: int, trailer: str, hold: tuple[str, str], motion: Motion, factor: float) -> None:
        """How the vehicle in front stands, whatever hangs on it: how low its coupling is, or how far it rolls."""
        if motion is Motion.FRONT_ROLL:
            self.matrix[row, body + 2] += factor
            return
        self.matrix[row, body] += factor
        self._factors(self.places, self._rig.joint_on(hold, trailer))[row, body + 1] += factor

    # -- couplings and stands ---------------------------------------------------------------------------------------

    def _gap(self, row: int, index: int, joint: Joint, sign: float) -> None:
        """How far the coupling point sinks against what holds it: trailer minus towing, or minus the ground."""
        self.matrix[row, self._layout.body_at[index][joint.trailer]] += sign
        if joint.towing is not None:
            _, towing = self._layout.ends(index, joint)
            self.matrix[row, towing] -= sign
            self._factors(self.places, joint)[row, towing + 1] -= sign

    def _hold(self, index: int, stance: Stance, joint: Joint, *, lifted: bool) -> None:
        row = self._layout.joint_at[index][joint.trailer]
        if lifted:
            self.matrix[row, row] += 1.0
            return
        if not stance.level:
            self._gap(row, index, joint, 1.0)
            self._gap(row, self._layout.level[stance.state], joint, -1.0)
            deck = stance.deck(joint.trailer)
            if deck is not None:
                self._term(row, self._rig.pad_height(deck), 1.0)
            return
        self._equate(row, joint.trailer, self._rig.heights.holds[stance.state, joint.trailer])

    def _equate(self, row: int, trailer: str, equation: Equation, hold: Hold = None) -> None:
        """An equation between the heights of coupling points, or their twists."""
        for motion, state, factor in equation.motions:
            body_at = self._layout.body_at[self._layout.level[state]]
            match motion:
                case Motion.SINK:
                    self.matrix[row, body_at[trailer]] += factor
                case Motion.GAP:
                    self._gap(row, self._layout.level[state], self._rig.joint_of(state, trailer), factor)
                case Motion.TWIST:
                    behind, ahead = self._layout.ends(self._layout.level[state], self._rig.joint_of(state, trailer))
                    self.matrix[row, behind + 2] += factor
                    self.matrix[row, ahead + 2] -= factor
                case Motion.ROLL:
                    self.matrix[row, body_at[trailer] + 2] += factor
                case Motion.FRONT | Motion.FRONT_ROLL if hold is not None:
                    self._ahead(row, body_at[hold[0]], trailer, hold, motion, factor)
                case _:
                    raise ValueError(f"{motion} needs a coupling")
        for level, factor in equation.levels:
            self.matrix[row, self._layout.level_at[level]] += factor
        for term, factor in equation.terms:
            self._term(row, term, factor)
