"""``steelyard authenticate``, from a stranger's seat."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from steelyard.seals.cose import signed
from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.record import to_bytes
from tests.cli.days import NURSERY, run
from tests.seals.a_seal import OLIVE, SEALED_AT, Weigher, content, sealed_day
from tests.seals.test_reading import attached, page, saved, ticket

FINGERPRINT = fingerprint_of(Weigher(OLIVE).public)
KNOWN = ("--fingerprint", FINGERPRINT)


@pytest.fixture(autouse=True)
def no_keys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STEELYARD_KEYS", str(tmp_path / "keys"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790100000")
    monkeypatch.chdir(tmp_path)


def test_a_stranger_goes_from_paper_to_genuine_in_one_command() -> None:
    """A sheet at 200 dots an inch, four a module, turned by 7 degrees, blurred, and saved as a telephone does."""
    from PIL import ImageFilter

    picture = page(sealed_day(NURSERY).text, side=4).rotate(7, expand=True, fillcolor=190)
    Path("photo.jpg").write_bytes(saved(picture.filter(ImageFilter.GaussianBlur(0.8)), "JPEG", quality=70))
    result = run("authenticate", "photo.jpg", *KNOWN)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith(f"genuine: sealed with the key {FINGERPRINT[:20]}")
    assert 'sealed: seal 1, "Nursery van with the seedling trailer", sealed' in result.stdout
    assert "differs: nothing was given to compare with; hold the figures below against" in result.stdout
    assert "gross mass of van, empty                2,658.0   8.4  kg\n" in result.stdout


def test_a_key_that_nobody_named_is_not_genuine() -> None:
    result = run("authenticate", "--text", sealed_day(NURSERY).text)
    assert result.exit_code == 1
    assert result.stdout.startswith("unknown key: whole, but you do not know the key")
    assert "genuine" not in result.stdout


def test_a_ticket_and_the_json_of_the_answer() -> None:
    Path("ticket.pdf").write_bytes(ticket(*attached()))
    result = run("authenticate", "ticket.pdf", "--json", "--no-weighing", *KNOWN)
    assert (result.exit_code, result.stderr) == (0, "")
    answer = json.loads(result.stdout)
    jsonschema.Draft202012Validator(json.loads(run("schema", "authenticate").stdout)).validate(answer)
    assert answer["judgement"] == "genuine"
    assert answer["seals"][0]["sealed"]["sealed_at"] == "2026-09-21T14:13:20Z"
    refused = run("authenticate", "no.pdf", "--json")
    assert refused.exit_code == 2
    jsonschema.Draft202012Validator(json.loads(run("schema", "authenticate").stdout)).validate(
        json.loads(refused.stdout)
    )


def test_a_seal_that_lies_beside_is_found_and_what_differs_is_told() -> None:
    found = json.loads(json.dumps(content(NURSERY).findings))
    found["findings"][0]["value"] += 10
    Path("day.json").write_text(json.dumps(found))
    Path("day.seal").write_bytes(sealed_day(NURSERY).data)
    result = run("authenticate", "day.json", *KNOWN)
    assert result.exit_code == 1
    assert result.stdout.startswith("different: ")
    assert "  - wheel 1L of van, empty: 727.8 kg here, 717.8 kg sealed\n" in result.stdout.replace("\n    ", " ")
    assert "genuine" not in result.stdout


def test_a_day_file_is_weighed_again_unless_it_is_not_wanted() -> None:
    Path("day.toml").write_text(NURSERY)
    Path("day.seal").write_bytes(sealed_day(NURSERY).data)
    result = run("authenticate", "day.toml", *KNOWN)
    assert result.exit_code == 0
    assert "weighed again here" in result.stdout.replace("\n  ", " ")
    result = run("authenticate", "day.toml", "--no-weighing", *KNOWN)
    assert result.exit_code == 0
    assert "weighed again" not in result.stdout


def test_ones_own_key_is_known() -> None:
    from steelyard.seals.ring import KeyRing, keys_folder

    weigher = KeyRing(keys_folder()).any_weigher("ada")
    seal = weigher.seal(content(NURSERY), SEALED_AT)
    Path("day.seal").write_bytes(seal.data)
    result = run("authenticate", "day.seal")
    assert "It is your own key." in result.stdout.replace("\n  ", " ")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "Error: name a FILE, or give the text of a code with --text\n"),
        (("no.pdf",), "no.pdf: cannot be read: No such file or directory\n"),
        (("--text", "A" * 20_001), "--text: has 20,001 letters; a code has 20,000 at most\n"),
        (
            ("--text", "x", "--fingerprint", "3f2a"),
            "'3f2a' is no fingerprint: it has 4 digits, and a fingerprint has 32\n",
        ),
        (("--text", "x", "--keys", "no.json"), "no.json: "),
    ],
)
def test_a_bad_argument_is_one_message(arguments: tuple[str, ...], message: str) -> None:
    result = run("authenticate", *arguments)
    assert result.exit_code == 2
    assert message in result.stderr
    assert result.stdout == ""


def test_the_standard_input_is_read() -> None:
    from click.testing import CliRunner

    from steelyard.cli import cli

    result = CliRunner().invoke(cli, ["authenticate", "-", *KNOWN], input=sealed_day(NURSERY).data)
    assert result.exit_code == 0
    result = CliRunner().invoke(cli, ["authenticate", "-", *KNOWN], input=io.BytesIO(b"A" * 10_000_000))
    assert result.exit_code == 2


def test_a_hostile_seal_reaches_no_terminal() -> None:
    title = "\x1b[31mx\u202e\u2028genuine: sealed\ngenuine: sealed"
    record = replace(sealed_day(NURSERY).record, title=title, unit="\x1b[1mkg", program="\x07")
    Path("day.seal").write_bytes(signed(to_bytes(record), record.public, Weigher(OLIVE).sign))
    result = run("authenticate", "day.seal")
    assert result.exit_code == 1
    assert not [line for line in result.stdout.splitlines() if line.startswith("genuine")]
    assert not [sign for sign in result.stdout if not sign.isprintable() and sign != "\n"]


def test_an_own_key_that_is_revoked_here_is_not_good_by_an_older_list() -> None:
    Path("day.toml").write_text(NURSERY)
    assert run("seal", "day.toml", "--as", "olive").exit_code == 0
    assert run("key", "show", "--as", "olive", "--publish", "older.json").exit_code == 0
    assert run("authenticate", "day.seal", "--keys", "older.json").exit_code == 0
    assert run("key", "revoke", "--as", "olive", "--reason", "stolen").exit_code == 0
    result = run("authenticate", "day.seal", "--keys", "older.json")
    assert result.exit_code == 1
    assert result.stdout.startswith("revoked key: ")


def test_a_text_without_a_seal_is_said_once() -> None:
    result = run("authenticate", "--text", "A NOTE")
    assert result.stdout == "no seal: there is no colon behind the words\n"
    assert result.exit_code == 1
