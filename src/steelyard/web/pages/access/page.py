"""The pages that let a device in: pairing, and the certificate that a tablet installs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from steelyard.store import Device, DeviceRole
from steelyard.web.http.pairing import Door, Pairing, qr_data_uri
from steelyard.web.pages.access.contracts import DeviceLine, PairPage, TrustPage
from steelyard.web.pages.shell.moment import moment

_MAY = {DeviceRole.WEIGH: "weigh", DeviceRole.LOOK: "look"}


def pair_page(
    pairing: Pairing, devices: Iterable[Device], *, here: bool, look: bool, typed: str = "", fault: str = ""
) -> PairPage:
    """The page to pair with. Only ``here``, where the station runs, does it show a code and who was let in."""
    page = PairPage(typed=typed, fault=fault, here=here, devices=_lines(devices) if here else ())
    if not here or not pairing.address:
        return page
    offer = pairing.offer(DeviceRole.LOOK if look else DeviceRole.WEIGH)
    qr = qr_data_uri(offer.url)
    return replace(page, address=offer.address, code=offer.code, qr=qr, role=_MAY[offer.role])


def _lines(devices: Iterable[Device]) -> tuple[DeviceLine, ...]:
    return tuple(
        DeviceLine(item.id, item.name, _MAY[item.role], moment(item.created))
        for item in devices
        if item.revoked is None
    )


def trust_page(door: Door, certificate: str) -> TrustPage:
    """How to trust the station, whose certificate is at that path; empty where it speaks no TLS."""
    if door.authority is None:
        return TrustPage()
    return TrustPage(certificate, qr_data_uri(door.trust_address), door.authority.fingerprint)
