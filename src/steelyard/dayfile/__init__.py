"""Dayfile: the weigh-day file, TOML text to model and back, every fault with its place.

Owns the file format and the messages about it. Knows no arithmetic on loads. Begin at ``reader.py``.
Read ``statics`` next.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from steelyard.dayfile.contents import Limit, contents
from steelyard.dayfile.fault import BeyondFloat, DayFileError, Fault, show_value, written_float
from steelyard.dayfile.photographs import plain_name
from steelyard.dayfile.reader import FORMAT, day_bytes, parse_day, read_day
from steelyard.dayfile.rule_sets import bundled_set, read_own_sets, with_own_sets
from steelyard.dayfile.slips import quantity_complaint
from steelyard.dayfile.source import LARGEST, show_file
from steelyard.dayfile.values import doubt_complaint, size_complaint
from steelyard.listing import named_later

if TYPE_CHECKING:
    from steelyard.dayfile.additions import (
        extended,
        read_cargo,
        read_choice,
        read_correction,
        read_draft,
        read_instrument,
        read_photograph,
        read_state,
        read_title,
        read_vehicle,
        refuse_hiding,
        with_cargo,
        with_choice,
        with_correction,
        with_draft,
        with_photograph,
        with_state,
        with_title,
    )
    from steelyard.dayfile.beginning import (
        Answers,
        CouplingAnswers,
        PadAnswers,
        PlatformAnswers,
        SiteAnswers,
        VehicleAnswers,
        starter,
    )
    from steelyard.dayfile.growth import AddedBlock, Part, can_grow, grown, read_block
    from steelyard.dayfile.log import LARGEST_LOG, SweepLog, log_bytes, read_log
    from steelyard.dayfile.photographs.beside import (
        Beside,
        PhotographFile,
        held_against,
        photograph_faults,
        photograph_files,
    )
    from steelyard.dayfile.rule_sets.forms import FORM_KEYS
    from steelyard.dayfile.rule_sets.reader import parse_rule_set, read_rule_set
    from steelyard.dayfile.verification import parse_verification, read_verification, verification_text_of
    from steelyard.dayfile.write import (
        write_cargo,
        write_choice,
        write_correction,
        write_day,
        write_draft,
        write_instrument,
        write_photograph,
        write_planned,
        write_state,
        write_title,
        write_vehicle,
    )

__all__ = [
    "FORMAT",
    "FORM_KEYS",
    "LARGEST",
    "LARGEST_LOG",
    "AddedBlock",
    "Answers",
    "Beside",
    "BeyondFloat",
    "CouplingAnswers",
    "DayFileError",
    "Fault",
    "Limit",
    "PadAnswers",
    "Part",
    "PhotographFile",
    "PlatformAnswers",
    "SiteAnswers",
    "SweepLog",
    "VehicleAnswers",
    "bundled_set",
    "can_grow",
    "contents",
    "day_bytes",
    "doubt_complaint",
    "extended",
    "grown",
    "held_against",
    "log_bytes",
    "parse_day",
    "parse_rule_set",
    "parse_verification",
    "photograph_faults",
    "photograph_files",
    "plain_name",
    "quantity_complaint",
    "read_block",
    "read_cargo",
    "read_choice",
    "read_correction",
    "read_day",
    "read_draft",
    "read_instrument",
    "read_log",
    "read_own_sets",
    "read_photograph",
    "read_rule_set",
    "read_state",
    "read_title",
    "read_vehicle",
    "read_verification",
    "refuse_hiding",
    "show_file",
    "show_value",
    "size_complaint",
    "starter",
    "verification_text_of",
    "with_cargo",
    "with_choice",
    "with_correction",
    "with_draft",
    "with_own_sets",
    "with_photograph",
    "with_state",
    "with_title",
    "write_cargo",
    "write_choice",
    "write_correction",
    "write_day",
    "write_draft",
    "write_instrument",
    "write_photograph",
    "write_planned",
    "write_state",
    "write_title",
    "write_vehicle",
    "written_float",
]

_LATER = {
    "photographs.beside": ("Beside", "PhotographFile", "held_against", "photograph_faults", "photograph_files"),
    "rule_sets.forms": ("FORM_KEYS",),
    "rule_sets.reader": ("parse_rule_set", "read_rule_set"),
    "additions": (
        "extended",
        "read_cargo",
        "read_choice",
        "read_correction",
        "read_draft",
        "read_instrument",
        "read_photograph",
        "read_state",
        "read_title",
        "read_vehicle",
        "refuse_hiding",
        "with_cargo",
        "with_choice",
        "with_correction",
        "with_draft",
        "with_photograph",
        "with_state",
        "with_title",
    ),
    "growth": ("AddedBlock", "Part", "can_grow", "grown", "read_block"),
    "log": ("LARGEST_LOG", "SweepLog", "log_bytes", "read_log"),
    "beginning": (
        "Answers",
        "CouplingAnswers",
        "PadAnswers",
        "PlatformAnswers",
        "SiteAnswers",
        "VehicleAnswers",
        "starter",
    ),
    "verification": ("parse_verification", "read_verification", "verification_text_of"),
    "write": (
        "write_cargo",
        "write_choice",
        "write_correction",
        "write_day",
        "write_draft",
        "write_instrument",
        "write_photograph",
        "write_planned",
        "write_state",
        "write_title",
        "write_vehicle",
    ),
}
"""Names that are loaded with their file when they are first asked for: few who weigh a day need them."""


def __getattr__(name: str) -> object:
    """A name of ``_LATER``.

    Raises
    ------
    AttributeError: there is no such name.
    """
    return named_later(name, _LATER, globals(), lambda file: import_module(f"steelyard.dayfile.{file}"))
