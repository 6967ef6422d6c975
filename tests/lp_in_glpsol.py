"""Written LP files solved by an independent solver (glpsol): the same least cost, or the run ends
with a fault.

`python tests/lp_in_glpsol.py FARM FOLDER` makes the folder, has `rationlp ration FARM --write-lp`
write one file for each group and one for all of them together, and compares the optimum that glpsol
finds with the cost that our proof states.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from rationlp import Rations, ration, read_farm

TOLERANCE = 1e-6


def least_cost(path: Path) -> float:
    """The optimum of an LP file by glpsol. Stops where it finds none."""
    answer = path.with_suffix(".out")
    words = ["glpsol", "--lp", str(path), "-o", str(answer)]
    done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=120)
    said = answer.read_text(encoding="utf-8") if answer.is_file() else ""
    found = re.search(
        r"^Status:\s+OPTIMAL\s+^Objective:\s+\S+ = (\S+) \(MINimum\)", said, re.MULTILINE
    )
    if done.returncode or found is None:
        sys.exit(f"{path.name} was not solved by glpsol:\n{done.stdout}{done.stderr}{said[:400]}")
    return float(found[1])


def written(farm: Path, path: Path, only: str | None) -> Path:
    """The LP file that the command writes for one group, or for all."""
    words = [sys.executable, "-m", "rationlp", "ration", str(farm), "--write-lp", str(path)]
    subprocess.run([*words, *(["--group", only] if only else [])], capture_output=True, check=True)
    return path


def compared(name: str, theirs: float, ours: float) -> str:
    """One line on both. Stops where they are further apart than the tolerance allows."""
    apart = abs(theirs - ours) / abs(ours)
    if not apart <= TOLERANCE:
        sys.exit(f"{name}: glpsol finds {theirs!r}, we say {ours!r}: {apart:.3g} apart")
    return f"{name}: {ours:.9g}, glpsol within {apart:.1g}"


def costs(rations: Rations) -> dict[str, float]:
    """The proven cost a head a day of each group, priced penalties included."""
    return {group.group: group.proof.cost for group in rations.groups if group.proof is not None}


def main() -> None:
    """Entry point."""
    farm, folder = Path(sys.argv[1]), Path(sys.argv[2])
    folder.mkdir(parents=True)
    ours = costs(ration(read_farm(farm)))
    if not ours:
        sys.exit(f"{farm} has no group with a ration")
    lines = [
        compared(group, least_cost(written(farm, folder / f"{group}.lp", group)), cost)
        for group, cost in ours.items()
    ]
    lines.append(
        compared(
            "all", least_cost(written(farm, folder / "every group.lp", None)), sum(ours.values())
        )
    )
    sys.stdout.write("\n".join([*lines, ""]))


if __name__ == "__main__":
    main()
