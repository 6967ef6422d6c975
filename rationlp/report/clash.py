"""Why there is no ration, in sentences: what cannot be kept together, and what would be enough."""

from __future__ import annotations

from rationlp.result import ClashPart, GroupRation

NO_REMEDY = "No single change that was looked for would be enough by itself."
OWN = "the farm's own figure"
ENOUGH = (
    "Each of these by itself would be enough (checked by solving again), the smallest change first:"
)


def clash_line(group: GroupRation) -> str:
    """The needs and limits that cannot be kept together; empty where that is not proved."""
    clash = group.clash
    if clash is None:
        return ""
    parts = [_part_words(part) for part in clash.parts]
    if len(parts) == 1:
        return f"What cannot be kept by any ration of these feeds: {parts[0]}."
    if all(part.whose == OWN for part in clash.parts):
        return (
            "The farm's own limits contradict one another:"
            f" {'; '.join(part.what for part in clash.parts)}."
        )
    end = "."
    if clash.minimal:
        end = "; any one of them left out, the others can be kept."
    return f"What cannot be kept together: {'; '.join(parts)}{end}"


def _part_words(part: ClashPart) -> str:
    if part.kind == "limit" and part.whose:
        return f"{part.what} ({part.whose})"
    return part.what


def remedy_lines(group: GroupRation) -> tuple[str, ...]:
    """What would each be enough by itself, smallest first; empty where nothing was found."""
    return tuple(remedy.words for remedy in group.remedies)
