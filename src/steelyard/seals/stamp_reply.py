"""The reply of a time-stamping authority: its claims, and whether the signature under them is right.

Nothing here asks whether the authority can be believed; see ``stamp``. A part of a reply that is not signed changes no
answer: the time and the digest are under the signature, and so is the digest of the certificate that signed.
Source: RFC 3161, section 2.4.2; RFC 5652, section 5.4; RFC 5816 for the second form of a signing certificate.
"""

from __future__ import annotations

import contextlib
import datetime
import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

LARGEST_REPLY = 100_000
"""Bytes of a reply at most; one with four certificates has some seven thousand."""

_HASHES = frozenset({"sha256", "sha384", "sha512"})
_LONGEST = 100
_UNREADABLE = (ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError, RecursionError)
"""The exceptions of the library of ASN.1 on bytes that are something else than they claim to be."""


class StampError(ValueError):
    """A reply that is no time stamp of this seal; the message says why."""


class StampLibraryError(StampError):
    """The library that reads replies is not installed."""


@dataclass(frozen=True, slots=True)
class StampReply:
    """The claims of a reply, and the signature under them, which has not been checked.

    Attributes
    ----------
    hash_name, imprint: digest of what was stamped, and its kind. time: when, by the authority's clock (UTC).
    latest: the end of the span that its accuracy leaves, in whole seconds.
    certificates: those that the reply encloses. names_signer: whether a certificate is the one that the signer names.
    fits: whether the signature under the claims is that of a certificate's key; see ``fits``.
    """

    hash_name: str
    imprint: bytes
    time: datetime.datetime
    latest: datetime.datetime
    certificates: tuple[Certificate, ...]
    names_signer: Callable[[Certificate], bool]
    fits: Callable[[Certificate], bool]

    def signer(self, further: Iterable[Certificate]) -> Certificate:
        """The certificate that signed, among those enclosed and some further ones.

        Raises
        ------
        StampError: it is not there.
        """
        found = next((item for item in (*self.certificates, *further) if self.names_signer(item)), None)
        if found is None:
            raise StampError("does not enclose the certificate that signed it; ask for a reply that does")
        return found


def asn1() -> Any:
    """The library of ASN.1, its part for time stamps; it carries no types.

    Raises
    ------
    StampLibraryError: it is not installed.
    """
    try:
        from asn1crypto import tsp  # pyright: ignore[reportMissingTypeStubs, reportUnknownVariableType]
    except ImportError:
        message = "a time stamp needs the extra of that name: pip install 'steelyard[time-stamp]'"
        raise StampLibraryError(message) from None
    return tsp  # pyright: ignore[reportUnknownVariableType]


def _form() -> Any:
    """A reply as RFC 3161 has it; that of the library has no room for a refusal, which carries no time stamp."""
    tsp = asn1()
    fields = [("status", tsp.PKIStatusInfo), ("time_stamp_token", tsp.ContentInfo, {"optional": True})]
    return type("Reply", (tsp.Sequence,), {"_fields": fields})


def read_reply(data: bytes) -> StampReply:
    """Read a reply.

    Raises
    ------
    StampError: it is too long, no reply, or the authority's refusal. StampLibraryError: the library is not installed.
    """
    if len(data) > LARGEST_REPLY:
        raise StampError(f"has {len(data)} bytes; a reply has at most {LARGEST_REPLY}")
    form = _form()
    try:
        whole = form.load(data, strict=True)
        status, refusal = whole["status"]["status"].native, _refusal(whole["status"])
    except _UNREADABLE:
        raise StampError("is not the reply of a time-stamping authority, or not the whole of it") from None
    if status not in {"granted", "granted_with_mods"}:
        raise StampError(f"is a refusal by the authority: {refusal}")
    try:
        return _read(whole["time_stamp_token"])
    except StampError:
        raise
    except _UNREADABLE:
        raise StampError("is a reply whose time stamp cannot be read") from None


def _refusal(status: Any) -> str:
    """The authority's own words, cut to a length."""
    texts: list[str] = status["status_string"].native or []
    reasons: list[str] = sorted(status["fail_info"].native or [])
    return plain(", ".join([str(status["status"].native), *texts, *reasons]))


def plain(text: str) -> str:
    """Words that somebody else wrote, on one line and cut to a length."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())[:_LONGEST]


def _read(token: Any) -> StampReply:
    if token["content_type"].native != "signed_data":
        raise StampError("is a reply without a signed time stamp")
    message = token["content"]
    content = message["encap_content_info"]
    if content["content_type"].native != "tst_info":
        raise StampError("is a reply whose signed content is no time stamp")
    info = content["content"].parsed
    conditions: list[Any] = info["extensions"].native or []
    if any(item["critical"] for item in conditions):
        raise StampError("has a condition that this program does not know")
    if len(message["signer_infos"]) != 1:
        raise StampError(f"has {len(message['signer_infos'])} signatures; a time stamp has one")
    signer = message["signer_infos"][0]
    enclosed = [item.chosen.dump() for item in message["certificates"] if item.name == "certificate"]
    time: datetime.datetime = info["gen_time"].native
    hash_name, claim = info["message_imprint"]["hash_algorithm"]["algorithm"].native, bytes(content["content"])
    attributes = _attributes(signer)
    _check_attributes(signer, attributes, claim)
    return StampReply(
        hash_name=hash_name,
        imprint=info["message_imprint"]["hashed_message"].native,
        time=time.astimezone(datetime.UTC),
        latest=_latest(time.astimezone(datetime.UTC), info["accuracy"]),
        certificates=_certificates(enclosed),
        names_signer=_naming(signer, attributes),
        fits=_fitting(signer),
    )


def _certificates(enclosed: Iterable[bytes]) -> tuple[Certificate, ...]:
    """The enclosed certificates that can be read."""
    from cryptography import x509

    found: list[Certificate] = []
    for item in enclosed:
        with contextlib.suppress(ValueError, x509.InvalidVersion):
            found.append(x509.load_der_x509_certificate(item))
    return tuple(found)


def _latest(time: datetime.datetime, accuracy: Any) -> datetime.datetime:
    """The end of the span, rounded up to a whole second."""
    parts: dict[str, Any] = dict(accuracy.native or {})
    end = time + datetime.timedelta(
        seconds=parts.get("seconds") or 0, milliseconds=parts.get("millis") or 0, microseconds=parts.get("micros") or 0
    )
    if end < time:
        raise StampError("has an accuracy below zero")
    return end if end.microsecond == 0 else end.replace(microsecond=0) + datetime.timedelta(seconds=1)


def _attributes(signer: Any) -> dict[str, Any]:
    """The signed attributes by name; each is there once and has one value."""
    found: dict[str, Any] = {}
    for attribute in signer["signed_attrs"]:
        name = attribute["type"].native
        if name in found or len(attribute["values"]) != 1:
            raise StampError(f"has the signed attribute {plain(str(name))} more than once")
        found[name] = attribute["values"][0]
    return found


def _check_attributes(signer: Any, attributes: dict[str, Any], claim: bytes) -> None:
    """See that the attributes are those of this claim; the signature is over the attributes alone."""
    name = signer["digest_algorithm"]["algorithm"].native
    if name not in _HASHES:
        raise StampError(f"is signed over a digest of the kind {plain(str(name))}, which is not safe or not known")
    if "content_type" not in attributes or attributes["content_type"].native != "tst_info":
        raise StampError("has a signature that is not one of a time stamp")
    if "message_digest" not in attributes or attributes["message_digest"].native != hashlib.new(name, claim).digest():
        raise StampError("was changed: what it says is not what was signed")


def _naming(signer: Any, attributes: dict[str, Any]) -> Callable[[Certificate], bool]:
    """Tells whether a certificate is the one whose digest stands among the signed attributes."""
    from cryptography.hazmat.primitives.serialization import Encoding

    second, first = attributes.get("signing_certificate_v2"), attributes.get("signing_certificate")
    if second is not None:
        item = second["certs"][0]
        name, digest = item["hash_algorithm"]["algorithm"].native, item["cert_hash"].native
    elif first is not None:  # an older form, with a digest that is weak where both sides can be chosen; here one can
        name, digest = "sha1", first["certs"][0]["cert_hash"].native
    else:
        raise StampError("does not say under its signature which certificate signed")
    if name not in _HASHES | {"sha1"}:
        raise StampError(f"names its certificate by a digest of the kind {plain(str(name))}, which is not known")
    identity = signer["sid"]
    serial = identity.chosen["serial_number"].native if identity.name == "issuer_and_serial_number" else None

    def names(certificate: Certificate) -> bool:
        data = certificate.public_bytes(Encoding.DER)
        same = hashlib.new(name, data, usedforsecurity=name != "sha1").digest() == digest
        return same and serial in {None, certificate.serial_number}

    return names


def _fitting(signer: Any) -> Callable[[Certificate], bool]:
    """Tells whether the signature is that of a certificate's key."""
    data = signer["signed_attrs"].untag().dump()
    signature: bytes = signer["signature"].native
    hash_name = signer["digest_algorithm"]["algorithm"].native
    kind: str = signer["signature_algorithm"].signature_algo
    if kind in {"rsassa_pkcs1v15", "ecdsa", "dsa"} and signer["signature_algorithm"]["algorithm"].native != kind:
        hash_name = signer["signature_algorithm"].hash_algo
    elif kind == "rsassa_pss":
        hash_name = signer["signature_algorithm"]["parameters"]["hash_algorithm"]["algorithm"].native
    if hash_name not in _HASHES:
        raise StampError(f"is signed over a digest of the kind {plain(str(hash_name))}, which is not safe or not known")
    return lambda certificate: _fits(certificate, kind, hash_name, signature, data)


def _fits(certificate: Certificate, kind: str, hash_name: str, signature: bytes, data: bytes) -> bool:
    """Whether ``signature`` is that of ``data`` by the key of a certificate.

    Raises
    ------
    StampError: the key or the kind of signature is one that is not known.
    """
    from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec, ed25519, padding, rsa

    algorithm = {"sha256": hashes.SHA256(), "sha384": hashes.SHA384(), "sha512": hashes.SHA512()}[hash_name]
    try:
        public = certificate.public_key()
        if isinstance(public, rsa.RSAPublicKey) and kind == "rsassa_pkcs1v15":
            public.verify(signature, data, padding.PKCS1v15(), algorithm)
        elif isinstance(public, rsa.RSAPublicKey) and kind == "rsassa_pss":
            pss = padding.PSS(padding.MGF1(algorithm), padding.PSS.AUTO)
            public.verify(signature, data, pss, algorithm)
        elif isinstance(public, ec.EllipticCurvePublicKey) and kind == "ecdsa":
            public.verify(signature, data, ec.ECDSA(algorithm))
        elif isinstance(public, ed25519.Ed25519PublicKey) and kind == "ed25519":
            public.verify(signature, data)
        else:
            raise StampError(f"has a signature of the kind {plain(kind)}, which does not go with its certificate")
    except InvalidSignature:
        return False
    except (UnsupportedAlgorithm, ValueError) as error:
        if isinstance(error, StampError):
            raise
        raise StampError("is signed by a certificate whose key cannot be read") from None
    return True
