"""Addresses that let a device in: pairing, and the certificate that a tablet installs."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute

from steelyard.web.http.pairing import Door
from steelyard.web.http.problem import Problem
from steelyard.web.http.routes import May, route
from steelyard.web.pages.access.page import pair_page, trust_page
from steelyard.web.pages.shell.frame import download, is_here, render, station_of, to_of


def _door(request: Request) -> Door:
    return request.state.door


async def pair(request: Request) -> Response:
    """Show a code, or take one."""
    return await _pair(request, typed=request.query_params.get("code", "")[:40])


async def _pair(request: Request, *, typed: str = "", fault: str = "", status: int = 200) -> Response:
    station, here = station_of(request), is_here(request)
    devices = await station.run(station.store.devices) if here else ()
    look = request.query_params.get("role") == "look"
    page = pair_page(_door(request).pairing, devices, here=here, look=look, typed=typed, fault=fault)
    return render(request, "pair.html", page, here="pair", status=status)


async def let_in(request: Request) -> Response:
    """Let a device in that shows the code."""
    station, form = station_of(request), await request.form()
    code, name = str(form.get("code", "")), str(form.get("name", ""))
    address = "" if request.client is None else request.client.host
    response = RedirectResponse(to_of(request)("home"), 303)
    try:
        let_in = _door(request).pairing.let_in
        await station.run(let_in, request.state.sessions, response, code=code, name=name, address=address)
    except Problem as problem:
        fault = problem.message[:1].upper() + problem.message[1:] + "."
        return await _pair(request, typed=code[:40], fault=fault, status=problem.status)
    return response


async def shut_out(request: Request) -> Response:
    """Send a paired device away; only where the station runs."""
    device = str((await request.form()).get("device", ""))
    await station_of(request).run(request.state.sessions.shut_out, device)
    return RedirectResponse(to_of(request)("pair"), 303)


async def trust(request: Request) -> Response:
    """The page that lists the functions that work without the station, and how to make more of them work."""
    return render(request, "trust.html", trust_page(_door(request), to_of(request)("certificate")), here="trust")


async def certificate(request: Request) -> Response:
    """The certificate of the station's own authority, in the form that phones open by themselves.

    Raises
    ------
    Problem: there is none.
    """
    authority = _door(request).authority
    if authority is None:
        raise Problem(404, "no_certificate", "this station speaks no TLS; start it with --https")
    return download(authority.der, "application/x-x509-ca-cert", "steelyard-station.crt")


routes: list[BaseRoute] = [
    route("GET", "/pair", pair, may=May.ANYONE),
    route("POST", "/pair", let_in, may=May.ANYONE),
    route("POST", "/pair/revoke", shut_out, may=May.OWN),
    route("GET", "/trust", trust, may=May.ANYONE, plain=True),
    route("GET", "/authority.crt", certificate, may=May.ANYONE, plain=True),
]
