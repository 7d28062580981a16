"""Units: quantities in and out, conversion factors with their source, and nothing else.

Owns every parse and print of a quantity. Knows nothing of vehicles. Read ``model`` next.
"""

from steelyard.units.number import EitherNumberError, Marks, NumberError, pair_of, read_number
from steelyard.units.parse import EitherQuantityError, QuantityError, parse_quantity
from steelyard.units.quantity import Dimension, Quantity
from steelyard.units.show import at_most, format_number, round_to_uncertainty
from steelyard.units.system import UnitSystem
from steelyard.units.table import UNITS, Unit, units_of

__all__ = [
    "UNITS",
    "Dimension",
    "EitherNumberError",
    "EitherQuantityError",
    "Marks",
    "NumberError",
    "Quantity",
    "QuantityError",
    "Unit",
    "UnitSystem",
    "at_most",
    "format_number",
    "pair_of",
    "parse_quantity",
    "read_number",
    "round_to_uncertainty",
    "units_of",
]
