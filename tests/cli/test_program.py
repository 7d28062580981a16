"""The program as the shell sees it: its help, its version, its exit statuses, and how quietly it goes."""

from __future__ import annotations

import errno
import gc
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import click
import pytest

from benchmarks.programs import making, starting
from steelyard import __version__
from steelyard.cli import cli
from steelyard.cli.say import say, say_error
from steelyard.cli.status import ExitStatus
from tests.cli.days import ROOT, run, shell, write
from tests.waiting import PATIENCE

HEAVY = (
    "numpy",
    "scipy",
    "pydantic",
    "tree_sitter",
    "tree_sitter_toml",
    "typst",
    "steelyard.findings",
    "steelyard.report",
    "steelyard.dayfile",
    "dataclasses",
    "pathlib",
    "shutil",
    "traceback",
)
"""Loading all of click takes 3.8 times as long as starting Python: nothing of these is to come on top of it."""

COMMANDS = [
    "new",
    "check",
    "plan",
    "findings",
    "rules",
    "site",
    "ticket",
    "draw",
    "overlay",
    "whatif",
    "loadmap",
    "trailer",
    "rebalance",
    "distribute",
    "ledger",
    "sweep",
    "compare",
    "match",
    "publish",
    "seal",
    "stamp",
    "authenticate",
    "key",
    "simulate",
    "batch",
    "coverage",
    "summary",
    "verify",
    "history",
    "serve",
    "grant",
    "store",
    "schema",
]


def test_the_help_names_every_command_in_the_order_of_a_weigh_day() -> None:
    result = run("--help")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    listed = lines[lines.index("Commands:") + 1 :]
    assert [line.split()[0] for line in listed] == COMMANDS
    assert max(map(len, lines)) <= 80


def test_garbage_is_looked_for_again_once_a_command_is_loaded() -> None:
    gc.disable()
    try:
        assert cli.get_command(click.Context(cli), "no_such_command") is None
        assert not gc.isenabled()
        assert cli.get_command(click.Context(cli), "findings") is not None
        assert gc.isenabled()
    finally:
        gc.enable()
        gc.unfreeze()


@pytest.mark.parametrize("argument", ["--help", "--version"])
def test_the_help_waits_for_nothing_heavy(argument: str) -> None:
    code = (
        "import sys, click\n"
        "before = set(sys.modules)\n"
        f"sys.argv = ['steelyard', {argument!r}]\n"
        "from steelyard.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"print([name for name in {HEAVY} if name in sys.modules.keys() - before], file=sys.stderr)\n"
    )
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    assert done.stderr == "[]\n"


def test_the_version_is_the_packages_own() -> None:
    result = run("--version")
    assert (result.exit_code, result.stdout) == (0, f"steelyard {__version__}\n")


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("findngs", "no command 'findngs'; did you mean 'findings'?"),
        ("x", f"no command 'x'; there are {', '.join(COMMANDS)}"),
    ],
)
def test_an_unknown_command_is_answered_with_the_nearest(name: str, message: str) -> None:
    result = run(name)
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == f"Error: {message}"


def test_an_unknown_option_is_answered_with_the_nearest(tmp_path: Path) -> None:
    result = run("findings", "--josn", write(tmp_path))
    assert result.exit_code == 2
    assert "--json" in result.stderr.splitlines()[-1]


def test_the_commands_that_are_timed_are_commands_of_the_program(tmp_path: Path) -> None:
    taken = 0
    for command in (starting() | making(tmp_path)).values():
        name, *arguments = command[3:] or ["--help"]
        if name != "--help" and "main()" in command[2]:
            parent = click.Context(cli)
            found = cli.get_command(parent, name)
            assert found is not None
            found.make_context(name, arguments, parent)
            taken += 1
    assert taken == 6


def test_a_missing_file_name_is_asked_for() -> None:
    result = run("check")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == "Error: Missing argument 'DAY.toml'."


def test_the_schema_is_printed() -> None:
    result = run("schema")
    assert result.exit_code == 0
    assert json.loads(result.stdout)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_a_reader_that_hangs_up_is_no_fault(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "steelyard", "findings", "--json", *[write(tmp_path)] * 60]
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(timeout=PATIENCE) == 1


def test_a_full_disk_is_one_clear_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: str, **__: str) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("steelyard.cli.commands.findings.say", full)
    result = run("findings", write(tmp_path))
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", "standard output: No space left on device\n")


def test_an_unforeseen_error_of_any_command_has_its_own_status(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> dict[str, object]:
        raise ZeroDivisionError("no load")

    monkeypatch.setattr("steelyard.cli.commands.schema._OF_FILES", {"findings": fail})
    result = run("schema")
    assert (result.exit_code, result.stdout) == (70, "")
    assert result.stderr.startswith("internal error in 'schema': ZeroDivisionError: no load (test_program.py:")


def test_the_module_runs_as_the_script_does() -> None:
    done = shell("--version")
    assert (done.returncode, done.stdout.decode().strip()) == (0, f"steelyard {__version__}")


# -- what reaches the terminal ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("encoding", "shown"),
    [
        ("utf-8", "── rig ─ −3 ± 2 lb"),
        ("cp1252", "-- rig - -3 ± 2 lb"),
        ("ascii", "-- rig - -3 +/- 2 lb"),
    ],
)
def test_signs_that_a_terminal_lacks_have_a_likeness(tmp_path: Path, encoding: str, shown: str) -> None:
    code = "from steelyard.cli.say import say; say('── rig ─ −3 ± 2 lb')"
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, env=environment, cwd=tmp_path, check=True)
    assert done.stdout.decode(encoding).splitlines() == [shown]


def test_a_name_cannot_move_the_cursor(capsys: pytest.CaptureFixture[str]) -> None:
    say("van \x1b[2J\x9b1m \u202egnol")
    say_error("a\x07b\r\n")
    shown = capsys.readouterr()
    assert shown.out == "van \N{REPLACEMENT CHARACTER}[2J\N{REPLACEMENT CHARACTER}1m \N{REPLACEMENT CHARACTER}gnol\n"
    assert shown.err == "a\N{REPLACEMENT CHARACTER}b\N{REPLACEMENT CHARACTER}\n\n"


def _in_shell(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """A line of shell with ``$S`` for the program."""
    program = f"{sys.executable} -m steelyard"
    surroundings = os.environ | {"PYTHONPATH": str(ROOT / "src"), "S": program, "DAY": str(DAY)}
    command = ["sh", "-c", line]
    return subprocess.run(
        command, capture_output=True, text=True, env=surroundings, cwd=folder, timeout=120, check=False
    )


DAY = ROOT / "examples" / "quay-bakery.toml"
CLOSED = "standard output: is closed, so there is nowhere to write the answer\n"


@pytest.mark.parametrize("command", ["findings $DAY", "findings $DAY --json", "check $DAY", "--help", "new -o n.toml"])
def test_an_output_that_is_closed_is_said_and_nothing_is_done(tmp_path: Path, command: str) -> None:
    done = _in_shell(f"$S {command} >&-", tmp_path)
    assert (done.returncode, done.stderr) == (2, CLOSED)
    assert list(tmp_path.iterdir()) == []


def test_where_no_message_can_be_written_the_status_says_it(tmp_path: Path) -> None:
    assert _in_shell("$S findings nowhere.toml 2>&-", tmp_path).returncode == 2
    assert _in_shell("$S findings nowhere.toml >&- 2>&-", tmp_path).returncode == 2


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (
            "</dev/null",
            "The input ended before every question had its answer. Nothing was written",
        ),
        ("<&-", "standard input is closed, so nothing can be asked; --no-questions asks nothing"),
    ],
)
def test_questions_without_answers(tmp_path: Path, given: str, words: str) -> None:
    done = _in_shell(f"$S new -o n.toml {given}", tmp_path)
    assert done.returncode == 2
    assert words in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_log_from_a_closed_input(tmp_path: Path) -> None:
    done = _in_shell("$S sweep $DAY - --state solo <&-", tmp_path)
    assert (done.returncode, done.stderr) == (2, "standard input: is closed\n")


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("ticket $DAY -o ''", "Invalid value for '-o' / '--output': is an empty name; give the name of a file"),
        ("new -o ''", "Invalid value for '-o' / '--output': is an empty name; give the name of a file"),
        ("check ''", '"": is an empty name; give the name of a file'),
        ("sweep $DAY '' --state solo", '"": is an empty name; give the name of a file'),
        ("serve --store ''", "the name of the store is empty; give the path of a file, or an address"),
    ],
)
def test_an_empty_name_is_no_folder(tmp_path: Path, command: str, words: str) -> None:
    done = _in_shell(f"$S {command}", tmp_path)
    assert done.returncode == 2
    assert words in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_is_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("steelyard.cli.commands.check.day_bytes", interrupted)
    result = run("check", "day.toml")
    assert (result.exit_code, result.stdout, result.stderr) == (130, "", "\nInterrupted.\n")


def test_every_exit_status_is_documented() -> None:
    page = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    listed = page.partition("Exit status:")[2].partition("##")[0]
    assert set(re.findall(r"^- (\d+): ", listed, re.MULTILINE)) == {str(int(status)) for status in ExitStatus}


@pytest.mark.parametrize("before", [None, b"the ticket of last year"])
def test_a_full_disk_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, before: bytes | None
) -> None:
    day, target = write(tmp_path), tmp_path / "rig.svg"
    if before is not None:
        target.write_bytes(before)
    there = {file.name: file.read_bytes() for file in tmp_path.iterdir()}

    def full(path: Path, content: bytes) -> None:
        with path.open("wb") as stream:
            stream.write(content[:100])
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    result = run("draw", day, "--state", "coupled", "-o", str(target))
    assert (result.exit_code, result.stderr) == (2, f"{target}: cannot be written: No space left on device\n")
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == there


def test_a_file_behind_a_link_is_written_where_it_lies(tmp_path: Path) -> None:
    day, target, link = write(tmp_path), tmp_path / "kept.svg", tmp_path / "link.svg"
    target.write_bytes(b"old")
    target.chmod(0o640)
    link.symlink_to(target)
    assert run("draw", day, "--state", "coupled", "-o", str(link)).exit_code == 0
    assert link.is_symlink()
    assert target.read_bytes().startswith(b"<svg")
    assert target.stat().st_mode & 0o777 == 0o640
