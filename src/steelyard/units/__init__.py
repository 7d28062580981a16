"""Units: quantities in and out, conversion factors with their source, and nothing else.

Owns every parse and print of a quantity. Knows nothing of vehicles. Read ``model`` next.
"""

from steelyard.units.parse import QuantityError, parse_quantity
from steelyard.units.quantity import Dimension, Quantity
from steelyard.units.show import format_number, format_with_uncertainty, round_to_uncertainty
from steelyard.units.system import UnitSystem
from steelyard.units.table import UNITS, Unit, units_of

__all__ = [
    "UNITS",
    "Dimension",
    "Quantity",
    "QuantityError",
    "Unit",
    "UnitSystem",
    "format_number",
    "format_with_uncertainty",
    "parse_quantity",
    "round_to_uncertainty",
    "units_of",
]
