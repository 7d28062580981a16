"""Photographs of displays: their records in the weigh-day file, and the pictures that lie beside it."""

from steelyard.dayfile.photographs.beside import (
    Beside,
    PhotographFile,
    held_against,
    photograph_faults,
    photograph_files,
)
from steelyard.dayfile.photographs.record import photograph_values, plain_name, read_photographs

__all__ = [
    "Beside",
    "PhotographFile",
    "held_against",
    "photograph_faults",
    "photograph_files",
    "photograph_values",
    "plain_name",
    "read_photographs",
]
