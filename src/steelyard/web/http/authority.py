"""A certificate authority of the station's own, made on first use, so that a tablet can trust it without the internet.

Its key never leaves the folder of the store, and it can sign for private networks and this machine only: whoever
installs its certificate does not open the door to anything else (RFC 5280, 4.2.1.10, name constraints).
"""

from __future__ import annotations

import contextlib
import datetime
import ipaddress
import os
import ssl
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

_PRIVATE = (
    # RFC 1918, 6598, 3927, 1122; RFC 4193, 4291: networks that belong to nobody in particular
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "169.254.0.0/16", "127.0.0.0/8"),
    *("fc00::/7", "fe80::/10", "::1/128"),
)
_NAMES = ("localhost", "local", "lan", "home.arpa", "internal")
_AUTHORITY_YEARS = 10
_LEAF_DAYS = 397  # more, and some systems refuse a certificate whoever signed it
_EARLIER = datetime.timedelta(days=1)  # clocks of tablets are not always right


class AuthorityError(Exception):
    """No certificate can be had; the message says why."""


@dataclass(frozen=True, slots=True)
class Authority:
    """The authority as it lies in its folder."""

    folder: Path
    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def pem(self) -> bytes:
        """The certificate to install on a tablet."""
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    @property
    def der(self) -> bytes:
        """The same in the form that phones open by themselves."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """By which a person can tell that it is this certificate: SHA-256 in pairs."""
        return self.certificate.fingerprint(hashes.SHA256()).hex(":").upper()

    def server_context(self, hosts: Sequence[str]) -> ssl.SSLContext:
        """The TLS settings and certificate of a server for ``hosts``: addresses and names.

        Raises
        ------
        AuthorityError: one of them is on no private network, or the folder cannot be written.
        """
        key = ec.generate_private_key(ec.SECP256R1())
        leaf = self._leaf(key, hosts)
        path = self.folder / "station.pem"
        text = _key_pem(key) + leaf.public_bytes(serialization.Encoding.PEM) + self.pem
        _write_private(path, text)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        context.load_cert_chain(path)
        return context

    def _leaf(self, key: ec.EllipticCurvePrivateKey, hosts: Sequence[str]) -> x509.Certificate:
        names = [_general_name(host) for host in hosts]
        now = datetime.datetime.now(datetime.UTC)
        return (
            _builder("Steelyard weigh station", self.certificate.subject, key, now, _LEAF_DAYS)
            .add_extension(x509.SubjectAlternativeName(names), critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(_usage(signs_certificates=False), critical=True)
            .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(self.key.public_key()), critical=False)
            .sign(self.key, hashes.SHA256())
        )


def open_authority(folder: Path) -> Authority:
    """The authority of a folder, made on first use.

    Raises
    ------
    AuthorityError: the folder cannot be used, or holds something else.
    """
    certificate_path, key_path = folder / "authority.pem", folder / "authority-key.pem"
    try:
        if not key_path.exists():
            return _make(folder, certificate_path, key_path)
        key = serialization.load_pem_private_key(key_path.read_bytes(), None)
        certificate = x509.load_pem_x509_certificate(certificate_path.read_bytes())
    except OSError as error:
        raise AuthorityError(f"{folder}: {error.strerror or error}") from error
    except ValueError as error:
        raise AuthorityError(
            f"{folder}: the files there are not the certificate authority of a station: {error}"
        ) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise AuthorityError(f"{key_path}: is a key of another kind")
    if certificate.not_valid_after_utc < datetime.datetime.now(datetime.UTC) + datetime.timedelta(days=_LEAF_DAYS):
        return _make(folder, certificate_path, key_path)
    return Authority(folder, certificate, key)


def _make(folder: Path, certificate_path: Path, key_path: Path) -> Authority:
    folder.mkdir(parents=True, exist_ok=True)
    key = ec.generate_private_key(ec.SECP256R1())
    now = datetime.datetime.now(datetime.UTC)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Steelyard station authority {now:%Y-%m-%d}")])
    networks = [x509.IPAddress(ipaddress.ip_network(text)) for text in _PRIVATE]
    allowed: list[x509.GeneralName] = [*networks, *(x509.DNSName(text) for text in _NAMES)]
    certificate = (
        _builder(None, name, key, now, _AUTHORITY_YEARS * 365)
        .subject_name(name)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(allowed, None), critical=True)
        .sign(key, hashes.SHA256())
    )
    _write_private(key_path, _key_pem(key))
    authority = Authority(folder, certificate, key)
    certificate_path.write_bytes(authority.pem)
    return authority


def _builder(
    subject: str | None, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime.datetime, days: int
) -> x509.CertificateBuilder:
    builder = (
        x509.CertificateBuilder()
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .not_valid_after(now - _EARLIER + datetime.timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )
    if subject is None:
        return builder
    return builder.subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, subject)]))


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _general_name(host: str) -> x509.GeneralName:
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        if not any(host == name or host.endswith(f".{name}") for name in _NAMES):
            raise AuthorityError(
                f"{host}: is not a name on a private network, so the station cannot vouch for it"
            ) from None
        return x509.DNSName(host)
    if not any(address in ipaddress.ip_network(text) for text in _PRIVATE):
        raise AuthorityError(f"{host}: is not an address on a private network, so the station cannot vouch for it")
    return x509.IPAddress(address)


def signable(hosts: Iterable[str]) -> list[str]:
    """Those of ``hosts`` that an authority of this kind can sign for."""
    found: list[str] = []
    for host in hosts:
        with contextlib.suppress(AuthorityError):
            _general_name(host)
            found.append(host)
    return found


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write_private(path: Path, data: bytes) -> None:
    """Write a file that only its owner reads, whole or not at all."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.unlink(missing_ok=True)
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as stream:
            stream.write(data)
        part.replace(path)
    except OSError as error:
        raise AuthorityError(f"{path}: cannot be written: {error.strerror or error}") from error
