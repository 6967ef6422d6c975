"""Groups as people name them: by id, or by name in any letters."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from rationlp.errors import Finding, nearest
from rationlp.farm.group import Group
from rationlp.named import stems


def group_ids(groups: Sequence[Group], words: Iterable[str]) -> list[str]:
    """Ids of the groups meant, each once; a word that is none stays, to be refused later."""
    ids: dict[str, None] = {}
    for word in words:
        by_id = [word for group in groups if word in (group.id, group.origin)]
        by_name = [group.id for group in groups if stems(word) in _names(group)]
        ids |= dict.fromkeys(by_id or by_name or [word])
    return list(ids)


def _names(group: Group) -> list[frozenset[str]]:
    """The names of a group; of a part, such as `Cows, calved`, those of the whole as well."""
    names = {group.id, group.name}
    if group.origin:
        names |= {group.origin, group.name.rpartition(", ")[0]}
    return [stems(name) for name in names]


def no_such_groups(groups: Collection[Group], words: Iterable[str]) -> list[Finding]:
    """A finding (IN501) for each word that is no id of a group, with the nearest there is."""
    ids = sorted({group.id for group in groups})
    names = {group.name: group.id for group in groups} | {name: name for name in ids}
    findings = []
    for word in words:
        if word in ids:
            continue
        near = nearest(word, names)
        remedy = f"use one of {', '.join(ids)}"
        if near:
            remedy = f'nearest: "{names[near]}"; {remedy}'
        findings.append(Finding("IN501", f'group "{word}"', "this farm has no such group", remedy))
    return findings
