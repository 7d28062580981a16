"""Time stamps: the request and the reply against OpenSSL, and every reply that is not what it should be."""

from __future__ import annotations

import datetime
import os
import subprocess
from pathlib import Path
from typing import Any

import pytest

from steelyard.seals.cose import parse
from steelyard.seals.record import from_bytes
from steelyard.seals.stamp import StampError, TrustedFileError, checked_stamp, clock_caution, request
from tests.seals.authority import NOON, STAMPING, Broken, a_seal, certified, house, reply

STUDY = os.environ.get("STEELYARD_STUDY") == "1"

_CONFIG = """\
[tsa]
default_tsa = test
[test]
serial = {folder}/serial
signer_cert = {folder}/time.pem
certs = {folder}/between.pem
signer_key = {folder}/time.key
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1
tsa_name = yes
ess_cert_id_alg = {kind}
"""


def openssl(*arguments: str | Path) -> str:
    done = subprocess.run(["openssl", "ts", *map(str, arguments)], capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the authority's files, a seal, and the program's request."""
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    root, between, time = house()
    for name, item in (("root", root), ("between", between), ("time", time)):
        (tmp_path / f"{name}.pem").write_bytes(item.pem)
    (tmp_path / "time.key").write_bytes(time.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    (tmp_path / "day.seal").write_bytes(a_seal())
    (tmp_path / "day.tsq").write_bytes(request(a_seal()))
    return tmp_path


@pytest.mark.parametrize("kind", ["sha1", "sha256"], ids=["RFC 3161", "RFC 5816"])
def test_openssl_answers_the_request_and_its_reply_is_read(folder: Path, kind: str) -> None:
    (folder / "serial").write_text("01\n")
    (folder / "test.conf").write_text(_CONFIG.format(folder=folder, kind=kind))
    asked = openssl("-query", "-in", folder / "day.tsq", "-text")
    assert "Hash Algorithm: sha256" in asked
    assert "Certificate required: yes" in asked
    assert "Nonce: unspecified" in asked
    openssl("-reply", "-config", folder / "test.conf", "-queryfile", folder / "day.tsq", "-out", folder / "day.tsr")
    data = (folder / "day.tsr").read_bytes()
    found = checked_stamp(data, a_seal(), house()[0].pem)
    assert found.authority == "Test Time (Test Clock House)"
    assert found.trusted == "Test Root (Test Clock House)"
    assert found.latest == found.time + datetime.timedelta(seconds=1)
    printed = openssl("-reply", "-in", folder / "day.tsr", "-text")
    assert f"{found.time:%b} {found.time.day:2} {found.time:%H:%M:%S %Y} GMT" in printed


def test_the_refusal_of_openssl_is_read(folder: Path) -> None:
    (folder / "serial").write_text("01\n")
    (folder / "test.conf").write_text(_CONFIG.format(folder=folder, kind="sha256"))
    other = folder / "other.tsq"
    openssl("-query", "-data", folder / "day.seal", "-sha512", "-out", other)  # which its authority does not take
    openssl("-reply", "-config", folder / "test.conf", "-queryfile", other, "-out", folder / "no.tsr")
    with pytest.raises(StampError, match=r"is a refusal by the authority: rejection, .*bad_alg"):
        checked_stamp((folder / "no.tsr").read_bytes(), a_seal())


def test_openssl_accepts_the_replies_of_these_tests_and_refuses_what_the_program_refuses(folder: Path) -> None:
    """So that a reply below that is refused is refused for its one fault."""

    def verified(data: bytes, seal: bytes = a_seal()) -> bool:
        (folder / "reply").write_bytes(data)
        (folder / "data").write_bytes(seal)
        said = openssl("-verify", "-in", folder / "reply", "-data", folder / "data", "-CAfile", folder / "root.pem")
        return "Verification: OK" in said

    assert verified(reply(a_seal()))
    assert not verified(reply(a_seal()), a_seal("another day"))
    assert not verified(reply(a_seal(), names_by="nothing"))


def test_the_request_is_the_same_twice_and_another_for_another_seal() -> None:
    assert request(a_seal()) == request(a_seal())
    assert request(a_seal()) != request(a_seal("another day"))


def test_without_a_trusted_certificate_the_answer_says_that_the_authority_is_not_known() -> None:
    found = checked_stamp(reply(a_seal()), a_seal())
    assert found.sentence == "Not sealed later than 2026-05-09 12:00:00 UTC, says Test Time (Test Clock House)."
    assert found.trusted is None
    assert "not known to you" in found.unchecked[0]
    assert len(found.checked) == 2


@pytest.mark.parametrize("anchor", [0, 1, 2], ids=["root", "between", "the authority itself"])
def test_any_certificate_on_the_way_can_be_the_trusted_one(anchor: int) -> None:
    trusted = house()[anchor]
    for file in (trusted.pem, trusted.der, certified("Other Root", ca=True).pem + trusted.pem):
        found = checked_stamp(reply(a_seal()), a_seal(), file)
        assert found.trusted is not None
        assert found.trusted.startswith(("Test Root", "Test Between", "Test Time")[anchor])
        assert not any("not known" in line for line in found.unchecked)


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("rsa", {}),
        ("rsa", {"scheme": "rsassa_pkcs1v15"}),
        ("rsa", {"scheme": "pss"}),
        ("p384", {"digest": "sha384"}),
        ("p256", {"digest": "sha512", "imprint": "sha512"}),
        ("ed25519", {}),
        ("p256", {"names_by": "signing_certificate"}),
        ("p256", {"status": "granted_with_mods"}),
    ],
    ids=str,
)
def test_every_usual_kind_of_signature_is_read(kind: str, options: dict[str, Any]) -> None:
    """And none is taken over another claim."""
    by = certified(f"Test Time {kind}", house()[1], kind=kind)
    data = reply(a_seal(), by, **options)
    assert checked_stamp(data, a_seal(), house()[0].pem).time == NOON
    with pytest.raises(StampError, match="changed"):
        checked_stamp(data.replace(b"20260509120000Z", b"20260509110000Z"), a_seal())


@pytest.mark.parametrize(
    ("accuracy", "latest"),
    [
        (None, "12:00:00"),
        ({"seconds": 2}, "12:00:02"),
        ({"millis": 1}, "12:00:01"),
        ({"seconds": 59, "millis": 999, "micros": 999}, "12:01:00"),
    ],
    ids=str,
)
def test_the_latest_time_takes_the_accuracy_in_and_is_rounded_up(accuracy: dict[str, int] | None, latest: str) -> None:
    found = checked_stamp(reply(a_seal(), accuracy=accuracy), a_seal())
    assert f"2026-05-09 {latest} UTC" in found.sentence


def _aside(info: dict[str, Any]) -> None:
    info["extensions"] = [{"extn_id": "1.2.3.4.5", "critical": True, "extn_value": b"\x05\x00"}]


_BAD = {
    "of another seal": (lambda: reply(a_seal("another day")), "something else"),
    "refused": (
        lambda: reply(a_seal(), status="rejection", words="no\x1b[31m\nway"),
        "refusal.*rejection, no.*way, bad",
    ),
    "waiting": (lambda: reply(a_seal(), status="waiting"), "refusal"),
    "for web servers": (lambda: reply(a_seal(), _signing(uses="1.3.6.1.5.5.7.3.1")), "not for time stamps alone"),
    "for all": (lambda: reply(a_seal(), _signing(uses=None)), "does not say that it is for time stamps"),
    "not critical": (lambda: reply(a_seal(), _signing(critical=False)), "not for time stamps alone"),
    "ended": (lambda: reply(a_seal(), _signing(years=(2020, 2025))), "from 2020-01-01 to 2025-01-01, not on 2026"),
    "not yet": (lambda: reply(a_seal(), _signing(years=(2030, 2040))), "not on 2026-05-09"),
    "weak digest": (lambda: reply(a_seal(), digest="sha1"), "sha1, which is not safe"),
    "weak imprint": (lambda: reply(a_seal(), imprint="sha1"), "sha1, which is not safe"),
    "no certificate": (lambda: reply(a_seal(), enclosed=[]), "does not enclose the certificate"),
    "another's certificate": (lambda: reply(a_seal(), enclosed=[_signing(years=(2020, 2041))]), "does not enclose"),
    "unnamed certificate": (lambda: reply(a_seal(), names_by="nothing"), "which certificate signed"),
    "two signatures": (lambda: reply(a_seal(), signers=2), "2 signatures"),
    "no signature": (lambda: reply(a_seal(), signers=0), "0 signatures"),
    "a condition": (lambda: reply(a_seal(), change=_aside), "condition"),
    "accuracy beyond time": (lambda: reply(a_seal(), accuracy={"seconds": 10**30}), "cannot be read"),
    "accuracy below zero": (lambda: reply(a_seal(), accuracy={"seconds": -5}), "below zero"),
    "empty": (lambda: b"", "not the reply"),
    "a page": (lambda: b"<html>404 not found</html>", "not the reply"),
    "the request": (lambda: request(a_seal()), "not the reply"),
    "deep": (lambda: b"0\x80" * 40_000, "not the reply"),
    "followed by more": (lambda: reply(a_seal()) + b"\0", "not the whole|not the reply"),
    "10 MB": (lambda: reply(a_seal()).ljust(10_000_000, b"\0"), "10000000 bytes; .* 100000"),
}


def _signing(*, uses: str | None = "", critical: bool = True, years: tuple[int, int] = (2020, 2040)) -> Any:
    from cryptography.x509 import ObjectIdentifier

    chosen = () if uses is None else (STAMPING,) if uses == "" else (ObjectIdentifier(uses),)
    return certified("Test Time", house()[1], uses=chosen, critical=critical, years=years)


@pytest.mark.parametrize("name", _BAD)
def test_a_reply_that_is_no_time_stamp_of_this_seal_is_refused_in_words(name: str) -> None:
    make, words = _BAD[name]
    with pytest.raises(StampError, match=words) as caught:
        checked_stamp(make(), a_seal())
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(
    "trusted",
    [
        lambda: certified("Test Root", ca=True, years=(2019, 2040)).pem,  # the right name, another key
        lambda: certified("Other Root", ca=True).pem,
    ],
    ids=["of the same name", "another"],
)
def test_a_signature_that_goes_back_to_nobody_trusted_is_refused(trusted: Any) -> None:
    with pytest.raises(StampError, match="does not go back"):
        checked_stamp(reply(a_seal()), a_seal(), trusted())


def test_a_way_with_a_gap_or_an_ended_or_wrong_certificate_is_refused() -> None:
    root, _, time = house()
    ended = certified("Ended", root, ca=True, years=(2020, 2025))
    layman = certified("Layman", root)
    faults = {
        "gap": reply(a_seal(), enclosed=[time]),
        "ended": reply(a_seal(), certified("T", ended), enclosed=[certified("T", ended), ended]),
        "layman": reply(a_seal(), certified("T", layman), enclosed=[certified("T", layman), layman]),
    }
    for data in faults.values():
        assert checked_stamp(data, a_seal()).trusted is None
        with pytest.raises(StampError, match="does not go back"):
            checked_stamp(data, a_seal(), root.pem)


@pytest.mark.parametrize("file", [b"", b"-----BEGIN CERTIFICATE-----\nnone", b"\x30\x03\x02\x01\x00"], ids=repr)
def test_a_file_of_trusted_certificates_that_has_none_is_refused(file: bytes) -> None:
    with pytest.raises(TrustedFileError, match="has no certificate"):
        checked_stamp(reply(a_seal()), a_seal(), file)


def test_a_certificate_that_the_reply_leaves_out_is_taken_from_the_trusted_file() -> None:
    found = checked_stamp(reply(a_seal(), enclosed=[]), a_seal(), house()[2].pem)
    assert found.trusted == found.authority


def test_another_name_in_the_certificate_of_the_same_key_is_found() -> None:
    renamed = reply(a_seal()).replace(b"Test Time", b"Best Time")
    assert renamed != reply(a_seal())
    with pytest.raises(StampError, match="does not enclose the certificate that signed it"):
        checked_stamp(renamed, a_seal())


def test_no_flipped_bit_and_no_cut_changes_what_a_time_stamp_says() -> None:
    """A part that is not signed may change, but then the answer is the same; a study flips every bit."""
    whole = reply(a_seal(), accuracy={"seconds": 1})
    root = house()[0].pem
    right = checked_stamp(whole, a_seal(), root)
    refused = 0
    for place in range(0, 8 * len(whole), 1 if STUDY else 89):
        changed = bytearray(whole)
        changed[place // 8] ^= 1 << place % 8
        try:
            assert checked_stamp(bytes(changed), a_seal(), root) == right
        except StampError:
            refused += 1
    assert refused > 0.9 * len(range(0, 8 * len(whole), 1 if STUDY else 89))
    for length in range(0, len(whole), 1 if STUDY else 61):
        with pytest.raises(StampError, match=r"not the reply|cannot be read"):
            checked_stamp(whole[:length], a_seal(), root)


def test_no_certificate_of_a_hostile_authority_ends_in_anything_but_words() -> None:
    """The authority signs over a broken certificate of its own; a study breaks every bit of it."""
    root, between, time = house()
    told = set()
    for place in range(0, 8 * (len(time.der) - 4), 1 if STUDY else 101):
        broken = Broken(time, place)
        try:
            told.add(checked_stamp(reply(a_seal(), broken, enclosed=[broken, between]), a_seal()).sentence)
        except StampError as error:
            told.add(str(error)[:20])
        try:
            found = checked_stamp(reply(a_seal(), broken, enclosed=[broken, between]), a_seal(), root.pem)
        except StampError:
            continue
        signed_part = len(time.certificate.tbs_certificate_bytes)
        assert place // 8 >= signed_part  # as the count of unused bits before its signature, which is over nothing
        assert found == checked_stamp(reply(a_seal()), a_seal(), root.pem)
    assert len(told) > 3


def test_a_seal_that_claims_to_be_later_than_its_time_stamp_is_named() -> None:
    late = a_seal(sealed_at=int(NOON.timestamp()) + 3600)
    found = checked_stamp(reply(late), late)
    caution = clock_caution(found, from_bytes(parse(late).payload))
    assert caution is not None
    assert "2026-05-09 13:00:00 UTC" in caution
    assert clock_caution(found, from_bytes(parse(a_seal()).payload)) is None
