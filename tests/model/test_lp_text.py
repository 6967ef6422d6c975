"""The programmes written as LP text, read back by readers that are not ours: the same cost."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import highspy
import pytest

from rationlp.ask.rows import traces
from rationlp.model.ration import solve_rations
from rationlp.model.trace import lp_text, slug
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm
from rationlp.result import Rations

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module", params=["dairy", "beef", "hill"])
def rations(request: pytest.FixtureRequest) -> Rations:
    """The rations of an example."""
    return solve_rations(farm_on(read_farm(EXAMPLES / request.param)))


def least_costs(path: Path) -> list[float]:
    """The optimum by every reader that is at hand."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    assert solver.readModel(str(path)) == highspy.HighsStatus.kOk
    solver.run()
    assert solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    found = [solver.getInfo().objective_function_value]
    glpsol = shutil.which("glpsol")
    if glpsol is not None:
        answer = path.with_suffix(".out")
        subprocess.run(
            [glpsol, "--lp", str(path), "-o", str(answer)], check=True, capture_output=True
        )
        match = re.search(r"Objective:\s+\S+ = (\S+)", answer.read_text())
        assert match is not None
        found.append(float(match[1]))
    return found


def test_another_reader_finds_the_same_cost(rations: Rations, tmp_path: Path) -> None:
    """The sum over groups of the proven cost a head a day, to a millionth."""
    path = tmp_path / "rations.lp"
    path.write_text(lp_text(traces(rations)), encoding="ascii")
    expected = sum(group.proof.cost for group in rations.groups if group.proof is not None)
    for cost in least_costs(path):
        assert cost == pytest.approx(expected, rel=1e-6)


def test_prices_in_the_text_are_what_the_reader_pays(rations: Rations, tmp_path: Path) -> None:
    """Every price of the text doubled doubles the optimum."""
    head, rest = lp_text(traces(rations)).split("Subject To")
    doubled = re.sub(r"([+-] )(\S+)( [a-z])", lambda m: f"{m[1]}{2.0 * float(m[2])!r}{m[3]}", head)
    path = tmp_path / "dearer.lp"
    path.write_text(f"{doubled}Subject To{rest}", encoding="ascii")
    expected = sum(group.proof.cost for group in rations.groups if group.proof is not None)
    assert least_costs(path)[0] == pytest.approx(2.0 * expected, rel=1e-6)


def test_names_are_slugs() -> None:
    """Small letters, figures and underscores only, whatever a feed is called."""
    assert slug(("feed", "Clamp №1 – süß", "high", "day")) == "feed_clamp_1_s_high"
