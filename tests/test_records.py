"""The cheap frozen dataclass behaves as that of the standard library does."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from functools import cached_property

import pytest

from rationlp.records import dataclass


@dataclass(frozen=True)
class Cut:
    """A cut of grass."""

    name: str
    tonnes: float = 0.0
    sheets: tuple[float, ...] = ()

    @cached_property
    def double(self) -> float:
        """Twice the tonnes [t]."""
        return 2.0 * self.tonnes


@dataclass(frozen=True)
class Checked:
    """A record that looks at itself, with a field that is made anew."""

    tonnes: float
    seen: list[float] = dataclasses.field(default_factory=list)

    def __post_init__(self) -> None:
        self.seen.append(self.tonnes)


@dataclass(frozen=True)
class Named:
    """A record whose fields are called as the maker's own names might be."""

    held: str
    cls: str
    fields: str
    into: str = "into"
    _held: str = "_held"


@dataclass(frozen=True)
class Bound:
    """A record that refuses what cannot be."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if self.low > self.high:
            raise ValueError("the least passes the most")


@dataclass(frozen=True)
class ById:
    """A record compared in its own way."""

    id: str
    note: str

    def __eq__(self, other: object) -> bool:
        return isinstance(other, ById) and self.id == other.id


def test_fields_in_order_by_name_and_by_default() -> None:
    """Fields are parameters in the order written, with their defaults."""
    cut = Cut("first", sheets=(1.0,))
    assert (cut.name, cut.tonnes, cut.sheets) == ("first", 0.0, (1.0,))


def test_a_field_may_have_any_name() -> None:
    """No field is taken for a name that the making of a record uses itself."""
    assert dataclasses.astuple(Named("a", "b", "c", "d", "e")) == ("a", "b", "c", "d", "e")
    assert dataclasses.replace(Named("a", "b", "c"), held="z").held == "z"


@pytest.mark.parametrize(
    "given", [{}, {"name": "first", "weight": 1.0}], ids=["missing", "unknown"]
)
def test_a_missing_or_unknown_field_is_refused(given: dict[str, str]) -> None:
    """A field that is missing or unknown raises TypeError."""
    with pytest.raises(TypeError, match=r"name|weight"):
        Cut(**given)


def test_nothing_can_be_set_or_deleted() -> None:
    """A record cannot be changed, not even by a new name."""
    cut = Cut("first")
    for change in (
        lambda: setattr(cut, "name", "x"),
        lambda: setattr(cut, "new", 1),
        lambda: delattr(cut, "name"),
    ):
        with pytest.raises(dataclasses.FrozenInstanceError):
            change()
    assert cut == Cut("first")


def test_equal_fields_make_equal_records_with_equal_hashes() -> None:
    """Records are compared and hashed by their fields, and never equal another class."""
    assert Cut("first", 2.0) == Cut("first", 2.0)
    assert hash(Cut("first", 2.0)) == hash(Cut("first", 2.0))
    assert Cut("first", 2.0) != Cut("first", 3.0)
    assert Cut("first", 2.0) != ("first", 2.0, ())


def test_what_is_cached_on_a_record_is_no_part_of_it() -> None:
    """A cached property changes neither equality nor what is shown."""
    cut = Cut("first", 2.0)
    assert cut.double == 4.0
    assert cut == Cut("first", 2.0)
    assert repr(cut) == "Cut(name='first', tonnes=2.0, sheets=())"


def test_the_library_treats_it_as_a_dataclass() -> None:
    """`replace`, `fields` and `asdict` work on it."""
    cut = dataclasses.replace(Cut("first"), tonnes=5.0)
    assert dataclasses.asdict(cut) == {"name": "first", "tonnes": 5.0, "sheets": ()}
    assert [field.name for field in dataclasses.fields(Cut)] == ["name", "tonnes", "sheets"]


def test_copies_and_pickles_are_equal() -> None:
    """A record survives copying and pickling."""
    cut = Cut("first", 2.0)
    assert copy.deepcopy(cut) == cut
    assert pickle.loads(pickle.dumps(cut)) == cut


def test_a_record_may_look_at_itself_once_made() -> None:
    """`__post_init__` runs when a record is made and may refuse it."""
    with pytest.raises(ValueError, match="least passes"):
        Bound(2.0, 1.0)


def test_a_default_made_anew_is_each_records_own() -> None:
    """A default factory makes one for each record, which stays frozen and equal by fields."""
    assert Checked(1.0) == Checked(1.0)
    assert Checked(1.0).seen is not Checked(1.0).seen
    with pytest.raises(dataclasses.FrozenInstanceError):
        delattr(Checked(1.0), "tonnes")


def test_a_comparison_of_its_own_is_kept() -> None:
    """A class that says when it is equal is not overruled."""
    assert ById("a", "x") == ById("a", "y")


def test_only_frozen_records_are_made() -> None:
    """A record that could be changed is refused here."""
    with pytest.raises(TypeError, match="standard library"):
        dataclass(frozen=False)
