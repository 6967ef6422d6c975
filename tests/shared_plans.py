"""A winter that one test has planned is not planned again by another of the same run.

A plan follows from its farm, options and stocks alone (tests of that plan in processes of their own
and compare the bytes), and planning is what takes the time of most tests. Plans are kept by what
they were made from, in a folder that the workers of one run share and that goes with the run.
"""

from __future__ import annotations

import os
import pickle
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from functools import wraps
from hashlib import sha256
from pathlib import Path

from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import WinterPlan
from rationlp.wintering import plan as winter_plan
from rationlp.wintering.yard import WinterOptions

FOLDER = "RATIONLP_TESTS_PLANS"
"""The variable of the environment by which workers find the folder of the first process; whoever
sets it lets several runs share a folder of his.
"""
OURS = "rationlp-plans-"


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
        made_from = pickle.dumps((replace(farm, place=""), options, stocks))
        file = folder / sha256(made_from).hexdigest()
        if file.exists():
            plan: WinterPlan = pickle.loads(file.read_bytes())
            return replace(plan, farm=replace(plan.farm, place=farm.place))
        plan = solve(farm, options, stocks)
        unfinished = file.with_name(f"{file.name}.{os.getpid()}")
        unfinished.write_bytes(pickle.dumps(plan))
        unfinished.replace(file)
        return plan

    winter_plan.solve_winter = planned


def remove_plans() -> None:
    """The run has ended: its plans go, but not those in a folder that somebody else has set."""
    folder = Path(os.environ[FOLDER])
    if folder.name.startswith(OURS):
        shutil.rmtree(folder, ignore_errors=True)
