"""States of a day renamed, put away and brought back: records beside them, of which nothing is deleted."""

from __future__ import annotations

import datetime
import secrets
from collections.abc import Mapping
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.model import WeighDay
from steelyard.web.http.routes import May, route
from steelyard.web.pages.days.contracts import AwayLine, DoneAct
from steelyard.web.pages.days.lists import short
from steelyard.web.pages.shell.contracts import To
from steelyard.web.pages.shell.frame import station_of, to_of
from steelyard.web.pages.shell.moment import moment

BACK = "Brought back"
"""The reason on record where somebody brings a state back, who is not asked for one."""


def states_away(day_id: str, day: WeighDay, to: To) -> tuple[AwayLine, ...]:
    """The states that are put away, why and since when, in the order of the file; each still answers on the page Ask.

    Where nothing was weighed yet, nothing can be asked, and there is no link.
    """
    asks = f"{to('ask', day=day_id)}?" if day.measured_states() else ""
    lines: list[AwayLine] = []
    for name, item in day.put_away().items():
        since = Markup("") if item.at is None else Markup(", {}").format(moment(item.at))
        said = Markup("put away: {}{}").format(item.reason, since)
        href = f"{asks}{urlencode({'state': name})}" if asks and day.states[name].vehicles else ""
        lines.append(AwayLine(day.state_title(name), said, to("bring_state_back", day=day_id, state=name), href))
    return tuple(lines)


def state_act(day_id: str, day: WeighDay, asked: Mapping[str, str], to: To) -> DoneAct | None:
    """The act on a state that was done just now, as the address of the page names it; None where it holds no more."""
    act, state = asked.get("did", ""), asked.get("state", "")
    mine = [item for item in day.corrections if item.state == state]
    if not mine:
        return None
    name, last = short(day.state_title(state)), mine[-1]
    if act == "renamed" and last.label is not None:
        labels = [item.label for item in mine if item.label is not None]
        before = labels[-2] if len(labels) > 1 else state.replace("_", " ")
        words = f"“{short(before)}” is called “{name}” now. The old name stays on record."
        return DoneAct(words, to("rename_state", day=day_id, state=state), before, "label")
    gone = state in day.put_away()
    if act == "away" and gone:
        words = f"“{name}” was put away. Nothing of it is deleted, and no figure of another state changes."
        return DoneAct(words, to("bring_state_back", day=day_id, state=state))
    if act == "back" and not gone:
        reason = next((item.reason for item in reversed(mine) if item.away), "put away again")
        return DoneAct(f"“{name}” is shown again.", to("put_state_away", day=day_id, state=state), reason, "reason")
    return None


async def rename_state(request: Request) -> Response:
    """Give a state another name for people; the same one again adds nothing.

    Raises
    ------
    DayFileError: there is no such state.
    """
    opened = await station_of(request).day(request.path_params["day"])
    label = " ".join(str((await request.form()).get("label", "")).split())
    if label == opened.day.state_title(request.path_params["state"]):
        return _bench(request)
    return await _record(request, "renamed", label=label, reason="Named anew at the bench")


async def put_state_away(request: Request) -> Response:
    """Put a state away, with a reason.

    Raises
    ------
    DayFileError: there is no such state or no reason, it has drafts that count, or no other state is shown.
    """
    reason = " ".join(str((await request.form()).get("reason", "")).split())
    return await _record(request, "away", away=True, reason=reason)


async def bring_state_back(request: Request) -> Response:
    """Bring a state back.

    Raises
    ------
    DayFileError: there is no such state.
    """
    return await _record(request, "back", away=False, reason=BACK)


async def _record(request: Request, did: str, **said: str | bool) -> Response:
    now = datetime.datetime.now(datetime.UTC).replace(microsecond=0)
    data = {"key": f"state-{secrets.token_hex(8)}", "state": request.path_params["state"], "at": now.isoformat()}
    device = request.state.viewer.device
    await station_of(request).correct(request.path_params["day"], {**data, **said}, device)
    return _bench(request, did)


def _bench(request: Request, did: str = "") -> Response:
    """The bench; it says what was done and offers to undo it, where ``did`` names it."""
    said = f"?{urlencode({'did': did, 'state': request.path_params['state']})}" if did else ""
    return RedirectResponse(f"{to_of(request)('bench', day=request.path_params['day'])}{said}", 303)


routes: list[BaseRoute] = [
    route("POST", "/days/{day}/states/{state}/name", rename_state, may=May.WEIGH),
    route("POST", "/days/{day}/states/{state}/put-away", put_state_away, may=May.WEIGH),
    route("POST", "/days/{day}/states/{state}/bring-back", bring_state_back, may=May.WEIGH),
]
