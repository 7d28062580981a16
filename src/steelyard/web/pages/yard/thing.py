"""One thing of the yard: its versions, two of them side by side, an older one brought back, the drift of a pad."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from steelyard.model import Instrument
from steelyard.store import Kept, Shelf
from steelyard.units import UnitSystem
from steelyard.web.pages.days.contracts import DoneAct
from steelyard.web.pages.shell.contracts import To
from steelyard.web.pages.shell.moment import moment
from steelyard.web.pages.yard.contracts import ThingPage, ThingVersion
from steelyard.web.pages.yard.differing import side_by_side
from steelyard.web.pages.yard.drift import draw_drift, drift_points, spans_of
from steelyard.web.pages.yard.page import instrument_card, item_of, vehicle_card
from steelyard.web.station.yard import units_of_kept

_UNITS = {"lb,in": UnitSystem("lb", "in"), "kg,mm": UnitSystem("kg", "mm")}

FROM_DAY, FROM_VERIFICATION, VERIFIED = "day", "verification", "verified"
"""Keys of what was learned of a thing, which say where its version came from: a day, or a verification and its date."""


_VERIFICATION = re.compile("[0-9a-z-]{1,60}")


def without_origin(learned: Mapping[str, Any]) -> dict[str, Any]:
    """The things learned, without the words on where the version came from."""
    return {key: said for key, said in learned.items() if key not in (FROM_DAY, FROM_VERIFICATION, VERIFIED)}


def thing_page(versions: Sequence[Kept], asked: Mapping[str, str], to: To) -> ThingPage:
    """The page of a thing, all of whose versions are given, the first one first."""
    newest = versions[-1]
    numbers = {str(kept.version): kept for kept in versions}
    other = numbers.get(asked.get("other", ""), newest)
    before = versions[max(len(versions) - 2, 0)]
    one = numbers.get(asked.get("one", ""), before)
    own = units_of_kept([newest])
    units = asked.get("units", "") if asked.get("units", "") in _UNITS else f"{own.mass},{own.length}"
    verified = [kept for kept in versions if VERIFIED in kept.learned] or versions
    spans = spans_of([item for kept in verified if isinstance(item := item_of(kept), Instrument)])
    card = vehicle_card if newest.shelf is Shelf.VEHICLE else instrument_card
    return ThingPage(
        card(newest),
        tuple(_version(kept) for kept in reversed(versions)),
        one.version if len(versions) > 1 else 0,
        other.version if len(versions) > 1 else 0,
        side_by_side(item_of(one), item_of(other), _UNITS[units]),
        units,
        draw_drift(newest.name, spans),
        drift_points(spans),
        _done(versions, asked, to),
    )


def _version(kept: Kept) -> ThingVersion:
    day = _told(kept.learned.get(FROM_DAY))
    device = "" if kept.device == "this device" else kept.device
    told = kept.learned.get(FROM_VERIFICATION, "")
    verification = told if isinstance(told, str) and _VERIFICATION.fullmatch(told) else ""
    return ThingVersion(kept.version, moment(kept.saved), device, day.get("title", ""), day.get("id", ""), verification)


def _told(value: Any) -> Mapping[str, str]:
    """The day that a version came from, where it says so soundly: it is JSON that any program may have written."""
    if not isinstance(value, dict):
        return {}
    found = {str(key): said for key, said in value.items() if isinstance(said, str)}  # pyright: ignore[reportUnknownVariableType, reportUnknownArgumentType]
    return found if found.get("id", "").isalnum() and found.get("title") else {}


def _done(versions: Sequence[Kept], asked: Mapping[str, str], to: To) -> DoneAct | None:
    if asked.get("did") != "version" or len(versions) < 2:
        return None
    newest, before = versions[-1], versions[-2]
    words = f"An older version was brought back as version {newest.version}."
    undo = to("bring_version_back", shelf=f"{newest.shelf}s", name=newest.name)
    return DoneAct(words, undo, str(before.version), "version")
