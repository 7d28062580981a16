"""The values D, Dc and V that UN Regulation 55 marks on couplings, from the masses that they hold together.

Source: UN Regulation No. 55, 01 series of amendments, the formulas as three technical texts agree on them; its own
pages of formulas could not be read. The regulation takes 9.81 m/s2 for gravity.
"""

from __future__ import annotations

from collections.abc import Callable

from steelyard.classes import dataclass

GRAVITY = 9.81
"""Acceleration of gravity that the regulation takes [m/s2], not standard gravity."""

AIR, STEEL = 1.8, 2.4
"""Vertical acceleration at the coupling [m/s2]: with air suspension, or the like, on the driven axle, and without."""


@dataclass(frozen=True, slots=True)
class Force:
    """A horizontal force [N] and its derivatives [N/kg] by the masses that it follows from."""

    value: float
    by_towing: float
    by_trailer: float
    by_imposed: float


def ball_force(*, towing: float, trailer: float, imposed: float) -> Force:
    """D of balls and coupling heads, ``g T R / (T + R)``.

    ``towing``: mass T of the towing vehicle with the load on its coupling [kg]; ``trailer``: mass R of the trailer with
    the part that it puts there; ``imposed``: that part, which D does not ask for.

    Raises
    ------
    ZeroDivisionError: nothing weighs anything.
    """
    del imposed
    both = towing + trailer
    value = GRAVITY * towing * trailer / both
    return Force(value, GRAVITY * (trailer / both) ** 2, GRAVITY * (towing / both) ** 2, 0.0)


def rigid_force(*, towing: float, trailer: float, imposed: float) -> Force:
    """Dc of couplings for rigid drawbars, ``g T C / (T + C)``, where C is what the trailer's axles carry [kg].

    Raises
    ------
    ZeroDivisionError: nothing weighs anything.
    """
    found = ball_force(towing=towing, trailer=trailer - imposed, imposed=imposed)
    return Force(found.value, found.by_towing, found.by_trailer, -found.by_trailer)


def fifth_wheel_force(*, towing: float, trailer: float, imposed: float) -> Force:
    """D of fifth wheels and kingpins, ``0.6 g T R / (T + R - U)``, where U is the load on the fifth wheel [kg].

    Raises
    ------
    ZeroDivisionError: nothing weighs anything.
    """
    road = towing + trailer - imposed
    share = 0.6 * GRAVITY / road
    value = share * towing * trailer
    return Force(
        value,
        share * trailer * (trailer - imposed) / road,
        share * towing * (towing - imposed) / road,
        value / road,
    )


def coupling_force(symbol: str, *, fifth_wheel: bool) -> Callable[..., Force]:
    """The formula of ``d`` or ``dc``; it takes ``towing``, ``trailer`` and ``imposed`` [kg] as the three above."""
    if symbol == "dc":
        return rigid_force
    return fifth_wheel_force if fifth_wheel else ball_force


def vertical_force(*, axles: float, length: float, drawbar: float, air: bool) -> float:
    """V of couplings for centre-axle trailers [N], ``a C X^2 / L^2`` with ``X^2 / L^2`` at least 1.

    ``axles``: what the trailer's axles carry, C [kg]; ``length``: of its load, X [m]; ``drawbar``: from the coupling
    point to the middle of its axles, L [m].
    """
    return axles * vertical_acceleration(length=length, drawbar=drawbar, air=air)


def vertical_acceleration(*, length: float, drawbar: float, air: bool) -> float:
    """``a X^2 / L^2`` of ``vertical_force`` [m/s2]."""
    return (AIR if air else STEEL) * max((length / drawbar) ** 2, 1.0)


def largest_trailer(*, d: float, towing: float) -> float | None:
    """The heaviest trailer [kg] that a coupling of strength ``d`` [N] takes by D behind ``towing`` [kg].

    None where no trailer is too heavy: D never reaches the weight of the towing vehicle.
    """
    weight = GRAVITY * towing
    return d * towing / (weight - d) if weight > d else None
