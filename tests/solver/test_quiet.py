"""Nothing that the solver prints reaches standard output, and nothing that anybody else prints is lost."""

from __future__ import annotations

import ast
import ctypes
import os
import subprocess
import sys
import threading

import numpy as np
import pytest

from steelyard.solver import linear_programme, quiet, whole_programme
from tests.house.source import SOURCE, modules, nodes

CHATTER = b"HighsMipSolverData::transformNewIntegerFeasibleSolution tmpSolver.run();\n"


def same_place(one: int, other: os.stat_result) -> bool:
    return os.path.samestat(os.fstat(one), other)


def test_the_solvers_lines_are_dropped_and_others_are_passed_on(capfd: pytest.CaptureFixture[str]) -> None:
    before = os.fstat(1)
    with quiet():
        os.write(1, CHATTER)
        print("something else", flush=True)
        os.write(1, CHATTER + b"from C\n")
    assert same_place(1, before)
    assert capfd.readouterr().out == "something else\nfrom C\n"


def test_a_line_that_waits_in_the_buffer_of_c_is_caught_too(capfd: pytest.CaptureFixture[str]) -> None:
    libc = ctypes.CDLL(None)
    with quiet():
        libc.printf(b"%s", CHATTER)
    libc.fflush(None)
    assert capfd.readouterr().out == ""


def test_what_was_printed_before_stands_before(capfd: pytest.CaptureFixture[str]) -> None:
    print("first")
    with quiet():
        os.write(1, b"second\n")
    print("third", flush=True)
    assert capfd.readouterr().out.splitlines() == ["first", "second", "third"]


def test_it_may_be_nested_and_ends_with_what_went_wrong(capfd: pytest.CaptureFixture[str]) -> None:
    before = os.fstat(1)

    def fails() -> None:
        with quiet(), quiet():
            os.write(1, CHATTER)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fails()
    assert same_place(1, before)
    assert capfd.readouterr().out == ""


def test_threads_that_solve_at_once_share_it(capfd: pytest.CaptureFixture[str]) -> None:
    before, count, turns = os.fstat(1), 6, 40
    begin = threading.Barrier(count)

    def work(number: int) -> None:
        begin.wait()
        for turn in range(turns):
            with quiet():
                os.write(1, CHATTER)
            os.write(1, f"{number} {turn}\n".encode())

    threads = [threading.Thread(target=work, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with quiet():  # what a thread had begun to write as the guard was taken down is passed on the next time
        pass
    assert same_place(1, before)
    lines = capfd.readouterr().out.splitlines()
    assert sorted(lines) == sorted(f"{number} {turn}" for number in range(count) for turn in range(turns))


def test_what_ends_after_the_file_was_read_is_passed_on_the_next_time(capfd: pytest.CaptureFixture[str]) -> None:
    """A descriptor of one's own stands for a write that began while the guard stood and ended after it."""
    with quiet():
        late = os.dup(1)
        os.write(1, b"in time\n")
    assert capfd.readouterr().out == "in time\n"
    os.write(late, b"too late\n" + CHATTER)
    os.close(late)
    with quiet():
        os.write(1, b"the next\n")
    assert capfd.readouterr().out == "too late\nthe next\n"


def test_what_comes_after_the_last_guard_is_passed_on_at_the_end() -> None:
    code = (
        "import os\n"
        "from steelyard.solver import quiet\n"
        "with quiet():\n"
        "    late = os.dup(1)\n"
        "os.write(late, b'at the end\\n')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "at the end\n", "")


def test_without_standard_output_it_solves_all_the_same() -> None:
    code = (
        "import os, sys, numpy as np\n"
        "os.close(1)\n"
        "from steelyard.solver import linear_programme\n"
        "found = linear_programme(np.ones(2), -np.eye(2), -np.ones(2))\n"
        "sys.stderr.write(str(found.fun))\n"
        "os._exit(0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "2.0")


def test_programmes_are_those_worked_out_by_hand() -> None:
    relaxed = linear_programme(np.array([1.0, 1.0]), np.array([[-2.0, -1.0], [-1.0, -2.0]]), np.array([-3.0, -3.0]))
    assert relaxed.x == pytest.approx([1.0, 1.0])
    found = whole_programme(
        np.array([-1.0, -1.0]),
        whole=np.array([1, 0]),
        low=np.zeros(2),
        high=np.array([10.0, 0.5]),
        constraints=[(np.array([[2.0, 1.0]]), -np.inf, 4.9)],
        seconds=10.0,
    )
    assert found.x == pytest.approx([2.0, 0.5])


def test_no_other_room_calls_the_solver() -> None:
    """By import of scipy's solvers or of HiGHS itself, in whatever way it is written."""
    callers: list[str] = []
    for module in modules(SOURCE):
        for node in nodes(module.tree):
            names = {node.attr} if isinstance(node, ast.Attribute) else set[str]()
            if isinstance(node, ast.Import | ast.ImportFrom):
                names = {part for alias in node.names for part in alias.name.split(".")}
                names |= set((getattr(node, "module", None) or "").split("."))
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                names = {"highspy"} if node.value == "highspy" else names
            if names & {"milp", "linprog", "linprog_verbose_callback", "highspy", "_highspy"}:
                callers.append(module.name)
    assert set(callers) == {"steelyard.solver.programmes"}
