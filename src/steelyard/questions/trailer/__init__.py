"""``trailer``: how heavy a trailer may be."""

from steelyard.questions.trailer.largest import HitchedTrailer, TrailerAnswer, how_much_trailer
from steelyard.questions.trailer.question import TRAILER, TrailerQuestion
from steelyard.questions.trailer.towing import tow_limits

__all__ = ["TRAILER", "HitchedTrailer", "TrailerAnswer", "TrailerQuestion", "how_much_trailer", "tow_limits"]
