"""Errors, in one shape for every reader: ``{"error": {"code", "message", "faults": [...]}}``."""

from __future__ import annotations

from dataclasses import dataclass
from http import HTTPStatus
from typing import Annotated, Any

from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse

from steelyard.dayfile import DayFileError, Fault
from steelyard.questions.faults import FaultShape, fault_shapes
from steelyard.questions.shape import to_json
from steelyard.store import Reason, StoreError
from steelyard.web.station.failed import FailedError, unforeseen
from steelyard.web.station.refused import GoneError, Refusal, RefusalError

_STORE = {
    Reason.NO_SUCH_DAY: (404, "no_such_day"),
    Reason.NO_SUCH_DRAFT: (404, "no_such_draft"),
    Reason.NOT_IN_THE_YARD: (404, "not_in_the_yard"),
    Reason.CONFLICT: (409, "conflict"),
    Reason.MOVED_ON: (412, "moved_on"),
    Reason.DAY_FULL: (409, "day_full"),
    Reason.REFUSED: (422, "refused"),
    Reason.FULL_DISK: (507, "full_disk"),
    Reason.READ_ONLY: (503, "read_only"),
    Reason.NOT_ALLOWED: (403, "role_may_not"),
    Reason.BUSY: (503, "busy"),
    Reason.UNREACHABLE: (503, "unreachable"),
    Reason.NEWER: (503, "newer_store"),
    Reason.OLDER: (503, "older_store"),
    Reason.NOT_A_STORE: (503, "not_a_store"),
    Reason.BROKEN: (503, "broken_store"),
}

_REFUSED = {
    Refusal.NO_KEY: 422,
    Refusal.NO_NAME: 422,
    Refusal.KEY_TAKEN: 409,
    Refusal.STILL_RECKONING: 504,
    Refusal.TOO_MANY_LISTENERS: 503,
    Refusal.NO_SUCH_PATTERN: 422,
    Refusal.NO_SUCH_INDICATOR: 404,
    Refusal.GIVEN_AT_START: 409,
    Refusal.PAD_TAKEN: 409,
    Refusal.CANNOT_BE: 422,
    Refusal.TEACHES_NOTHING: 422,
    Refusal.ANOTHER_VEHICLE: 409,
    Refusal.SWEEP_FAILED: 503,
    Refusal.PLAN_CANNOT_BE: 422,
    Refusal.PLAN_LATE: 504,
    Refusal.PLAN_BUSY: 503,
    Refusal.PLAN_GONE: 503,
    Refusal.CANNOT_SEAL: 422,
    Refusal.WRONG_PASS_PHRASE: 422,
    Refusal.NO_SUCH_SEAL: 404,
    Refusal.NOT_AS_SEALED: 409,
}

_HTTP = {
    400: ("bad_request", "the request cannot be read"),
    401: ("who_are_you", "this address needs a session or a token"),
    403: ("forbidden", "this device may not do that"),
    404: ("not_found", "there is nothing at this address"),
    405: ("wrong_method", "nothing here answers this kind of request"),
    413: ("too_large", "the request is too large"),
}


@dataclass(frozen=True, slots=True)
class RefusalShape:
    """The error, for programs and for people."""

    code: Annotated[str, "For programs; does not change."]
    message: Annotated[str, "For people."]
    faults: tuple[FaultShape, ...]


@dataclass(frozen=True, slots=True)
class ErrorShape:
    """Every error has this shape."""

    error: RefusalShape


class Problem(Exception):  # noqa: N818 - it is an answer, not an error of the program
    """An answer that is not the one hoped for; ``status`` is the HTTP status, ``code`` for programs."""

    def __init__(
        self,
        status: int,
        code: str,
        message: str,
        *,
        faults: tuple[Fault, ...] = (),
        headers: dict[str, str] | None = None,
    ) -> None:
        self.status = status
        self.code = code
        self.message = message
        self.faults = faults
        self.headers = headers
        super().__init__(message)

    def to_data(self) -> dict[str, Any]:
        """The shape in which every error of the interface comes."""
        return to_json(ErrorShape(RefusalShape(self.code, self.message, fault_shapes(self.faults))))

    def to_response(self) -> JSONResponse:
        """The answer to a program."""
        return JSONResponse(self.to_data(), self.status, headers=self.headers)


def problem_of(error: Exception) -> Problem:
    """Any exception as a problem; one that nobody foresaw says nothing of the inside."""
    if isinstance(error, Problem):
        return error
    if isinstance(error, StoreError):
        status, code = _STORE[error.reason]
        headers = {"retry-after": "2"} if error.reason in (Reason.UNREACHABLE, Reason.BUSY) else None
        return Problem(status, code, str(error), headers=headers)
    if isinstance(error, DayFileError):
        return Problem(422, "faults", _first_fault(error.faults), faults=error.faults)
    if isinstance(error, RefusalError):
        headers = None if error.wait is None else {"retry-after": str(error.wait)}
        return Problem(_REFUSED[error.refusal], error.refusal.value, error.message, headers=headers)
    if isinstance(error, GoneError):
        message = (
            "the findings could not be computed: the process that computes them stopped, perhaps for want of memory; "
            "every draft is kept, ask for them again"
        )
        return Problem(503, "reckoning_failed", message, headers={"retry-after": "5"})
    if isinstance(error, HTTPException):
        code, message = _HTTP.get(error.status_code, ("error", HTTPStatus(error.status_code).phrase))
        headers = dict(error.headers) if error.headers else None
        return Problem(error.status_code, code, message, headers=headers)
    if isinstance(error, FailedError):
        return Problem(422, "not_worked_out", str(error))
    return Problem(500, "internal", unforeseen(error))


def _first_fault(faults: tuple[Fault, ...]) -> str:
    if not faults:
        return "the weigh day has a fault"
    first = faults[0]
    said = ": ".join(part for part in (first.path, first.value, first.message) if part)
    more = len(faults) - 1
    return said if more == 0 else f"{said} (and {more} further {'fault' if more == 1 else 'faults'})"
