"""A time-stamping authority for the tests: its certificates, and replies of any kind, right and wrong.

The replies are put together by the library ``asn1crypto``; a test holds them against OpenSSL's own check.
"""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from steelyard.seals.cose import signed
from steelyard.seals.record import SealRecord, to_bytes

NOON = datetime.datetime(2026, 5, 9, 12, 0, 0, tzinfo=datetime.UTC)
STAMPING = ExtendedKeyUsageOID.TIME_STAMPING
Key = rsa.RSAPrivateKey | ec.EllipticCurvePrivateKey | ed25519.Ed25519PrivateKey


@cache
def a_seal(title: str = "Nursery van", sealed_at: int = int(NOON.timestamp()) - 60) -> bytes:
    """A seal whose signature is right, of a key made from a fixed secret."""
    secret = ed25519.Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    public = secret.public_key().public_bytes_raw()
    record = SealRecord(
        public=public,
        number=1,
        previous=None,
        sealed_at=sealed_at,
        title=title,
        date="2026-05-09",
        unit="kg",
        decimals=1,
        findings=bytes(32),
        readings=bytes(32),
        day_file=bytes(32),
        program="0",
        rules=(),
        figures={},
        left_out=4,
        verdicts=(0, 0, 0, 0),
        troubles=(),
        p=None,
        history=None,
    )
    return signed(to_bytes(record), public, secret.sign)


@dataclass(frozen=True)
class Certified:
    """A certificate and its key."""

    certificate: x509.Certificate
    key: Key

    @property
    def der(self) -> bytes:
        return self.certificate.public_bytes(serialization.Encoding.DER)

    @property
    def pem(self) -> bytes:
        return self.certificate.public_bytes(serialization.Encoding.PEM)


class Broken(Certified):
    """A certificate with one flipped bit behind its head, and its key."""

    def __init__(self, whole: Certified, place: int) -> None:
        super().__init__(whole.certificate, whole.key)
        data = bytearray(whole.der)
        data[4 + place // 8] ^= 1 << place % 8
        object.__setattr__(self, "_data", bytes(data))

    @property
    def der(self) -> bytes:
        return self._data  # pyright: ignore[reportAttributeAccessIssue]


@cache
def certified(
    name: str,
    issuer: Certified | None = None,
    *,
    ca: bool = False,
    years: tuple[int, int] = (2020, 2040),
    uses: tuple[x509.ObjectIdentifier, ...] = (STAMPING,),
    critical: bool = True,
    kind: str = "p256",
    commits: bool = False,
) -> Certified:
    """A certificate; without an issuer it is signed by its own key. ``commits``: for signatures that bind a person."""
    key: Any = {
        "p256": lambda: ec.generate_private_key(ec.SECP256R1()),
        "p384": lambda: ec.generate_private_key(ec.SECP384R1()),
        "rsa": lambda: rsa.generate_private_key(65537, 2048),
        "ed25519": ed25519.Ed25519PrivateKey.generate,
    }[kind]()
    subject = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, "Test Clock House"),
            x509.NameAttribute(NameOID.COMMON_NAME, name),
        ]
    )
    by: Any = key if issuer is None else issuer.key
    usage = x509.KeyUsage(
        digital_signature=not ca,
        content_commitment=commits,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=ca,
        crl_sign=ca,
        encipher_only=False,
        decipher_only=False,
    )
    builder = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject if issuer is None else issuer.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(datetime.datetime(years[0], 1, 1, tzinfo=datetime.UTC))
        .not_valid_after(datetime.datetime(years[1], 1, 1, tzinfo=datetime.UTC))
        .add_extension(x509.BasicConstraints(ca=ca, path_length=None), critical=True)
        .add_extension(usage, critical=True)
    )
    if uses and not ca:
        builder = builder.add_extension(x509.ExtendedKeyUsage(uses), critical=critical)
    return Certified(builder.sign(by, None if isinstance(by, ed25519.Ed25519PrivateKey) else hashes.SHA256()), key)


def house() -> tuple[Certified, Certified, Certified]:
    """The usual authority: its root, the certificate between, and the one that signs."""
    root = certified("Test Root", ca=True)
    between = certified("Test Between", root, ca=True)
    return root, between, certified("Test Time", between)


def reply(
    seal: bytes,
    by: Certified | None = None,
    *,
    enclosed: Sequence[Certified] | None = None,
    status: str = "granted",
    words: str | None = None,
    time: datetime.datetime = NOON,
    accuracy: dict[str, int] | None = None,
    imprint: str = "sha256",
    digest: str = "sha256",
    scheme: str = "",
    names_by: str = "signing_certificate_v2",
    signers: int = 1,
    change: Callable[[dict[str, Any]], None] | None = None,
) -> bytes:
    """A reply that stamps a seal. ``change`` may alter the claim before it is signed."""
    from asn1crypto import cms, tsp

    if status not in {"granted", "granted_with_mods"}:
        said: dict[str, Any] = {"status": status, "fail_info": {"bad_alg"}}
        if words is not None:
            said["status_string"] = [words]
        inner = tsp.PKIStatusInfo(said).dump()  # the library's own reply has no room for a refusal
        return bytes([0x30, len(inner)]) + inner
    _, between, usual = house()
    signer = by or usual
    info: dict[str, Any] = {
        "version": "v1",
        "policy": "1.2.3.4.1",
        "message_imprint": {
            "hash_algorithm": {"algorithm": imprint},
            "hashed_message": hashlib.new(imprint, seal).digest(),
        },
        "serial_number": 7,
        "gen_time": time,
    }
    if accuracy is not None:
        info["accuracy"] = accuracy
    if change is not None:
        change(info)
    claim = tsp.TSTInfo(info).dump()
    content = {
        "version": "v3",
        "digest_algorithms": [{"algorithm": digest}],
        "encap_content_info": {"content_type": "tst_info", "content": cms.ParsableOctetString(claim)},
        "certificates": [_loaded(item) for item in ([signer, between] if enclosed is None else enclosed)],
        "signer_infos": [_signer(signer, claim, digest, scheme, names_by)] * signers,
    }
    token = cms.ContentInfo({"content_type": "signed_data", "content": cms.SignedData(content)})
    return tsp.TimeStampResp({"status": {"status": status}, "time_stamp_token": token}).dump()


def _loaded(item: Certified) -> Any:
    from asn1crypto import x509 as loaded

    return loaded.Certificate.load(item.der)


def _signer(by: Certified, claim: bytes, digest: str, scheme: str, names_by: str) -> dict[str, Any]:
    from asn1crypto import cms

    own = _loaded(Certified(by.certificate, by.key))
    attributes = [
        {"type": "content_type", "values": ["tst_info"]},
        {"type": "message_digest", "values": [hashlib.new(digest, claim).digest()]},
    ]
    if names_by == "signing_certificate_v2":
        attributes.append({"type": names_by, "values": [{"certs": [{"cert_hash": hashlib.sha256(by.der).digest()}]}]})
    elif names_by == "signing_certificate":
        attributes.append({"type": names_by, "values": [{"certs": [{"cert_hash": hashlib.sha1(by.der).digest()}]}]})
    signed_attributes = cms.CMSAttributes(attributes)
    name, signature = _signature(by.key, signed_attributes.dump(), digest, scheme)
    return {
        "version": "v1",
        "sid": {"issuer_and_serial_number": {"issuer": own.issuer, "serial_number": own.serial_number}},
        "digest_algorithm": {"algorithm": digest},
        "signed_attrs": signed_attributes,
        "signature_algorithm": name,
        "signature": signature,
    }


def _signature(key: Key, data: bytes, digest: str, scheme: str) -> tuple[dict[str, Any], bytes]:
    kind: Any = {"sha1": hashes.SHA1, "sha256": hashes.SHA256, "sha384": hashes.SHA384, "sha512": hashes.SHA512}[
        digest
    ]()
    if isinstance(key, ed25519.Ed25519PrivateKey):
        return {"algorithm": "ed25519"}, key.sign(data)
    if isinstance(key, ec.EllipticCurvePrivateKey):
        return {"algorithm": f"{digest}_ecdsa"}, key.sign(data, ec.ECDSA(kind))
    if scheme == "pss":
        size = kind.digest_size
        parameters = {
            "hash_algorithm": {"algorithm": digest},
            "mask_gen_algorithm": {"algorithm": "mgf1", "parameters": {"algorithm": digest}},
            "salt_length": size,
        }
        pss = padding.PSS(padding.MGF1(kind), size)
        return {"algorithm": "rsassa_pss", "parameters": parameters}, key.sign(data, pss, kind)
    return {"algorithm": scheme or f"{digest}_rsa"}, key.sign(data, padding.PKCS1v15(), kind)
