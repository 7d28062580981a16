"""Certificates for people who sign, as files, and what another program says of a signed PDF."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

from cryptography.hazmat.primitives.serialization import BestAvailableEncryption, NoEncryption, pkcs12

from tests.seals.authority import NOON, Certified, certified

PHRASE = b"a long way home"


def root() -> Certified:
    return certified("Paper Root", ca=True, years=(2000, 2999))


def owner(**options: Any) -> Certified:
    return certified("A. Weigher", root(), **{"uses": (), "commits": True, **options})


@cache
def p12(
    item: Certified | None = None, phrase: bytes | None = PHRASE, *, key: bool = True, certificate: bool = True
) -> bytes:
    """A file with key and certificate, and the certificate above."""
    used = item or owner()
    secret: Any = used.key if key else None
    own = used.certificate if certificate else None
    lock = NoEncryption() if phrase is None else BestAvailableEncryption(phrase)
    return pkcs12.serialize_key_and_certificates(b"own", secret, own, [root().certificate], lock)


def signature_of(pdf: bytes) -> Any:
    """The one signature of a file."""
    from pyhanko.pdf_utils.reader import PdfFileReader

    (signature,) = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    return signature


def state_of(pdf: bytes) -> Any:
    """Another program's judgement of the one signature of a file."""
    from asn1crypto.x509 import Certificate
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.pdf_embedded import (
        ValidationContext,  # pyright: ignore[reportPrivateImportUsage] - the package that it is from is not declared
    )

    trusted = [Certificate.load(root().der)]
    context = ValidationContext(trusted, allow_fetching=False, revocation_mode="soft-fail", moment=NOON)
    return validate_pdf_signature(signature_of(pdf), context)


@cache
def blank_pdf() -> bytes:
    """A page with nothing on it."""
    from pypdf import PdfWriter

    pdf, made = PdfWriter(), io.BytesIO()
    pdf.add_blank_page(width=595, height=842)
    pdf.write(made)
    return made.getvalue()
