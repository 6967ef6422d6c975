"""The verdict of a ration's proof: one that fails is said, in status, sentence and exit code; one
that holds is not doubted.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from rationlp.errors import ProofFailed
from rationlp.model import block_ration
from rationlp.model.block_ration import Optimum, gap_closed, solve_block
from rationlp.model.ration import _with, eat, excess, make_blocks, solve_rations
from rationlp.model.rows.block import Block
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm
from rationlp.report.ration_words import proof_line
from rationlp.result import GroupRation, Rations

DAIRY = Path(__file__).resolve().parents[2] / "examples" / "dairy"
FARM = farm_on(read_farm(DAIRY))


@pytest.fixture(scope="module")
def block() -> Block:
    """The dairy example's high yielders."""
    return make_blocks(FARM, ["high"])[0]


@pytest.fixture(scope="module")
def optimum(block: Block) -> Optimum:
    """Their cheapest ration."""
    answer = solve_block(block)
    assert isinstance(answer, Optimum)
    return answer


def exit_code(*groups: GroupRation) -> int:
    """What the command would end with."""
    return Rations(FARM, groups).exit_code


def scaled(optimum: Optimum, share: float) -> Optimum:
    """The same answer with other amounts, as if the solver had been wrong."""
    return replace(optimum, values={name: share * kg for name, kg in optimum.values.items()})


def untidied(monkeypatch: pytest.MonkeyPatch, block: Block, optimum: Optimum) -> GroupRation:
    """The answer as it stands, not made fit to mix."""
    monkeypatch.setattr("rationlp.model.ration.tidy", lambda block, optimum: None)
    return _with(block, optimum)


def test_a_proof_that_holds(
    monkeypatch: pytest.MonkeyPatch, block: Block, optimum: Optimum
) -> None:
    """Proven, passed, exit code 0; the words are those of the README."""
    answer = untidied(monkeypatch, block, optimum)
    assert answer.proof is not None
    assert (answer.status, answer.proof.passed, answer.proof.verdict) == (
        "proven",
        True,
        "optimal and adequate",
    )
    assert exit_code(answer) == 0
    gap = f"{answer.proof.gap + 0.5e-4:.4f}"
    words = (
        f"Proved cheapest to within GBP {gap} a head a day. At any feeding level the cost cannot be"
        " below GBP "
    )
    assert proof_line(answer, "GBP").startswith(words)
    assert answer.proof.gap == pytest.approx(
        answer.proof.cost - answer.proof.lower_bound, abs=1e-12
    )


def test_a_ration_that_misses_its_need_is_never_called_proven(
    monkeypatch: pytest.MonkeyPatch, block: Block, optimum: Optimum
) -> None:
    """A hundredth too little of everything: failed, said first, exit code 4."""
    answer = untidied(monkeypatch, block, scaled(optimum, 0.99))
    assert answer.proof is not None
    assert not answer.proof.passed
    assert answer.status == "open"
    assert (
        answer.proof.verdict == "the ration misses its own requirement by more than the tolerance"
    )
    assert proof_line(answer, "GBP").startswith(
        "This answer failed its own check: the ration misses its own requirement"
    )
    assert exit_code(answer) == 4


def test_a_programme_that_fails_its_check_is_said(
    monkeypatch: pytest.MonkeyPatch, block: Block, optimum: Optimum
) -> None:
    """Should an answer come through whose certificate fails, it is not called proven either."""
    broken = replace(optimum, certificate=replace(optimum.certificate, gap=1e-3))
    answer = untidied(monkeypatch, block, broken)
    assert answer.proof is not None
    assert (answer.status, answer.proof.passed) == ("open", False)
    assert answer.proof.verdict == "the last programme's optimum fails its own check"
    assert exit_code(answer) == 4


def test_a_failed_certificate_ends_the_run(monkeypatch: pytest.MonkeyPatch, block: Block) -> None:
    """No number leaves a solve whose optimum fails its own check."""
    plain = block_ration.certify
    monkeypatch.setattr(block_ration, "certify", lambda *given: replace(plain(*given), dual=1e-3))
    with pytest.raises(ProofFailed, match='group "high" fails its own check'):
        solve_block(block)


def test_the_bound_is_the_one_proved_and_never_above_the_cost(
    monkeypatch: pytest.MonkeyPatch, block: Block, optimum: Optimum
) -> None:
    """A search that ends early hands on what it has proved, and not the cost in its place."""
    plain = block_ration.settled_or_held
    for proved in (0.9 * optimum.objective, 1.1 * optimum.objective):
        monkeypatch.setattr(
            block_ration,
            "settled_or_held",
            lambda *given, proved=proved: (plain(*given)[0], proved),
        )
        answer = solve_block(block)
        assert isinstance(answer, Optimum)
        expected = min(proved, answer.objective)
        assert answer.lower_bound == pytest.approx(expected, rel=1e-6)
        assert answer.bound_any_level == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(("gap", "closed"), [(0.9e-4, True), (1.1e-4, False)])
def test_a_gap_is_closed_to_a_hundredth_of_a_per_cent(
    monkeypatch: pytest.MonkeyPatch, block: Block, optimum: Optimum, gap: float, closed: bool
) -> None:
    """Above 0.01 % of the cost the first words say that a cheaper ration is not ruled out, by how
    much; the need is met.
    """
    wide = replace(optimum, lower_bound=optimum.objective * (1.0 - gap))
    answer = untidied(monkeypatch, block, wide)
    assert gap_closed(wide) is closed
    assert answer.proof is not None
    assert answer.proof.passed
    assert answer.proof.gap_relative == pytest.approx(gap, rel=1e-6)
    assert (answer.status == "proven") is closed
    assert ("not excluded" in answer.proof.verdict) is not closed
    assert proof_line(answer, "GBP").startswith(
        "Proved cheapest to within" if closed else "Not proved cheapest: "
    )
    assert exit_code(answer) == 0


@pytest.mark.parametrize("figure", ["me_mj", "mp_g"])
@pytest.mark.parametrize(("share", "met"), [(0.5e-6, True), (3e-6, False)])
def test_energy_and_protein_are_each_held_to_a_millionth(
    block: Block, optimum: Optimum, figure: str, share: float, met: bool
) -> None:
    """A ration that just meets both, one of them lowered by a share: what is short is told with its
    sign.
    """
    eaten = eat(block, optimum.values, {})
    needs = block.needs
    assert needs.energy is not None
    assert needs.mp_required_g is not None
    need = needs.energy.required_mj(eaten.q) if figure == "me_mj" else needs.mp_required_g
    ample = replace(eaten.supply, mp_g=2.0 * needs.mp_required_g)
    # ME is lowered with the dry matter, so that q and with it the need stay as they are.
    less = need * (1.0 - share) / getattr(eaten.supply, figure)
    me_mj = ample.me_mj * less
    lower = replace(ample, me_mj=me_mj, energy_mj=me_mj, dm_kg=ample.dm_kg * less)
    if figure == "mp_g":
        me_mj = eaten.supply.me_mj * 1.01
        more = replace(eaten.supply, me_mj=me_mj, energy_mj=me_mj, dm_kg=eaten.supply.dm_kg * 1.01)
        lower = replace(more, mp_g=need * (1.0 - share))
    energy, protein, both = excess(block, replace(eaten, supply=lower))
    assert both is met
    assert energy is not None
    assert protein is not None
    assert min(energy, protein) == pytest.approx(-share * need, rel=1e-3)


def test_a_tidied_ration_that_fails_ends_with_exit_code_4() -> None:
    """The ration that is shown is the one that must pass."""
    group = next(group for group in solve_rations(FARM).groups if group.tidy is not None)
    assert group.tidy is not None
    assert exit_code(group) == 0
    assert exit_code(replace(group, tidy=replace(group.tidy, passed=False))) == 4


def test_a_group_without_a_ration_ends_with_exit_code_3(
    monkeypatch: pytest.MonkeyPatch, block: Block, optimum: Optimum
) -> None:
    """A failed check goes before it: the figure must not be taken for good."""
    without = replace(untidied(monkeypatch, block, optimum), proof=None)
    failed = untidied(monkeypatch, block, scaled(optimum, 0.99))
    assert exit_code(without) == 3
    assert exit_code(without, failed) == 4
