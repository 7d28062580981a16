"""Readings of a reference scale as masses, by the gravity of its place.

A scale that was verified elsewhere shows masses by the gravity of that place. Source: GRS 80, as in the adjustment.
"""

from __future__ import annotations

from dataclasses import replace

from steelyard.adjustment import normal_gravity
from steelyard.model import LoadStep, LoadTest, VerificationPlace
from steelyard.units import Quantity


def factor_of(test: LoadTest, place: VerificationPlace) -> float:
    """The mass of a load over what the reference shows of it [1]; 1 for masses and where a latitude is missing."""
    if test.reference_latitude is None or place.latitude is None:
        return 1.0
    there = normal_gravity(test.reference_latitude.value, _height(test.reference_elevation))
    return there / normal_gravity(place.latitude.value, _height(place.elevation))


def corrected(test: LoadTest, place: VerificationPlace) -> tuple[LoadStep, ...]:
    """The steps of a test with the masses that its loads are [kg]."""
    factor = factor_of(test, place)
    return tuple(replace(step, load=step.load * factor) for step in test.steps)


def _height(elevation: Quantity | None) -> float:
    return 0.0 if elevation is None else elevation.value
