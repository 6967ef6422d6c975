"""Second opinions stand where the tables that they are read from print a figure, nowhere else."""

from __future__ import annotations

import pytest
from test_compare import one, opinions

from rationlp.needs.second import opinion as about


def test_a_heifer_is_set_beside_her_table_up_to_a_kilo_a_day() -> None:
    """300 kg and half a kilo: 42.3 + 0.5 · 56.6; in calf, 0.5, 1, 2 and 3 kg of dry matter at 11 MJ
    more in months six to nine; nothing is printed beyond a kilo.
    """

    def table(animal_class: str, gain: float, **changes: float | str) -> float | None:
        facts = {"live_weight_kg": 300.0, "sex": "heifer", "maturity": "medium", **changes}
        found = opinions(animal_class, gain_kg_per_day=gain, **facts)
        return one(found, "New Zealand heifer table", about.ME_WHOLE).value

    assert table("growing_cattle", 0.5) == pytest.approx(42.3 + 28.3)
    assert table("growing_cattle", 1.0) == pytest.approx(42.3 + 56.6)
    assert table("growing_cattle", 1.01) is None
    calf = [
        (table("in_calf_heifer", 0.5, days_to_calving=days) or 0.0) - 42.3 - 28.3
        for days in (140.0, 120.0, 80.0, 45.0, 20.0)
    ]
    assert calf == pytest.approx([0.0, 5.5, 11.0, 22.0, 33.0], abs=1e-9)


@pytest.mark.parametrize(
    ("animal_class", "key", "method", "printed", "silent"),
    [
        ("ewe_pregnant", "days_to_lambing", "NRC (1985)", (20.0, 28.0, 42.0, 60.0), (29.0, 41.0)),
        ("ewe_milking", "week_of_lactation", "NRC (1985)", (3.0, 8.0), (8.1, 12.0)),
        ("suckler_cow_dry", "days_to_calving", "Victoria", (7.0, 85.0, 110.0), (7.2, 84.0, 111.0)),
    ],
)
def test_printed_stages_are_shown_on_their_days_alone(
    animal_class: str,
    key: str,
    method: str,
    printed: tuple[float, ...],
    silent: tuple[float, ...],
) -> None:
    """Last four weeks and first fifteen of a ewe's pregnancy, eight weeks of milk, six months of a
    cow's and her calving: the stages that the tables print.
    """

    def says(at: float) -> bool:
        facts = {key: at, "live_weight_kg": 550.0 if "cow" in animal_class else 70.0}
        found = opinions(animal_class, **facts)
        return any(o.method.startswith(method) and o.quantity == about.ME_WHOLE for o in found)

    assert [says(at) for at in printed] == [True] * len(printed)
    assert [says(at) for at in silent] == [False] * len(silent)
