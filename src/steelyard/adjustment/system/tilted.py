"""A rigid vehicle on two supports, tilted: how its weight divides. Exact, for any angle.

Source: moments about the contact of one support; with the rear raised and both supports at the radius ``r`` this is the
formula of ISO 10392, ``h = r + L (m_front_raised - m_front) / (m tan(theta))``.
"""

from __future__ import annotations

import math

from steelyard.classes import dataclass


@dataclass(frozen=True, slots=True)
class Supports:
    """Front and rear support of a vehicle in its level position [m]: where the upward force passes.

    A wheel carries at its centre, whatever the angle; a coupling point carries at itself.
    ``x`` is rearward, ``z`` the height above the ground.
    """

    front_x: float
    front_z: float
    rear_x: float
    rear_z: float

    @property
    def base(self) -> float:
        """Distance of the two along the vehicle [m]."""
        return self.rear_x - self.front_x

    def angle(self, rise: float) -> float:
        """The angle [rad] by which the vehicle turns where its rear rises by ``rise`` [m] more than its front.

        Raises
        ------
        ValueError: the rise is more than the distance of the supports.
        """
        across = self.rear_z - self.front_z
        length = math.hypot(self.base, across)
        if abs(across + rise) >= length:
            raise ValueError(f"a rise of {rise:g} m is more than supports {length:g} m apart allow")
        return math.asin((across + rise) / length) - math.asin(across / length)

    def rear_share(self, angle: float, *, x: float, z: float) -> float:
        """The rear support's share of the weight [1] with the centre of gravity at ``x`` and ``z`` [m], level."""
        cosine, sine = math.cos(angle), math.sin(angle)
        arm = (x - self.front_x) * cosine - (z - self.front_z) * sine
        return arm / (self.base * cosine - (self.rear_z - self.front_z) * sine)

    def tipping(self, *, x: float, z: float, rear_up: bool) -> float:
        """The angle [rad] at which the centre of gravity stands over the lower support and the raised end floats."""
        if rear_up:
            return math.atan2(x - self.front_x, max(z - self.front_z, 1e-9))
        return math.atan2(self.rear_x - x, max(z - self.rear_z, 1e-9))
