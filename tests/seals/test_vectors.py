"""The parts of a seal against published vectors."""

from __future__ import annotations

import struct

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from steelyard.seals.base45 import Base45Error, base45, from_base45
from steelyard.seals.canonical import CanonicalError, canonical
from steelyard.seals.carrier import MOST_LETTERS, CarrierError, carried, uncarried
from steelyard.seals.cbor import CborError, decoded, encoded
from steelyard.seals.cose import to_be_signed
from steelyard.seals.ed25519 import PublicKeyError, check_key, verified

SIGNATURES = {  # RFC 8032, 7.1: public key, message, signature
    "1": (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    "2": (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    "3": (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
}

LOW_ORDER = (  # the points of the curve's small subgroup: y = 1, -1, 0, and from memory the two of order 8
    "0100000000000000000000000000000000000000000000000000000000000000",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "0000000000000000000000000000000000000000000000000000000000000000",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
)


@pytest.mark.parametrize("case", SIGNATURES.values(), ids=SIGNATURES)
def test_the_signatures_of_the_standard_are_accepted_and_no_flipped_bit(case: tuple[str, str, str]) -> None:
    public, message, signature = map(bytes.fromhex, case)
    assert verified(public, message, signature)
    for bit in range(8 * len(signature)):
        wrong = bytearray(signature)
        wrong[bit // 8] ^= 1 << bit % 8
        assert not verified(public, message, bytes(wrong))


@pytest.mark.parametrize("point", LOW_ORDER)
@pytest.mark.parametrize("sign", [0, 0x80])
def test_no_point_of_low_order_is_a_key(point: str, sign: int) -> None:
    data = bytearray.fromhex(point)
    data[31] |= sign
    with pytest.raises(PublicKeyError):
        check_key(bytes(data))


def test_a_number_beyond_the_field_is_no_key() -> None:
    with pytest.raises(PublicKeyError):
        check_key((2**255 - 19 + 3).to_bytes(32, "little"))


def test_the_bytes_to_be_signed_are_those_of_the_working_groups_example() -> None:
    # COSE working group, examples, eddsa-examples 02 (RFC 9052, 4.4)
    wanted = "846a5369676e61747572653143a101274054546869732069732074686520636f6e74656e742e"
    assert to_be_signed(bytes.fromhex("a10127"), b"This is the content.").hex() == wanted


@pytest.mark.parametrize(("data", "text"), [(b"AB", "BB8"), (b"Hello!!", "%69 VD92EX0"), (b"base-45", "UJCLQE7W581")])
def test_base45_of_the_standard(data: bytes, text: str) -> None:
    # RFC 9285, 4.3
    assert base45(data) == text
    assert from_base45(text) == data


@pytest.mark.parametrize("text", ["GGW", ":::", "A", "ABCD", "abc"])
def test_what_is_no_base45_is_refused(text: str) -> None:
    # GGW and ::: are those of RFC 9285, 4.2 and 6: numbers beyond two bytes
    with pytest.raises(Base45Error):
        from_base45(text)


@given(st.binary(max_size=60))
def test_base45_there_and_back(data: bytes) -> None:
    assert from_base45(base45(data)) == data


NUMBERS = {  # RFC 8785, appendix B
    "44b52d02c7e14af6": "1e+23",
    "444b1ae4d6e2ef50": "1e+21",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "43143ff3c1cb0959": "1424953923781206.2",
    "8000000000000000": "0",
}


@pytest.mark.parametrize(("bits", "text"), NUMBERS.items())
def test_the_numbers_of_canonical_json(bits: str, text: str) -> None:
    number = struct.unpack(">d", bytes.fromhex(bits))[0]
    assert canonical([number]) == f"[{text}]".encode()


def test_keys_are_in_the_order_of_utf_16() -> None:
    keys = ["\u20ac", "\r", "\ufb33", "1", "\U0001f600", "\u0080", "\u00f6"]  # RFC 8785, 3.2.3
    value = dict.fromkeys(keys, 1)
    assert canonical(value) == rfc8785.dumps(value)


TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
NUMBERS_OF_ALL_KINDS = st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(allow_nan=False, allow_infinity=False)
JSON = st.recursive(
    st.none() | st.booleans() | NUMBERS_OF_ALL_KINDS | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
    max_leaves=12,
)


@given(JSON)
def test_canonical_json_is_that_of_the_reference_library(value: object) -> None:
    assert canonical(value) == rfc8785.dumps(value)  # pyright: ignore[reportArgumentType]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**53, "\ud800"])
def test_what_has_no_canonical_form_is_refused(value: object) -> None:
    with pytest.raises(CanonicalError):
        canonical([value])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("1817", "longer than it need be"),  # 23 in two bytes
        ("190017", "longer than it need be"),
        ("a2020101 01".replace(" ", ""), "out of order"),
        ("a201010101", "doubled"),
        ("9f01ff", "open or reserved length"),
        ("f93c00", "no seal has"),  # 1.0 as a half
        ("c11a514b67b0", "tag 1"),
        ("0101", "after its end"),
        ("9bffffffffffffffff", "cut short"),
        ("5bffffffffffffffff", "cut short"),
        ("81" * 40 + "01", "nested"),
        ("61ff", "cannot be read"),
        ("", "cut short"),
    ],
)
def test_cbor_of_another_form_is_refused(data: str, words: str) -> None:
    # RFC 8949, 4.2.1
    with pytest.raises(CborError, match=words):
        decoded(bytes.fromhex(data))


@pytest.mark.parametrize(
    ("value", "data"),
    [(1000, "1903e8"), (-1000, "3903e7"), (None, "f6"), ({1: 2, 3: 4}, "a201020304"), (["a", b"\1"], "8261614101")],
)
def test_cbor_of_the_standard(value: object, data: str) -> None:
    # RFC 8949, appendix A
    assert encoded(value).hex() == data
    assert decoded(bytes.fromhex(data)) == value


def test_a_seal_comes_back_out_of_its_text() -> None:
    text = carried(b"seal " * 60, "Fête: 12 May, ½ t")
    assert text.startswith("FETE 12 MAY 1 2 T:")
    assert uncarried(f"\n{text}\r\n") == b"seal " * 60
    assert MOST_LETTERS == 970  # ISO/IEC 18004, version 20 at level M


def test_a_bomb_is_not_unpacked() -> None:
    with pytest.raises(CarrierError, match="more than"):
        uncarried(carried(bytes(10_000_000), ""))
