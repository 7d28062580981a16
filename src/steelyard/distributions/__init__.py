"""Distributions: the probabilities and quantiles of the normal, t, chi-square and F distributions, from scipy.

Owns how they are loaded, and nothing else. Read ``adjustment`` next.
"""

from __future__ import annotations

import sys
import threading
from functools import cache
from importlib import import_module
from importlib.util import find_spec, module_from_spec
from types import ModuleType

__all__ = ["NORMAL_HALF", "functions"]

NORMAL_HALF = 1.959963984540054
"""Half of the 95 % interval of a normal distribution, in standard uncertainties (JCGM 100:2008, table G.1)."""

_ASKED = ("ndtr", "ndtri", "stdtr", "stdtrit", "chdtri", "chdtrc", "fdtrc", "psi")
_PACKAGES = ("scipy", "scipy._lib", "scipy.special")
"""The packages that hold the compiled file, and those that it loads itself."""


@cache
def functions() -> ModuleType:
    """The functions of ``scipy.special`` by their names there: ``ndtr``, ``stdtrit``, ``fdtrc`` and so on.

    The package loads most of NumPy and a framework of tests with it, which takes twice as long as NumPy itself. The
    functions are all in one compiled file of it, which is loaded alone where that can be done; else the whole package.
    Whoever asks for ``scipy`` later gets the whole of it.
    """
    known = "scipy.special" in sys.modules or threading.active_count() > 1  # another thread might load it meanwhile
    found = None if known else _compiled()
    return import_module("scipy.special") if found is None else found


def _compiled() -> ModuleType | None:
    """The compiled file, imported from packages that have not run; None where it cannot be had so."""
    empty = [name for name in _PACKAGES if name not in sys.modules]
    try:
        for name in empty:
            spec = find_spec(name)
            if spec is None:
                return None
            sys.modules[name] = module_from_spec(spec)
        found = import_module("scipy.special._ufuncs")
    except (ImportError, AttributeError):
        return None
    finally:
        for name in empty:
            sys.modules.pop(name, None)
    return found if all(hasattr(found, name) for name in _ASKED) else None
