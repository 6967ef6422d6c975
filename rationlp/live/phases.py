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
SAID = {
    WORKING: "Working.",
    DAY: "Rations of the first day; the winter follows.",
    SETTLED: "Settled; proof follows.",
    PROVED: "Proved: the same plan as the command line gives.",
    NONE: "Not every need can be met.",
    REFUSED: "The last good answer is shown.",
}
FACES = "Settled without the rule that a clamp's face must advance; the proof keeps it."
"""Said of a plan that was settled on an open winter although a face would be too slow."""
