"""A winter that one test has planned is not planned again by another of the same run.

A plan follows from its farm, options and stocks alone (tests of that plan in processes of their own
and compare the bytes), and planning is what takes the time of most tests. Plans are kept by what
they were made from, the program itself and its solver among it, in a folder that the workers of one
run share and that goes with the run.
"""

from __future__ import annotations

import os
import pickle
import shutil
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, wraps
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

import rationlp
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import WinterPlan
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering import plan as winter_plan
from rationlp.wintering.yard import WinterOptions

FOLDER = "RATIONLP_TESTS_PLANS"
"""The variable of the environment by which workers find the folder of the first process; whoever
sets it lets several runs share a folder of his.
"""
OURS = "rationlp-plans-"


@cache
def program() -> str:
    """What makes the plans: Python, the solver, and every file of the package and its tables."""
    package = Path(rationlp.__file__).parent
    content = sha256(repr((sys.version, version("highspy"), version("pulp"))).encode())
    for folder in (package, package.parent / "feeds"):
        for file in sorted([*folder.rglob("*.py"), *folder.rglob("*.csv")]):
            content.update(file.name.encode() + file.read_bytes())
    return content.hexdigest()


def key_of(
    farm: Farm, options: WinterOptions | None, stocks: Mapping[str, StoreStock] | None
) -> str:
    """A plan's name in the folder: the same for equal farms, wherever they were read from, and for
    options and stocks whether given or left to what they are by themselves.
    """
    held = farm_stocks(farm) if stocks is None else stocks
    made_from = (program(), replace(farm, place=""), options or WinterOptions(), dict(held))
    return sha256(repr(made_from).encode()).hexdigest()


def share_plans() -> None:
    """Let every plan of this run be made once; `solve_winter.__wrapped__` plans anew."""
    if FOLDER not in os.environ:
        os.environ[FOLDER] = tempfile.mkdtemp(prefix=OURS)
    folder = Path(os.environ[FOLDER])
    solve = winter_plan.solve_winter

    @wraps(solve)
    def planned(
        farm: Farm,
        options: WinterOptions | None = None,
        stocks: Mapping[str, StoreStock] | None = None,
    ) -> WinterPlan:
        file = folder / key_of(farm, options, stocks)
        if file.exists():
            plan: WinterPlan = pickle.loads(file.read_bytes())
            return replace(plan, farm=replace(plan.farm, place=farm.place))
        plan = solve(farm, options, stocks)
        unfinished = file.with_name(f"{file.name}.{os.getpid()}")
        unfinished.write_bytes(pickle.dumps(plan))
        unfinished.replace(file)
        return plan

    winter_plan.solve_winter = planned


def share_bytecode() -> None:
    """Where Python is told to leave no bytecode in the tree, the processes that tests start share
    it in the folder of the run: each would compile the whole program otherwise.
    """
    if os.environ.pop("PYTHONDONTWRITEBYTECODE", ""):
        os.environ["PYTHONPYCACHEPREFIX"] = str(Path(os.environ[FOLDER]) / "bytecode")


def remove_plans() -> None:
    """The run has ended: its plans go, but not those in a folder that somebody else has set."""
    folder = Path(os.environ[FOLDER])
    if folder.name.startswith(OURS):
        shutil.rmtree(folder, ignore_errors=True)
