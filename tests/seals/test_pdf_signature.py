"""A signature on a PDF: what two other programs say of it, pyHanko's own check and Poppler's, and what cannot sign."""

from __future__ import annotations

import contextlib
import datetime
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.serialization import NoEncryption, pkcs12

from steelyard.report.print.signature import PhraseError, SignatureError, signatory, signed_pdf
from tests.seals.authority import NOON
from tests.seals.certificates import PHRASE, blank_pdf, owner, p12, root, signature_of, state_of


@cache
def signed() -> bytes:
    """A page, signed."""
    return signed_pdf(blank_pdf(), signatory(p12(), PHRASE, NOON))


def test_another_program_finds_the_signature_right_and_over_the_whole_file(tmp_path: Path) -> None:
    state = state_of(signed())
    assert (state.intact, state.valid, state.trusted) == (True, True, True)
    assert state.coverage.name == "ENTIRE_FILE"
    assert state.signing_cert.subject.native["common_name"] == "A. Weigher"
    above = [item.subject.native["common_name"] for item in signature_of(signed()).other_embedded_certs]
    assert above == ["Paper Root"]
    (tmp_path / "signed.pdf").write_bytes(signed())
    said = subprocess.run(
        ["pdfsig", "-nocert", str(tmp_path / "signed.pdf")], capture_output=True, text=True, check=True
    ).stdout
    assert "Signature Validation: Signature is Valid." in said
    assert "Total document signed" in said
    assert "Signature Type: ETSI.CAdES.detached" in said


def test_a_flipped_bit_is_found_wherever_the_signature_is_over_it() -> None:
    """All but the hexadecimal digits of the signature itself, which end in zeros that mean nothing."""
    whole = signed()
    assert state_of(whole).bottom_line
    start, first, second, last = signature_of(whole).byte_range
    assert (start, second + last) == (0, len(whole))
    assert bytes.fromhex(whole[first + 1 : second - 1].decode()).startswith(b"\x30\x82")
    for place in [*range(0, first, 97), first - 1, second, *range(second + 1, len(whole), 97), len(whole) - 1]:
        changed = bytearray(whole)
        changed[place] ^= 1
        found = True
        with contextlib.suppress(Exception):  # a file that cannot be read is found too, in the library's own way
            found = not state_of(bytes(changed)).bottom_line
        assert found, place


@pytest.mark.parametrize("kind", ["rsa", "p384"])
@pytest.mark.parametrize("phrase", [None, b""], ids=["none", "empty"])
def test_other_keys_sign_too_and_a_file_needs_no_pass_phrase(kind: str, phrase: bytes | None) -> None:
    made = pkcs12.serialize_key_and_certificates(
        None,
        owner(kind=kind).key,  # type: ignore[arg-type]
        owner(kind=kind).certificate,
        [root().certificate],
        NoEncryption(),
    )
    assert state_of(signed_pdf(blank_pdf(), signatory(made, phrase, NOON))).bottom_line


def _weak() -> bytes:
    key = rsa.generate_private_key(65537, 1024)
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Weak")])
    from cryptography.hazmat.primitives import hashes

    certificate = (
        x509.CertificateBuilder(name, name, key.public_key(), 1)
        .not_valid_before(NOON - datetime.timedelta(days=1))
        .not_valid_after(NOON + datetime.timedelta(days=1))
        .sign(key, hashes.SHA256())
    )
    return pkcs12.serialize_key_and_certificates(None, key, certificate, None, NoEncryption())


_BAD: dict[str, tuple[Callable[[], bytes], bytes | None, str]] = {
    "wrong phrase": (p12, b"wrong", "the pass phrase is wrong"),
    "no phrase": (p12, None, "has a pass phrase"),
    "no key": (lambda: p12(key=False), PHRASE, "has no private key"),
    "no certificate": (lambda: p12(certificate=False), PHRASE, "has no certificate"),
    "empty": (lambda: b"", None, "is not a PKCS #12 file"),
    "a certificate alone": (lambda: owner().der, None, "is not a PKCS #12 file"),
    "a text": (lambda: owner().pem, None, "is not a PKCS #12 file"),
    "cut short": (lambda: p12()[:-10], PHRASE, "of which"),
    "followed by more": (lambda: p12() + b"\0", PHRASE, "of which"),
    "10 MB": (lambda: p12().ljust(10_000_000, b"\0"), PHRASE, "10000000 bytes"),
    "ended": (lambda: p12(owner(years=(2020, 2025))), PHRASE, "from 2020-01-01 to 2025-01-01, not today"),
    "not yet": (lambda: p12(owner(years=(2030, 2040))), PHRASE, "not today"),
    "for other certificates": (lambda: p12(root()), PHRASE, "not for signatures"),
    "unusual key": (lambda: p12(owner(kind="ed25519")), PHRASE, "readers of PDF do not know"),
    "short key": (_weak, None, "readers of PDF do not know"),
}


@pytest.mark.parametrize("name", _BAD)
def test_what_cannot_sign_is_refused_in_words(name: str) -> None:
    make, phrase, words = _BAD[name]
    with pytest.raises(SignatureError, match=words) as caught:
        signatory(make(), phrase, NOON)
    assert isinstance(caught.value, PhraseError) == (name in {"wrong phrase", "no phrase"})


def test_a_damaged_file_is_refused_in_words() -> None:
    whole = p12()
    for place in range(0, len(whole), 23):
        changed = bytearray(whole)
        changed[place] ^= 0x10
        try:
            signatory(bytes(changed), PHRASE, NOON)
        except SignatureError:
            continue
        pytest.fail(f"byte {place}")
