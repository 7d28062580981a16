"""Data for the pages that pair a device and install the certificate."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DeviceLine:
    """A paired device."""

    id: str
    name: str
    role: str
    since: str


@dataclass(frozen=True, slots=True)
class PairPage:
    """Pairing a device. ``code``, its ``role`` and ``qr`` are only shown on the machine that runs the station."""

    address: str = ""
    code: str = ""
    qr: str = ""
    typed: str = ""
    fault: str = ""
    devices: tuple[DeviceLine, ...] = ()
    role: str = "weigh"
    here: bool = False


@dataclass(frozen=True, slots=True)
class TrustPage:
    """How a tablet comes to trust the station: the certificate's address, its QR code and its fingerprint."""

    certificate: str = ""
    qr: str = ""
    fingerprint: str = ""
