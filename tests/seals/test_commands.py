"""``steelyard key`` and ``steelyard seal``, from options to files, and everything that a person can get wrong."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import click
import pytest
from click.testing import Result

from steelyard.cli import weighers
from steelyard.dayfile import read_day
from steelyard.model import digest_of
from steelyard.seals.cose import parse
from steelyard.seals.keybook import read_book
from steelyard.seals.record import SealRecord, from_bytes
from steelyard.seals.sealing import findings_digest
from tests.cli.days import NURSERY, run, write


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to be in, with a weigh day, and a folder of keys that is not there yet."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("STEELYARD_KEYS", str(tmp_path / "keys"))
    monkeypatch.setattr("steelyard.seals.keys.ROUNDS", 1000)
    write(tmp_path)
    return tmp_path


def refused(*arguments: str) -> str:
    """The one message of a command that cannot be done."""
    done = run(*arguments)
    assert done.exit_code == 2, done.output
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    return done.stderr.strip()


def fine(*arguments: str) -> Result:
    done = run(*arguments)
    assert done.exit_code == 0, done.output
    return done


def record(name: str = "nursery.seal") -> SealRecord:
    return from_bytes(parse(Path(name).read_bytes()).payload)


def test_a_day_is_sealed_with_its_findings_beside_it(folder: Path) -> None:
    done = fine("seal", "nursery.toml")
    found = record()
    assert found.number == 1
    assert found.sealed_at == 1_796_040_000  # SOURCE_DATE_EPOCH
    assert found.title == "Nursery van with the seedling trailer"
    assert found.readings.hex() == digest_of(read_day("nursery.toml"))
    findings = json.loads(Path("nursery.findings.json").read_bytes())
    assert found.findings == findings_digest(findings)
    # what 'findings --json' prints is what is sealed, but for the name of the file
    assert {**json.loads(fine("findings", "nursery.toml", "--json").stdout), "file": ""} == findings
    assert "Seal number 1 of weigher, 2026-11-30 12:00 UTC" in done.stdout
    assert "A key was made for 'weigher': " in done.stderr
    assert "Nobody can make a lost private key again" in done.stderr
    assert str(folder / "keys" / "weigher") in done.stderr
    assert "It does not show who that is" in " ".join(done.stdout.split())
    assert all(len(line) <= 80 for line in done.stdout.splitlines())


def test_the_same_day_gives_the_same_seal_and_a_changed_one_another() -> None:
    fine("seal", "nursery.toml")
    first = Path("nursery.seal").read_bytes()
    assert "This very day was sealed before" in fine("seal", "nursery.toml", "-o", "again.seal").stdout
    assert Path("again.seal").read_bytes() == first
    assert Path("again.findings.json").exists()
    write(Path(), text=NURSERY.replace("720", "725"))
    done = fine("seal", "nursery.toml")
    assert record().number == 2
    assert "the digest of seal 1, so that one left out is missed" in done.stdout
    assert "nursery.seal: held seal 1 of the key" in done.stderr
    assert "The log of your seals keeps it" in done.stderr
    fine("key", "new", "--as", "other")
    assert "The log" not in fine("seal", "nursery.toml", "--as", "other").stderr


def test_a_folder_takes_the_names_of_the_day(folder: Path) -> None:
    (folder / "out").mkdir()
    fine("seal", "nursery.toml", "-o", "out")
    assert {path.name for path in (folder / "out").iterdir()} == {"nursery.seal", "nursery.findings.json"}


def test_a_clock_that_is_behind_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    fine("seal", "nursery.toml")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1000000000")
    write(Path(), text=NURSERY.replace("720", "725"))
    assert "The clock is behind: seal 1 was made at 2026-11-30 12:00 UTC" in fine("seal", "nursery.toml").stderr
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "noon")
    assert refused("seal", "nursery.toml").startswith("SOURCE_DATE_EPOCH: 'noon' is not a number of seconds")


def test_a_day_whose_readings_contradict_one_another_is_sealed_and_that_is_said() -> None:
    again = '[[drafts]]\nstate = "coupled"\nreadings = { "beds/1L" = ["a", 960], "beds/1R" = ["b", 540] }\n'
    write(Path(), text=NURSERY + again)
    words = " ".join(fine("seal", "nursery.toml").stdout.split())
    assert "The readings contradict one another. They are sealed as they are, and the seal says so." in words
    assert "on readings that contradict one another, and the seal marks that" in words


def test_a_day_with_faults_is_not_sealed_and_no_key_is_made(folder: Path) -> None:
    write(folder, text=NURSERY.replace("kind", "kid", 1))
    assert "nursery.toml:" in refused("seal", "nursery.toml")
    assert "No such file" in refused("seal", "none.toml")
    assert not (folder / "keys").exists()
    assert not (folder / "nursery.seal").exists()


def test_no_seal_is_written_over_the_day_nor_where_there_is_no_folder(folder: Path) -> None:
    assert "is the weigh day itself" in refused("seal", "nursery.toml", "-o", "nursery.toml")
    assert "there is no folder" in refused("seal", "nursery.toml", "-o", "none/a.seal")
    write(folder, name="day.findings.json")
    assert "is the weigh day itself" in refused("seal", "day.findings.json", "-o", "day.seal")
    assert not (folder / "keys").exists()  # no number was given for nothing
    assert (folder / "nursery.toml").read_text() == NURSERY


def test_a_key_from_new_to_revoked(folder: Path) -> None:
    made = fine("key", "new", "--name", "Marta Ruiz").stdout
    assert "A key was made for weigher." in made
    shown = fine("key", "show").stdout
    assert "weigher, shown as Marta Ruiz\n" in shown
    assert "  no seal yet\n" in shown
    assert "since 2026-11-30 12:00 UTC, in use" in shown
    fine("seal", "nursery.toml")
    assert "1 seal, the last on 2026-11-30 12:00 UTC" in fine("key", "show").stdout
    assert "signed by the old one" in fine("key", "rotate").stdout
    fine("seal", "nursery.toml")
    assert record().number == 2  # another key, another seal
    assert fine("key", "show", "--publish", "keys.json").stdout == "keys.json\n"
    book = read_book(Path("keys.json").read_bytes(), "keys.json")
    assert [key.signs for key in book.keys] == [False, True]
    assert book.name == "Marta Ruiz"
    assert stat.S_IMODE((folder / "keys.json").stat().st_mode) & 0o044  # for others to read
    old = book.keys[0].fingerprint
    assert "revoked (stolen) 2026-11-30 12:00 UTC" in fine("key", "revoke", old, "--reason", "stolen").stdout
    fine("key", "revoke", "--reason", "lost")
    assert "is revoked (lost) and seals nothing any more" in refused("seal", "nursery.toml")
    fine("key", "new")
    shown = fine("key", "show").stdout
    assert shown.count("its private key is here, without a pass phrase") == 3
    assert "  2 seals, the last on" in shown
    assert all(len(line) <= 80 for line in shown.splitlines() if "/" not in line)


def test_several_weighers() -> None:
    fine("key", "new", "--as", "marta")
    fine("key", "new", "--as", "jon")
    assert "has the keys of jon, marta; say whose with --as NAME" in refused("seal", "nursery.toml")
    assert "did you mean 'marta'?" in refused("seal", "nursery.toml", "--as", "mrata")
    assert "Seal number 1 of jon" in fine("seal", "nursery.toml", "--as", "jon").stdout
    shown = fine("key", "show").stdout
    assert shown.index("jon\n") < shown.index("  1 seal,") < shown.index("marta\n") < shown.index("  no seal yet")
    assert "jon" not in fine("key", "show", "--as", "marta").stdout.replace("/jon", "")


def test_messages_of_the_keys_are_one_line_each(folder: Path) -> None:
    assert "there is no key yet; 'steelyard key new' makes one" in refused("key", "show")
    assert "there is no key yet" in refused("key", "rotate")
    assert "there is no key yet" in refused("key", "revoke", "--reason", "lost")
    assert "there is no key yet" in refused("key", "show", "--publish", "keys.json")
    assert not (folder / "keys").exists()
    fine("key", "new")
    for arguments in (
        ("key", "new"),
        ("key", "new", "--as", "../x"),
        ("key", "new", "--as", ""),
        ("key", "new", "--as", "other", "--name", " "),
        ("key", "revoke", "12345678", "--reason", "lost"),
        ("key", "show", "--as", "nobody"),
    ):
        message = refused(*arguments)
        assert message.count("\n") == 0, message
    assert "lies in the folder of keys" in refused("key", "show", "--publish", "keys/weigher/seals.jsonl")
    assert "lies in the folder of keys" in refused("key", "show", "--publish", "keys/new.json")
    assert "cannot be written" in refused("key", "show", "--publish", "none/keys.json")
    assert "is no keys.json, so it is not written over" in refused("key", "show", "--publish", "nursery.toml")
    (folder / "notes.txt").write_text("mine")
    assert "is no seal, so it is not written over" in refused("seal", "nursery.toml", "-o", "notes.txt")
    assert (folder / "notes.txt").read_text() == "mine"
    assert (folder / "nursery.toml").read_text() == NURSERY
    fine("key", "show", "--publish", "keys.json")
    fine("key", "show", "--publish", "keys.json")  # over an earlier one
    assert "knows no such home folder" in refused("key", "new", "--key-folder", "~nobody-of-this-name/keys")
    (folder / "keys" / "weigher" / "keys.json").write_text("{")
    assert "Put it back from a backup, or from where you published it" in refused("key", "show")
    (folder / "keys" / "weigher" / "keys.json").write_bytes((folder / "keys.json").read_bytes())
    (folder / "file").write_text("")
    assert "cannot be" in refused("key", "new", "--key-folder", "file")
    assert "cannot be" in refused("key", "new", "--key-folder", "file/keys")
    assert "did you mean 'show'?" in refused("key", "shwo")
    assert "lost" in refused("key", "revoke", "--reason", "bored")
    private = next((folder / "keys" / "weigher").glob("*.pem"))
    private.chmod(0o644)
    assert f"chmod 600 '{private}'" in refused("seal", "nursery.toml")
    assert f"chmod 600 '{private}'" in refused("key", "rotate")


def test_a_pass_phrase_from_a_file_or_the_environment(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    phrase = folder / "phrase"
    phrase.write_text("Grüße\r\nsecond line\n")
    phrase.chmod(0o600)
    assert "with a pass phrase" in fine("key", "new", "--pass-phrase-file", "phrase").stdout
    monkeypatch.setattr(weighers, "_terminal", lambda: False)
    assert "--pass-phrase-file FILE or in the variable STEELYARD_PASS_PHRASE" in refused("seal", "nursery.toml")
    monkeypatch.setenv("STEELYARD_PASS_PHRASE", "Gru\u0308ße")  # as another keyboard writes it
    fine("seal", "nursery.toml")
    monkeypatch.setenv("STEELYARD_PASS_PHRASE", "wrong")
    assert "the pass phrase is wrong, or the file is damaged" in refused("seal", "nursery.toml")
    assert fine("seal", "nursery.toml", "--pass-phrase-file", "phrase").stderr == ""
    phrase.chmod(0o644)
    assert "others can read this pass phrase" in fine("seal", "nursery.toml", "--pass-phrase-file", "phrase").stderr
    for data, words in (
        (b"", "first line is empty"),
        (b"\n x", "first line is empty"),
        (b"\xff", "not written in UTF-8"),
    ):
        phrase.write_bytes(data)
        assert words in refused("seal", "nursery.toml", "--pass-phrase-file", "phrase")
    assert "No such file" in refused("seal", "nursery.toml", "--pass-phrase-file", "none")


def test_a_pass_phrase_that_is_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weighers, "_terminal", lambda: True)
    done = run("key", "new", "--pass-phrase", answers="quay\nquay\n")
    assert done.exit_code == 0
    assert "quay" not in done.output
    assert run("seal", "nursery.toml", answers="quay\n").exit_code == 0
    wrong = run("seal", "nursery.toml", answers="key\n")
    assert (wrong.exit_code, "the pass phrase is wrong" in wrong.stderr) == (2, True)
    none = run("seal", "nursery.toml", answers="")
    assert (none.exit_code, "No pass phrase was typed, and nothing was done." in none.stderr) == (2, True)
    assert run("key", "rotate", "--pass-phrase", answers="quay\nnew\nnew\n").exit_code == 0
    assert run("seal", "nursery.toml", answers="new\n").exit_code == 0
    assert record().number == 2


def test_no_option_takes_a_pass_phrase_itself() -> None:
    """It would stand in the list of processes and in the shell's history."""
    from steelyard.cli import cli

    context = click.Context(cli)
    group = cli.get_command(context, "key")
    assert isinstance(group, click.Group)
    commands = [*group.commands.values(), cli.get_command(context, "seal")]
    options = [option for command in commands if command is not None for option in command.params]
    phrases = [option for option in options if isinstance(option, click.Option) and "phrase" in option.opts[0]]
    assert len(phrases) == 5
    assert all(option.is_flag or option.opts[0] == "--pass-phrase-file" for option in phrases)


@pytest.mark.parametrize("command", [["seal"], ["ticket", "--seal"], ["ticket"]])
def test_nothing_is_written_among_keys(folder: Path, command: list[str]) -> None:
    fine("seal", "nursery.toml")
    (weigher,) = (path for path in (folder / "keys").iterdir() if path.is_dir())
    before = {path.name: path.read_bytes() for path in weigher.iterdir()}
    for name in (*before, "new.seal"):
        said = refused(*command, "nursery.toml", "-o", str(weigher / name))
        assert said == f"{weigher / name}: lies among the keys and seals of a weigher; give another name with -o"
    assert {path.name: path.read_bytes() for path in weigher.iterdir()} == before
