"""What stage 2 hands on: a group's requirements and limits, with the steps to them. Frozen."""

from __future__ import annotations

from rationlp.farm.feed import Feed
from rationlp.farm.group import AFRC, QuantityLimit
from rationlp.needs.energy import EnergyNeed
from rationlp.needs.ewe_appetite import LateEwe
from rationlp.records import dataclass
from rationlp.shows import Shown


@dataclass(frozen=True)
class Step:
    """One step of a requirement: what, value, unit, equation with its inputs, source, status."""

    name: str
    value: float
    unit: str
    equation: str
    source: str
    status: str
    key: str = ""  # by which other parts of the program look the step up


MILK_NE, MILK_VALUE, GROWTH_NE = "milk_ne", "milk_value", "growth_ne"
YOUNG_WEIGHT, PREGNANCY_MP = "young_weight", "pregnancy_mp"


@dataclass(frozen=True)
class Requirement:
    """Energy constants (margin inside), MP without margin [g/d], the steps to them, and what should
    be said.

    colostrum_mp_g, wool_mp_g, priced_mp_g: MP wanted besides for udder and colostrum, for the wool
    of an adult that neither grows nor milks, and for the last of a ewe's milk or a calf's gain
    [g/d]; a shortage of any is priced and said, never forbidden.
    """

    energy: EnergyNeed
    mp_g: float
    steps: tuple[Step, ...]
    remarks: tuple[str, ...] = ()
    colostrum_mp_g: float = 0.0
    wool_mp_g: float = 0.0
    priced_mp_g: float = 0.0


@dataclass(frozen=True)
class IntakeCap:
    """Σ kg DM − per_kg_concentrate · Σ kg DM of concentrates ≤ cap_kg_dm (a head a day)."""

    cap_kg_dm: float
    per_kg_concentrate: float
    equation: str
    source: str
    status: str


@dataclass(frozen=True)
class AppetiteRow:
    """Σ weights · x ≤ most, x kg DM a head a day; weights in the order of the feeds at hand."""

    name: str
    """The kind of the row's key in the model."""
    weights: tuple[float, ...]
    most: float
    unit: str
    title: str
    """What is limited, in farm words, for a table."""
    bound: str
    """The limit in farm words, for a sentence."""
    source: str
    tangent: bool = False
    """One of the tangents of a curve."""


@dataclass(frozen=True)
class DietLimit:
    """A limit on the whole diet.

    quantity: a feed-table column (g/kg DM), or one of `forage_share`, `straw_share`,
    `concentrate_share` (share of DM), `forage_ndf_g_per_kg_dm`, `starch_and_sugar_g_per_kg_dm`,
    `urea_g_per_kg_dm`. kind: `row` (a constraint of the model), `priced` (a constraint that may be
    passed at a price) or `reported` (only said when passed). whose: whose rule it is, in words.
    """

    quantity: str
    at_least: float | None
    at_most: float | None
    unit: str
    kind: str
    status: str
    whose: str


@dataclass(frozen=True)
class Absorption:
    """Share of a mineral that is absorbed [-]: of forage and roots, concentrates, mineral feeds."""

    forage: float
    concentrate: float
    mineral: float

    def of(self, feed: Feed) -> float:
        """The share that holds for a feed [-]."""
        if feed.kind == "mineral":
            return self.mineral
        if feed.is_concentrate:
            return self.concentrate
        return self.forage


@dataclass(frozen=True)
class MineralNeed:
    """What must be absorbed of a mineral: Σ absorption · content · kg DM ≥ absorbed_g +
    absorbed_g_per_kg_dm · Σ kg DM.

    quantity: a feed-table column (`ca_g_per_kg_dm`). absorbed_g [g a head a day];
    absorbed_g_per_kg_dm [g/kg DM eaten]. target_low, target_high: usual content of the whole diet
    [g/kg DM], common practice (c), None where none is known.
    """

    quantity: str
    absorbed_g: float
    absorbed_g_per_kg_dm: float
    absorption: Absorption
    target_low: float | None
    target_high: float | None
    steps: tuple[Step, ...]
    source: str
    status: str

    def needed_g(self, dm_kg: float) -> float:
        """What must be absorbed when `dm_kg` [kg DM a day] are eaten [g a day]."""
        return max(self.absorbed_g + self.absorbed_g_per_kg_dm * dm_kg, 0.0)


@dataclass(frozen=True)
class MilkerIntake:
    """What a dairy cow in milk eats of forage [kg DM a day]; the rows are in dairy_appetite.py.

    forage_kg_dm: S0, standard grass silage eaten alone, times the herd's own factor. forage_ndf_kg:
    most NDF of forage [kg]. concentrate_kg_dm: most concentrate in the first weeks, None once it is
    free.
    """

    forage_kg_dm: float
    forage_ndf_kg: float
    concentrate_kg_dm: float | None


@dataclass(frozen=True)
class GroupNeeds(Shown):
    """Everything that the model must respect for one head of a group on one day.

    energy: constants of the ME requirement, margin inside, or None (class `stated`). mp_g: MP
    requirement without margin [g/d] or None; mp_margin: multiplies it. intake: cap or None.
    appetite_floor_kg_dm: least DM of a group fed to appetite when it is a plain figure [kg/d];
    appetite_floor_share: least share of the intake cap; at most one of them is set. ndf_fill_kg:
    most NDF a day [kg] or None. energy_ceiling: most ME as a multiple of the need, or None;
    ceiling_priced: the ceiling is priced instead of hard. limits: diet limits of the class.
    own_limits: the farm's own. remarks: sentences to say with the answer. limits_key,
    believability: which rows of practical limits and of usual ranges hold for the class (None:
    none). colostrum_mp_g, wool_mp_g: MP wanted besides the requirement; a shortage is priced [g/d].
    forage_stage: which rows of feeds/forage-intake.csv say how much forage an animal takes, or
    None. late_ewe: the ewe in lamb whose appetite for forage follows needs/ewe_appetite.py, or
    None. minerals: what must be absorbed of each mineral; empty for a group that states its own.
    growing_forage: the forage rows of growing cattle hold, and the floor of appetite follows from
    the feeds at hand. species: `cattle`, `sheep`, or "" for a group that states its own needs.
    lime_kept_out: a dry cow near calving gets no limestone or other mineral rich in calcium.
    milker: what a dairy cow in milk eats of forage; None for other classes. standard: by which
    energy and protein are worked out. reserve_mj: energy from the back that these needs count on
    [MJ ME-equivalent/d].
    """

    group: str
    animal_class: str
    steps: tuple[Step, ...]
    energy: EnergyNeed | None
    mp_g: float | None
    mp_margin: float
    intake: IntakeCap | None
    appetite_floor_kg_dm: float | None
    appetite_floor_share: float | None
    ndf_fill_kg: float | None
    energy_ceiling: float | None
    ceiling_priced: bool
    limits: tuple[DietLimit, ...]
    own_limits: tuple[QuantityLimit, ...]
    live_weight_kg: float | None
    remarks: tuple[str, ...] = ()
    limits_key: str | None = None
    believability: str | None = None
    colostrum_mp_g: float = 0.0
    wool_mp_g: float = 0.0
    forage_stage: str | None = None
    late_ewe: LateEwe | None = None
    minerals: tuple[MineralNeed, ...] = ()
    growing_forage: bool = False
    species: str = ""
    lime_kept_out: bool = False
    milker: MilkerIntake | None = None
    priced_mp_g: float = 0.0
    standard: str = AFRC
    reserve_mj: float = 0.0

    @property
    def mp_required_g(self) -> float | None:
        """MP requirement with its margin [g/d]."""
        if self.mp_g is None:
            return None
        return self.mp_g * self.mp_margin

    @property
    def mp_wanted_g(self) -> float:
        """MP that the protein row asks for [g/d]: requirement, wool and the last of milk or gain
        with the margin, and what colostrum wants; 0 for none.
        """
        besides = self.wool_wanted_g + self.priced_wanted_g + self.colostrum_mp_g
        return (self.mp_required_g or 0.0) + besides

    @property
    def wool_wanted_g(self) -> float:
        """MP that wool wants, margin included [g/d]."""
        return self.wool_mp_g * self.mp_margin

    @property
    def priced_wanted_g(self) -> float:
        """MP that the last of milk or gain wants, margin included [g/d]."""
        return self.priced_mp_g * self.mp_margin
