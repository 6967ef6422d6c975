"""`ration` on a day says of a store that it feeds before the winter's plan would open it."""

from __future__ import annotations

from pathlib import Path

from rationlp.cli.rate import at_this_rate
from rationlp.folders import examples_folder
from rationlp.model.ration import solve_rations
from rationlp.read.farm import read_farm


def test_a_ration_that_feeds_a_shut_clamp_says_so(tmp_path: Path) -> None:
    """Filled on 20 October and fed on 1 November: shut for some weeks yet; a clamp without a date
    of filling is open.
    """
    text = (examples_folder() / "few" / "farm.toml").read_text(encoding="utf-8")
    (tmp_path / "lab.csv").write_bytes((examples_folder() / "few" / "lab.csv").read_bytes())
    told = {}
    for name, filled in (("shut", "filled = 2026-10-20\n"), ("open", "")):
        changed = text.replace("length_m = 13\n", f"{filled}length_m = 13\n")
        no_bales = changed.replace("head = 11\n", 'head = 11\nbarred = ["bales"]\n')
        (tmp_path / "farm.toml").write_text(no_bales, encoding="utf-8")
        farm = read_farm(tmp_path)
        told[name] = " ".join(at_this_rate(farm, solve_rations(farm), None).lines)
    assert "Fed here on 1 November all the same: The wide clamp is shut until" in told["shut"]
    assert "is shut until" not in told["open"]
