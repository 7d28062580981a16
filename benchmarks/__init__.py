"""Speed and memory as ratios: each figure beside a floor or a general library, measured in the same run.

A time by itself says more about the machine than about the program, so none stands alone here. Nothing is asserted:
``make bench`` prints a table and writes the same figures to ``out/benchmarks.json``. Read ``measure.py`` first.

    measure.py     best of many, turn by turn; processes with their time and memory
    days.py        the weigh days that are measured
    step.py        one Gauss-Newton step against a singular value decomposition, least squares against other libraries
    batch.py       a thousand days in one call, and what reading and writing them would cost alone
    programs.py    the start of the program, the ticket, the drawings: whole processes
    stages.py      one day stage by stage
    ask_rebalance.py  a state put right, beside the same programme written out in cvxpy
"""

from __future__ import annotations

import os

# The matrices are small: a second thread only waits, and would count as time of the process. Set before NumPy loads.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")
