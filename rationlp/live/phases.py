"""How far an answer has come, and the words for it."""

from __future__ import annotations

WORKING, DAY, SETTLED, PROVED, NONE, REFUSED = (
    "working",
    "day",
    "settled",
    "proved",
    "none",
    "refused",
)
ORDER = {WORKING: 0, DAY: 1, SETTLED: 2, PROVED: 3, NONE: 3, REFUSED: 3}
"""How far each phase has come: an answer never takes the place of a later one."""
SAID = {
    WORKING: "Working.",
    DAY: "Rations of the first day; the winter follows.",
    SETTLED: "Settled; proof follows.",
    PROVED: "Proved: the same plan as the command line gives.",
    NONE: "Not every need can be met.",
    REFUSED: "The last good answer is shown.",
}
QUICK = "Rations of the day shown are settled; the winter and its proof follow."
"""Said while a price is moved."""
FACES = "Settled without the rule that a clamp's face must advance; the proof keeps it."
"""Said of a plan that was settled on an open winter although a face would be too slow."""
