"""The station's own authority: what it signs, and what it cannot."""

from __future__ import annotations

import contextlib
import ipaddress
import ssl
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from steelyard.web import Settings
from steelyard.web.http import network
from steelyard.web.http.authority import AuthorityError, open_authority, signable
from steelyard.web.run import _listen_beside  # pyright: ignore[reportPrivateUsage]


def leaf_of(folder: Path) -> x509.Certificate:
    """The certificate that the server was last given."""
    return x509.load_pem_x509_certificates((folder / "station.pem").read_bytes())[0]


def test_it_is_made_once(tmp_path: Path) -> None:
    folder = tmp_path / "authority"
    one, other = open_authority(folder), open_authority(folder)
    assert one.pem == other.pem
    assert len(one.fingerprint) == 95
    assert sorted(path.name for path in folder.iterdir()) == ["authority-key.pem", "authority.pem"]


def test_it_vouches_for_addresses_and_names_of_private_networks(tmp_path: Path) -> None:
    authority = open_authority(tmp_path)
    authority.server_context(["192.168.7.20", "shed.local", "localhost", "fd00::7"])
    leaf = leaf_of(tmp_path)
    policy = PolicyBuilder().store(Store([authority.certificate]))
    for subject in (
        x509.IPAddress(ipaddress.ip_address("192.168.7.20")),
        x509.IPAddress(ipaddress.ip_address("fd00::7")),
        x509.DNSName("shed.local"),
        x509.DNSName("localhost"),
    ):
        policy.build_server_verifier(subject).verify(leaf, [])
    with pytest.raises(VerificationError):
        policy.build_server_verifier(x509.DNSName("other.local")).verify(leaf, [])


@pytest.mark.parametrize("host", ["8.8.8.8", "2001:4860::1", "bank.example", "notlocal", "xlocalhost"])
def test_it_does_not_vouch_for_the_rest_of_the_world(tmp_path: Path, host: str) -> None:
    authority = open_authority(tmp_path)
    with pytest.raises(AuthorityError, match="on a private network, so the station cannot vouch for it"):
        authority.server_context([host])
    assert signable([host, "10.0.0.1"]) == ["10.0.0.1"]


def test_a_stolen_key_opens_nothing_else(tmp_path: Path) -> None:
    """Even signed with the authority's own key, a certificate for another site is not believed."""
    authority = open_authority(tmp_path)
    context = authority.server_context(["127.0.0.1"])
    assert isinstance(context, ssl.SSLContext)
    honest = leaf_of(tmp_path)
    key = ec.generate_private_key(ec.SECP256R1())
    builder = (
        x509.CertificateBuilder()
        .subject_name(honest.subject)
        .issuer_name(honest.issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(honest.not_valid_before_utc)
        .not_valid_after(honest.not_valid_after_utc)
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("bank.example")]), critical=False)
    )
    for extension in honest.extensions:
        if not isinstance(extension.value, x509.SubjectAlternativeName | x509.SubjectKeyIdentifier):
            builder = builder.add_extension(extension.value, extension.critical)
    forged = builder.sign(authority.key, hashes.SHA256())
    policy = PolicyBuilder().store(Store([authority.certificate]))
    with pytest.raises(VerificationError):
        policy.build_server_verifier(x509.DNSName("bank.example")).verify(forged, [])


def test_what_lies_there_and_is_no_authority_is_said(tmp_path: Path) -> None:
    (tmp_path / "authority-key.pem").write_text("nonsense")
    (tmp_path / "authority.pem").write_text("nonsense")
    with pytest.raises(AuthorityError, match="the files there are not the certificate authority of a station"):
        open_authority(tmp_path)


def test_without_a_port_asked_for_the_certificate_is_handed_out_at_any_that_is_free(tmp_path: Path) -> None:
    with contextlib.closing(network.listen(0, lan=False)) as taken:
        port = taken.getsockname()[1]
        settings = Settings(store=tmp_path / "station.db", port=port - 1, https=True)
        with pytest.raises(OSError, match="in use"):
            _listen_beside(settings, any_port=False)
        with contextlib.closing(_listen_beside(settings, any_port=True)) as free:
            assert free.getsockname()[1] != port
