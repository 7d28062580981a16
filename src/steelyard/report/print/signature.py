"""A signature on a finished PDF with a certificate that the user has, as readers of PDF know it.

It is added behind the file, of which no byte changes: attachments, tags and metadata stay as they are. The mark of the
signature has no size and lies off the page, so that an archival and accessible file stays one: ISO 19005-3, 6.3.3,
asks for no appearance of a mark without size, and ISO 14289-1, 7.18.1, for no tag of one off the page (both from
memory). The form is PAdES-B-B (ETSI EN 319 142-1), for which no connection is needed.
"""

from __future__ import annotations

import contextlib
import datetime
import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric import ec, rsa
    from cryptography.x509 import Certificate

LARGEST_CERTIFICATE = 1_000_000
"""Bytes of a file with key and certificate at most."""

FIELD = "Signature"
"""Name of the signature in the file."""

_CURVES = frozenset({"secp256r1", "secp384r1", "secp521r1"})
_FEWEST_BITS = 2048


class SignatureError(ValueError):
    """A file with key and certificate that cannot sign; the message says why."""


class PhraseError(SignatureError):
    """The pass phrase is missing or wrong."""


class SignatureLibraryError(SignatureError):
    """The library that signs is not installed."""


@dataclass(frozen=True, slots=True)
class Signatory:
    """A private key with its certificate, and the certificates above it."""

    key: rsa.RSAPrivateKey | ec.EllipticCurvePrivateKey
    certificate: Certificate
    above: tuple[Certificate, ...]


def signatory(data: bytes, phrase: bytes | None, now: datetime.datetime) -> Signatory:
    """Key and certificate of a PKCS #12 file.

    Parameters
    ----------
    phrase: None where there is none. now: the time at which it is to sign.

    Raises
    ------
    SignatureError: it is no such file, lacks a part, is not valid now, or not for signatures that readers of PDF know.
    PhraseError: the pass phrase is missing or wrong. SignatureLibraryError: the library that signs is not installed.
    """
    _check_form(data)
    _library()
    key, certificate, above = _unlocked(data, phrase)
    if key is None or certificate is None:
        raise SignatureError(f"has no {'private key' if key is None else 'certificate'}, so that it cannot sign")
    _check_use(certificate, now)
    return Signatory(_known(key), certificate, tuple(above))


def _unlocked(data: bytes, phrase: bytes | None) -> tuple[object, Certificate | None, list[Certificate]]:
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.serialization import pkcs12
    from cryptography.x509 import InvalidVersion

    for tried in (None, b"") if phrase is None else (phrase,):  # none and an empty one are two things in such a file
        with contextlib.suppress(ValueError), warnings.catch_warnings():
            warnings.simplefilter("ignore")  # on what is odd in it; see the checks that follow
            try:
                return pkcs12.load_key_and_certificates(data, tried)
            except (UnsupportedAlgorithm, InvalidVersion, TypeError):
                raise SignatureError("is written in a way that this program does not know; export it anew") from None
    wrong = "it is damaged, or has a pass phrase" if phrase is None else "the pass phrase is wrong, or it is damaged"
    raise PhraseError(f"cannot be opened: {wrong}")


def _check_form(data: bytes) -> None:
    """See that bytes begin and end as a PKCS #12 file does: one sequence that begins with version 3."""
    if len(data) > LARGEST_CERTIFICATE:
        raise SignatureError(
            f"has {len(data)} bytes; a file with key and certificate has at most {LARGEST_CERTIFICATE}"
        )
    if data[:1] != b"\x30" or b"\x02\x01\x03\x30" not in data[:12]:
        raise SignatureError("is not a PKCS #12 file (.p12 or .pfx) with a private key and its certificate")
    short = data[1]
    size = 2 + short if short < 0x80 else 2 + (short & 0x7F) + int.from_bytes(data[2 : 2 + (short & 0x7F)])
    if short != 0x80 and size != len(data):
        raise SignatureError(f"is a PKCS #12 file of {size} bytes, of which {len(data)} are there")


def _known(key: object) -> rsa.RSAPrivateKey | ec.EllipticCurvePrivateKey:
    """The key, if it is of a kind that readers of PDF know."""
    from cryptography.hazmat.primitives.asymmetric import ec, rsa

    if isinstance(key, rsa.RSAPrivateKey) and key.key_size >= _FEWEST_BITS:
        return key
    if isinstance(key, ec.EllipticCurvePrivateKey) and key.curve.name in _CURVES:
        return key
    raise SignatureError(
        f"has a key that readers of PDF do not know; they know RSA from {_FEWEST_BITS} bits on, and P-256, P-384, P-521"
    )


def _check_use(certificate: Certificate, now: datetime.datetime) -> None:
    """See that a certificate is valid now and for signatures."""
    from cryptography import x509

    begin, end = certificate.not_valid_before_utc, certificate.not_valid_after_utc
    if not begin <= now <= end:
        raise SignatureError(f"has a certificate that is valid from {begin:%Y-%m-%d} to {end:%Y-%m-%d}, not today")
    try:
        use = certificate.extensions.get_extension_for_class(x509.KeyUsage).value
    except x509.ExtensionNotFound:
        return
    except ValueError:
        raise SignatureError("has a certificate that cannot be read") from None
    if not (use.digital_signature or use.content_commitment):
        raise SignatureError("has a certificate that is not for signatures")


def _library() -> tuple[Any, Any, Any]:
    """The parts of the library that signs.

    Raises
    ------
    SignatureLibraryError: it is not installed.
    """
    try:
        from pyhanko.pdf_utils import incremental_writer
        from pyhanko.sign import fields, signers
    except ImportError:
        message = "a signature on a PDF needs the extra of that name: pip install 'steelyard[pdf-signature]'"
        raise SignatureLibraryError(message) from None
    return incremental_writer, fields, signers


def signed_pdf(pdf: bytes, by: Signatory) -> bytes:
    """A PDF with a signature behind it; other bytes each time, for the time and chance are in it.

    Raises
    ------
    SignatureLibraryError: the library that signs is not installed.
    """
    incremental_writer, fields, signers = _library()

    class Behind(incremental_writer.IncrementalPdfFileWriter):
        """Writes behind a file and leaves its metadata alone, which the library would lay out anew."""

        def _update_meta(self) -> None:
            """Change nothing: what the metadata say of archive and access was written by the typesetter."""

    class Signer(signers.PdfSigner):
        """Signs without raising the file to PDF 2.0, which is not what its metadata say it is."""

        def register_extensions(self, pdf_out: Any, *, md_algorithm: str) -> None:
            """Change nothing: a signature of the form PAdES says of itself which it is."""

    # An object begins a line, ISO 19005-3, 6.1.9 (from memory); the typesetter's last line has no end.
    out = Behind(io.BytesIO(pdf if pdf.endswith(b"\n") else pdf + b"\n"))
    # No appearance, no size, off the page, and marked to be printed as ISO 19005-3, 6.3.2 has it.
    unseen = fields.InvisSigSettings(set_print_flag=True, set_hidden_flag=False, box_out_of_bounds=True)
    field = fields.SigFieldSpec(
        FIELD, on_page=0, box=None, invis_sig_settings=unseen, readable_field_name="Signature of the whole file"
    )
    form = signers.PdfSignatureMetadata(
        field_name=FIELD, subfilter=fields.SigSeedSubFilter.PADES, md_algorithm="sha256"
    )
    signing: Any = Signer(form, _signer(signers.SimpleSigner, by), new_field_spec=field)
    return bytes(signing.sign_pdf(out).getvalue())


def _signer(kind: Any, by: Signatory) -> Any:
    """The signatory in the form of the library."""
    from asn1crypto import keys, x509  # pyright: ignore[reportMissingTypeStubs, reportUnknownVariableType]
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    certificates: Any = x509
    own, *above = (
        certificates.Certificate.load(item.public_bytes(Encoding.DER)) for item in (by.certificate, *by.above)
    )
    secret: Any = keys
    key = secret.PrivateKeyInfo.load(by.key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption()))
    signer = kind(signing_cert=own, signing_key=key, cert_registry=None)
    for item in above:
        signer.cert_registry.register(item)
    return signer
