"""Numbers as a person reads them: the uncertainty to two figures, the value to the same place.

Source: JCGM 100:2008 (GUM), 7.2.6: at most two significant digits of the standard uncertainty.
"""

from __future__ import annotations

import math

ROUNDING = 1e-12
"""An uncertainty under this share of its value is what the arithmetic leaves of nothing."""


def _places(u: float) -> int:
    """Decimal places that show ``u`` to two significant figures (negative: tens, hundreds)."""
    exponent = math.floor(math.log10(u))
    places = 1 - exponent
    # 0.0996 to two figures is 0.10: the rounding may carry into the next decade
    return places - 1 if round(u, places) >= 10.0 ** (exponent + 1) else places


def round_to_uncertainty(value: float, u: float) -> tuple[float, float, int]:
    """Round ``value`` to the place of the second figure of ``u``.

    Returns the rounded value, the rounded uncertainty, and the decimal places to print (0 or more). An uncertainty of
    zero, or one that is not finite, leaves the value to six significant figures; one that is rounding counts as zero.
    """
    u = 0.0 if 0.0 < u < ROUNDING * abs(value) else u
    if not math.isfinite(u) or u <= 0.0:
        places = max(0, 5 - math.floor(math.log10(abs(value)))) if value else 0
        return round(value, places), u, places
    places = _places(u)
    return round(value, places) + 0.0, round(u, places), max(0, places)


def at_most(value: float, figures: int = 6) -> float:
    """A bound to some significant figures, never above the bound itself but for the arithmetic's own rounding."""
    if value == 0.0 or not math.isfinite(value):
        return value + 0.0
    places = figures - 1 - math.floor(math.log10(abs(value)))
    # as text, so that what comes out is the number that is meant, not one a bit beside it
    whole = math.floor(value * 10.0**places * (1.0 + math.copysign(1e-9, value)))
    return float(f"{whole}e{-places}")


def format_number(value: float, places: int = 0) -> str:
    """A number with thin grouping of thousands and a true minus sign."""
    rounded = round(value, places) + 0.0  # no "-0"
    text = f"{abs(rounded):,.{max(0, places)}f}"
    return f"\N{MINUS SIGN}{text}" if rounded < 0 else text
