"""Refusals of the station, with the reason in words; ``http/problem.py`` turns each into an answer with a status."""

from __future__ import annotations

from enum import Enum


class Refusal(Enum):
    """Why something is refused. The value is for programs and does not change."""

    NO_KEY = "no_key"
    NO_NAME = "no_name"
    KEY_TAKEN = "key_taken"
    STILL_RECKONING = "reckoning"
    TOO_MANY_LISTENERS = "too_many_listeners"
    NO_SUCH_PATTERN = "no_such_pattern"
    NO_SUCH_INDICATOR = "no_such_indicator"
    GIVEN_AT_START = "given_at_start"
    PAD_TAKEN = "pad_taken"
    CANNOT_BE = "cannot_be"
    TEACHES_NOTHING = "teaches_nothing"
    ANOTHER_VEHICLE = "another_vehicle"
    SWEEP_FAILED = "sweep_failed"
    PLAN_CANNOT_BE = "plan_cannot_be"
    PLAN_LATE = "plan_late"
    PLAN_BUSY = "plan_busy"
    PLAN_GONE = "plan_gone"
    CANNOT_SEAL = "cannot_seal"
    WRONG_PASS_PHRASE = "wrong_pass_phrase"  # noqa: S105 - a code for programs
    NO_SUCH_SEAL = "no_such_seal"
    NOT_AS_SEALED = "not_as_sealed"


class RefusalError(RuntimeError):
    """Something cannot be done; the message says why and what would be right.

    ``wait``: after how many seconds it makes sense to try again; None where trying again changes nothing.
    """

    def __init__(self, refusal: Refusal, message: str, wait: int | None = None) -> None:
        super().__init__(refusal, message, wait)  # all of it, so that it goes over to another process
        self.refusal, self.message, self.wait = refusal, message, wait

    def __str__(self) -> str:
        """The message."""
        return self.message


class GoneError(RuntimeError):
    """A process that works something out died of it; or the station is closing."""
