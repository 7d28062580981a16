"""The seal on a ticket: its code, the words beside it, and the files that the PDF carries.

The same seal is printed as a code and attached, so that it can be checked from paper and from the file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from steelyard.report.print.code import QUIET, printed_code
from steelyard.report.print.making import Making, OwnRules
from steelyard.report.words.grid import listed
from steelyard.seals.carrier import MODULE_MM
from steelyard.seals.figures import each_figure
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.record import SealRecord
from steelyard.seals.sealing import DayToSeal, Seal, findings_file
from steelyard.seals.stamp import REPLY_NAME

FINDINGS_NAME, DAY_NAME, SEAL_NAME, MAKING_NAME = "findings.json", "day.toml", "seal.cose", "making.json"
"""Names of the attached files."""

SHOWS = """The holder of the key with this fingerprint put these figures, every reading and the weigh-day file under one
signature. If a single digit of them is changed, the signature no longer fits."""
SHOWS_NOT = """It does not say who holds the key: compare the fingerprint with one that the weigher gave you or has
published, not with this page alone. It does not say that the pads read right or stood right. It does not prove the
time, which the weigher's own clock gave. It does not say that this ticket belongs to the rig before you: compare plate
and serial number. For trade or a court, have the rig weighed on a licensed scale."""
CHECK = """Give this file or a picture of the code to the command “steelyard authenticate”, or to the page that
“steelyard authenticate --page” writes; both work without a network."""
"""The words of the page: the limits of a seal, and how to check one."""

_FROM_PAPER = "From paper, compare every figure that the check prints with the one on this ticket."
_NOTHING_FROM_PAPER = "From paper nothing can be compared, because the code has no room for figures: check the file."

_LEFT_OUT = (
    (),
    ("wheels",),
    ("wheels", "axles"),
    ("wheels", "axles", "couplings"),
    ("wheels", "axles", "couplings", "gross masses"),
)
_CARRIED = ("gross masses", "couplings", "axles", "wheels")


class SealMismatchError(ValueError):
    """A seal that belongs to another day or file than what it would be printed on; the message says which."""


@dataclass(frozen=True, slots=True)
class SealToPrint:
    """A seal and what goes into the file with it.

    Attributes
    ----------
    findings_json: the published findings that were sealed. day_file: the bytes of the weigh-day file.
    day_name: what that file is called. rules: rule sets of the user's own that the findings were made with.
    stamp: the reply of a time-stamping authority about this seal; None without one.

    Raises
    ------
    SealMismatchError: the day file is not the one that was sealed.
    """

    seal: Seal
    findings_json: bytes
    day_file: bytes
    day_name: str
    rules: tuple[OwnRules, ...] = ()
    stamp: bytes | None = None

    def __post_init__(self) -> None:
        if hashlib.sha256(self.day_file).digest() != self.seal.record.day_file:
            raise SealMismatchError(f"{self.day_name}: is not the file that was sealed")


def seal_to_print(seal: Seal, content: DayToSeal, day_name: str, rules: Sequence[OwnRules] = ()) -> SealToPrint:
    """A seal with the findings and the file that were sealed."""
    return SealToPrint(seal, findings_file(content), content.day_file, day_name, tuple(rules))


@dataclass(frozen=True, slots=True)
class AttachedFile:
    """A file that the PDF carries. ``relationship``: as PDF/A-3 calls it (ISO 19005-3, annex E)."""

    name: str
    data: bytes
    relationship: str
    mime: str
    description: str

    @property
    def told(self) -> dict[str, str]:
        """Everything about the file but its bytes, for the template."""
        told = {"name": self.name, "relationship": self.relationship}
        return {**told, "mime": self.mime, "description": self.description}


def attachments(printed: SealToPrint, making: Making) -> tuple[AttachedFile, ...]:
    """The findings, the weigh-day file, the seal, how the page was made, and the time stamp if there is one."""
    stamped = (
        ()
        if printed.stamp is None
        else (
            AttachedFile(
                REPLY_NAME,
                printed.stamp,
                "supplement",
                "application/timestamp-reply",
                "A time stamp of the seal by an authority (RFC 3161); not sealed.",
            ),
        )
    )
    return (
        AttachedFile(
            FINDINGS_NAME,
            printed.findings_json,
            "data",
            "application/json",
            "The findings as the program publishes them; their digest is sealed.",
        ),
        AttachedFile(
            DAY_NAME,
            printed.day_file,
            "source",
            "application/toml",
            f"The weigh-day file {printed.day_name}, byte for byte; its digest is sealed.",
        ),
        AttachedFile(
            SEAL_NAME,
            printed.seal.data,
            "supplement",
            "application/cose",
            "The seal, COSE_Sign1; the code on the page carries the same.",
        ),
        AttachedFile(
            MAKING_NAME,
            making.to_json(),
            "supplement",
            "application/json",
            "How this page was made, so that it can be made again and compared; not sealed.",
        ),
        *stamped,
    )


def seal_content(printed: SealToPrint) -> tuple[dict[str, object], str]:
    """Everything about the seal that the page says, and the drawing of its code."""
    record, code = printed.seal.record, printed_code(printed.seal.text)
    head = printed.seal.text.partition(":")[0]
    content: dict[str, object] = {
        "facts": [
            {"name": "fingerprint of the key", "value": fingerprint_of(record.public), "note": ""},
            {"name": "running number", "value": f"{record.number:,}", "note": _before(record)},
            {"name": "sealed", "value": f"{record.when:%Y-%m-%d %H:%M:%S} UTC", "note": "by the weigher's clock"},
            {"name": "carried by the code", "value": _figures(record), "note": _without(record)},
        ],
        "paragraphs": [
            {"head": "What it shows.", "text": _line(SHOWS)},
            {"head": "What it does not show.", "text": _line(SHOWS_NOT)},
            {
                "head": "How to check it.",
                "text": f"{_line(CHECK)} {_FROM_PAPER if record.figures else _NOTHING_FROM_PAPER}",
            },
        ],
        "side": code.side,
        "quiet": QUIET * MODULE_MM,
        "alt": (
            f"QR code of version {code.version} that carries the seal. It begins with {head}. "
            f"The attached file {SEAL_NAME} holds the same seal."
        ),
    }
    return content, code.svg


def _before(record: SealRecord) -> str:
    """The place among the weigher's seals."""
    if record.previous is None:
        return "the first seal of this key"
    return f"next after seal {record.number - 1:,} with the digest {record.previous.hex()[:8]}…"


def _figures(record: SealRecord) -> str:
    """How many figures the code carries, and of what."""
    count = sum(1 for _ in each_figure(record.figures))
    left_out = _LEFT_OUT[record.left_out]
    kinds = [kind for kind in _CARRIED if kind not in left_out]
    if not count:
        return "digests only"
    return f"{count} measured figures: {listed(kinds)}"


def _without(record: SealRecord) -> str:
    """The figures and limits for which the code has no room."""
    left_out = list(_LEFT_OUT[record.left_out])
    if any(not edition for _, edition in record.rules):
        left_out.append("editions of rule sets")
    _, undecided, outside, _ = record.verdicts
    missed, named = undecided + outside, len(record.troubles)
    if named < missed:
        left_out.append(f"{missed - named} of {missed} limits that are not kept")
    return f"there was no room for {listed(left_out)}" if left_out else ""


def _line(text: str) -> str:
    return " ".join(text.split())
