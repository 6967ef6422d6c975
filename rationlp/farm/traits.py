"""Traits of the animal classes, from feeds/classes.csv, so that no rule lists classes."""

from __future__ import annotations

from functools import lru_cache

from rationlp.folders import packaged_rows
from rationlp.records import dataclass


@dataclass(frozen=True)
class Traits:
    """What a class of animals is. A word of the column `traits` stands for each field that is true;
    whether a class is cattle, sheep or stated is among them.
    """

    cattle: bool = False
    sheep: bool = False
    stated: bool = False  # all its needs are the farm's own
    parlour: bool = False  # milked, and fed in the parlour
    milking: bool = False  # a cow in milk, of a dairy or suckler herd
    dry: bool = False  # a cow or heifer that is to calve
    suckler: bool = False
    ewe: bool = False
    bull: bool = False
    breeding: bool = False  # kept for calves or lambs, males among them
    pregnant: bool = False  # in calf or in lamb by its class
    growing: bool = False
    gain_corrected: bool = False  # its gain is put right by rule H of needs/honest_gain.py
    growing_intake: bool = False  # eats by needs/growing_appetite.py, whatever its stage
    dry_sheep: bool = False  # a ewe not in milk, or a ram: eats forage by its stage
    ceiling: bool = False  # its energy has a ceiling
    sold: bool = False  # leaves at a weight
    after_stated: bool = False  # the farm must say what it is after a birth
    dairy_margin: bool = False  # in the last weeks before calving it has the margin of the herd
    low_need: bool = False  # rich forage is wasted on it
    high_need: bool = False  # poor forage cannot feed it
    by_csiro: bool = False  # CSIRO (2007) is offered for it
    by_nrc: bool = False  # NRC (2001) is offered for it, of young stock for heifers


@lru_cache(maxsize=1)
def _all_traits() -> dict[str, Traits]:
    """Traits by class. Raises TypeError for a word that is no trait."""
    words: dict[str, set[str]] = {}
    for row in packaged_rows("classes.csv"):
        words.setdefault(row["class"], set()).update(row["traits"].split())
    return {name: Traits(**dict.fromkeys(of, True)) for name, of in words.items()}


def traits(animal_class: str) -> Traits:
    """The traits of a class; a class that is not known has none."""
    return _all_traits().get(animal_class, Traits())


def classes_with(trait: str) -> tuple[str, ...]:
    """The classes that have a trait, in the order of the file."""
    return tuple(name for name, known in _all_traits().items() if getattr(known, trait))
