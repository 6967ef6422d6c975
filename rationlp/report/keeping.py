"""A plan written into the farm folder: whole or not at all, what was in force before put beside
it and never over another."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rationlp.after.kept import free_name, plan_file, plan_text, read_kept
from rationlp.errors import refused
from rationlp.planned import WayOn, WinterPlan
from rationlp.records import dataclass
from rationlp.report.files import write_bytes, write_whole


@dataclass(frozen=True)
class Keeping:
    """What keeping a plan did. path: of the plan in force now; older: where the one before it
    is, None where there was none, or where it was the same plan."""

    path: Path
    older: Path | None


def keep_plan(plan: WinterPlan, farm: Path | None = None, ways: Sequence[WayOn] = ()) -> Keeping:
    """Keep a plan beside its farm as the plan in force.

    farm: folder or workbook, the plan's own if left out. ways: how it goes on by what its stores
    show, beside the plan itself. Raises InputError for a plan without
    rations (IN799), for a farm folder that cannot be written, and for an older plan that is
    damaged (IN790, IN791): it is left as it is.
    """
    if not plan.rations:
        remedy = "make the winter possible first: `rationlp winter FARM` says what would be enough"
        raise refused("IN799", "--keep", "there is no plan to keep", remedy)
    place = farm or Path(plan.farm.place)
    path, text = plan_file(place), plan_text(plan, ways)
    older = None
    if path.exists():
        before = path.read_bytes()
        if before == text.encode("utf-8"):
            return Keeping(path, None)
        older = free_name(place, read_kept(path, plan.farm).first)
        # The old one is safe under its dated name before the new one takes its place.
        write_bytes(older, before, ())
    write_whole(path, text, ())
    return Keeping(path, older)
