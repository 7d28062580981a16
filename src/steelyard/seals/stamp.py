"""Time stamps: a third party says at which time a seal was there at the latest.

The program opens no connection. It writes the request, the user has it answered by an authority, and the program reads
the reply. Source: RFC 3161; paths of certificates by RFC 5280, as the library ``cryptography`` has them.
"""

from __future__ import annotations

import datetime
import hashlib
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from steelyard.seals.record import SealRecord
from steelyard.seals.stamp_reply import StampError, StampLibraryError, asn1, plain, read_reply

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

__all__ = [
    "LARGEST_TRUSTED",
    "REPLY_NAME",
    "Stamp",
    "StampError",
    "StampLibraryError",
    "TrustedFileError",
    "certificates_in",
    "checked_stamp",
    "clock_caution",
    "request",
]

LARGEST_TRUSTED = 1_000_000
"""Bytes of a file of trusted certificates at most."""

REPLY_NAME = "seal.tsr"
"""Name of a reply that is attached to a ticket."""


class TrustedFileError(StampError):
    """A file of trusted certificates that has none."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A time stamp of a seal whose signature is right.

    Attributes
    ----------
    time, latest: when the authority stamped, and the end of the span that its accuracy leaves (UTC).
    authority: the name in the certificate that signed. trusted: the name of the certificate that the user trusts and
    that the authority's goes back to; None where the user named none.
    """

    time: datetime.datetime
    latest: datetime.datetime
    authority: str
    trusted: str | None

    @property
    def sentence(self) -> str:
        """The one sentence that a time stamp adds to a seal."""
        return f"Not sealed later than {self.latest:%Y-%m-%d %H:%M:%S} UTC, says {self.authority}."

    @property
    def checked(self) -> tuple[str, ...]:
        """Sentences on the checks that were made."""
        always = (
            "The reply is about this seal and no other.",
            "Its signature fits the certificate that came with it, which is one for time stamps and was valid then.",
        )
        return always if self.trusted is None else (*always, f"That certificate goes back to {self.trusted}.")

    @property
    def unchecked(self) -> tuple[str, ...]:
        """Sentences on the checks that were not made."""
        withdrawn = "Whether the certificate was withdrawn was not checked, for that needs a connection."
        unknown = (
            f"The authority is not known to you: anybody can make a certificate with the name {self.authority}. "
            "Name a certificate that you trust with --trust."
        )
        return (withdrawn,) if self.trusted is not None else (unknown, withdrawn)


def request(seal: bytes) -> bytes:
    """The request to stamp a seal, as the file to send to an authority; always the same bytes.

    It holds SHA-256 of the seal, and asks for the authority's certificate.

    Raises
    ------
    StampLibraryError: the library that writes it is not installed.
    """
    imprint = {"hash_algorithm": {"algorithm": "sha256"}, "hashed_message": hashlib.sha256(seal).digest()}
    whole: Any = asn1().TimeStampReq({"version": "v1", "message_imprint": imprint, "cert_req": True})
    return bytes(whole.dump())


def checked_stamp(reply: bytes, seal: bytes, trusted: bytes | None = None) -> Stamp:
    """The time stamp of a seal.

    Parameters
    ----------
    reply: the file of the authority. seal: the bytes of the seal.
    trusted: a file with one or more certificates, PEM or DER, that the user trusts; None where there is none.

    Raises
    ------
    StampError: it is no reply, a refusal, about something else, changed, signed by a certificate that is not for time
    stamps or was not valid at the time, or by one that does not go back to a trusted one.
    TrustedFileError: the file of certificates has none. StampLibraryError: the library is not installed.
    """
    with warnings.catch_warnings():  # on what is odd but can be read, which a digest or a signature is over
        warnings.simplefilter("ignore")
        return _checked(reply, seal, trusted)


def _checked(reply: bytes, seal: bytes, trusted: bytes | None) -> Stamp:
    anchors = () if trusted is None else certificates_in(trusted)
    said = read_reply(reply)
    if said.hash_name not in {"sha256", "sha384", "sha512"}:
        raise StampError(f"stamps a digest of the kind {plain(said.hash_name)}, which is not safe or not known")
    if hashlib.new(said.hash_name, seal).digest() != said.imprint:
        raise StampError("is a time stamp of something else, not of this seal")
    signer = said.signer(anchors)
    if not said.fits(signer):
        raise StampError("was changed, or its signature is not that of the certificate in it")
    _check_use(signer, said.time)
    anchor = None if trusted is None else _anchor(signer, said.certificates, anchors, said.time)
    return Stamp(said.time, said.latest, _name(signer), None if anchor is None else _name(anchor))


def clock_caution(stamp: Stamp, record: SealRecord) -> str | None:
    """A sentence where the seal claims a later time than its stamp; None where the two agree."""
    if record.when <= stamp.latest:
        return None
    return (
        f"The seal itself says {record.when:%Y-%m-%d %H:%M:%S} UTC, which is later than its time stamp: "
        "the weigher's clock was ahead."
    )


def certificates_in(data: bytes) -> tuple[Certificate, ...]:
    """The certificates of a file, PEM or DER.

    Raises
    ------
    TrustedFileError: there are none.
    """
    from cryptography import x509

    try:
        if b"-----BEGIN" in data:
            return tuple(x509.load_pem_x509_certificates(data))
        return (x509.load_der_x509_certificate(data),)
    except (ValueError, x509.InvalidVersion):
        raise TrustedFileError("has no certificate; a PEM or DER file with the authority's own belongs there") from None


def _check_use(certificate: Certificate, time: datetime.datetime) -> None:
    """See that a certificate is one for time stamps alone, and was valid at a time.

    Source: RFC 3161, section 2.3.
    """
    from cryptography import x509

    purpose = x509.oid.ExtendedKeyUsageOID.TIME_STAMPING
    try:
        use = certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage)
    except (x509.ExtensionNotFound, x509.DuplicateExtension, x509.UnsupportedGeneralNameType, ValueError):
        raise StampError("is signed by a certificate that does not say that it is for time stamps") from None
    if list(use.value) != [purpose] or not use.critical:
        raise StampError("is signed by a certificate that is not for time stamps alone")
    begin, end = certificate.not_valid_before_utc, certificate.not_valid_after_utc
    if not begin <= time <= end:
        raise StampError(
            f"is signed by a certificate that is valid from {begin:%Y-%m-%d} to {end:%Y-%m-%d}, "
            f"not on {time:%Y-%m-%d}, the time of the stamp"
        )


def _anchor(
    signer: Certificate, between: Sequence[Certificate], anchors: Sequence[Certificate], time: datetime.datetime
) -> Certificate:
    """The trusted certificate that the signer's goes back to, each link valid at the time of the stamp.

    Raises
    ------
    StampError: it goes back to none of them.
    """
    from cryptography import x509
    from cryptography.x509 import verification as v

    def may_sign(policy: Any, certificate: Any, use: x509.KeyUsage | None) -> None:
        del policy, certificate
        if use is not None and not use.key_cert_sign:
            raise ValueError("a certificate that may not sign others")

    issuers = (
        v.ExtensionPolicy.permit_all()
        .require_present(x509.BasicConstraints, v.Criticality.AGNOSTIC, None)
        .may_be_present(x509.KeyUsage, v.Criticality.AGNOSTIC, may_sign)
    )
    policy = v.PolicyBuilder().store(v.Store(list(anchors))).time(time)
    policy = policy.extension_policies(ca_policy=issuers, ee_policy=v.ExtensionPolicy.permit_all())
    try:
        return policy.build_client_verifier().verify(signer, list(between)).chain[-1]
    except (v.VerificationError, ValueError):
        raise StampError(
            f"is signed by {_name(signer)}, whose certificate does not go back to one that you trust"
        ) from None


def _name(certificate: Certificate) -> str:
    """A certificate's own name: the common one, and the organisation behind it.

    Raises
    ------
    StampError: it has none that can be read.
    """
    from cryptography.x509.oid import NameOID

    try:
        subject = certificate.subject
    except ValueError:
        raise StampError("is signed by a certificate whose name cannot be read") from None
    common, house = (
        [plain(str(item.value)) for item in subject.get_attributes_for_oid(kind)]
        for kind in (NameOID.COMMON_NAME, NameOID.ORGANIZATION_NAME)
    )
    whole = [*common[:1], *(f"({name})" for name in house[:1] if common[:1] != [name])]
    return " ".join(whole) if common else (house[0] if house else plain(subject.rfc4514_string()) or "nobody")
