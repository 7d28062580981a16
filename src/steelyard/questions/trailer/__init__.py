"""How heavy a trailer may be, from the towing vehicle alone as it was weighed."""

from steelyard.questions.trailer.largest import HitchedTrailer, TrailerAnswer, how_much_trailer, trailer_to_data
from steelyard.questions.trailer.towing import tow_limits

__all__ = ["HitchedTrailer", "TrailerAnswer", "how_much_trailer", "tow_limits", "trailer_to_data"]
