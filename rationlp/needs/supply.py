"""What a ration supplies: protein of a feed at a level of feeding, and sums of a whole ration."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rationlp.errors import Finding, InputError
from rationlp.farm.feed import Feed
from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.needs import csiro
from rationlp.needs.energy import Level, number_of
from rationlp.needs.nrc import NrcFigures, figures_missing, mp_of_eating, nrc_figures
from rationlp.needs.nrc_state import NrcState
from rationlp.needs.protein import FRACTIONS, digestible_udp, effective_rdp, microbial_cp
from rationlp.needs.standards import STANDARDS
from rationlp.quantities import quantities
from rationlp.records import dataclass

ADIN = "adin_g_n_per_kg_dm"
_PROTEIN_FIGURES = frozenset({"fme_mj_per_kg_dm", "cp_g_per_kg_dm", *FRACTIONS})
ALWAYS_SUMMED = ("me_mj_per_kg_dm", "fme_mj_per_kg_dm", "cp_g_per_kg_dm")


@dataclass(frozen=True)
class FeedProtein:
    """Protein figures of a kg DM of a feed at one level of feeding [MJ/kg DM, g/kg DM]."""

    fme_mj: float
    erdp_g: float
    dup_g: float
    cp_g: float


@dataclass(frozen=True)
class ProteinFigures:
    """What of a feed's protein does not depend on the level of feeding: FME [MJ/kg DM], crude
    protein [g/kg DM], its fractions a, b [-] and c [/h], ADIN [g N/kg DM].
    """

    fme_mj: float
    cp_g: float
    fractions: tuple[float, float, float]
    adin_g_n: float

    def at(self, outflow: Level) -> tuple[float, float, float]:
        """FME [MJ], ERDP and DUP [g] of a kg DM at a rumen outflow [/h]."""
        if self.cp_g == 0.0:
            return self.fme_mj, 0.0, 0.0
        rate = number_of(outflow)
        erdp = effective_rdp(self.cp_g, self.fractions, rate)
        dup = digestible_udp(self.cp_g, self.fractions, rate, self.adin_g_n)
        return self.fme_mj, erdp, dup


@dataclass(frozen=True)
class CsiroFigures:
    """A feed under CSIRO (2007): its crude protein [g/kg DM] and fractions."""

    feed: Feed
    cp_g: float
    fractions: tuple[float, float, float]

    def at(self, level: Level) -> tuple[float, float, float]:
        """FME [MJ], degraded and digested passing protein [g] of a kg DM at a level of feeding; of
        the last is taken off what a kg eaten loses in the dung.
        """
        feeding = number_of(level)
        fme, degraded, digested = csiro.supply_of(self.feed, self.cp_g, self.fractions, feeding)
        return fme, degraded, digested - csiro.FAECAL_DPLS_G_PER_KG_DM


AnyFigures = ProteinFigures | CsiroFigures | NrcFigures


@dataclass(frozen=True)
class RationSupply:
    """What a ration brings a head a day.

    dm_kg, fresh_kg [kg]; me_mj, fme_mj [MJ]; cp_g, urea_g [g] (urea_g: dry matter of feeds of kind
    npn). erdp_g, dup_g, mcp_g, mp_g [g]: None without a level of feeding, or where a figure they
    need is blank. energy_mj: what counts against the need of energy: ME, or the net energy of the
    standard [MJ]. microbes_by_energy_g: microbial crude protein that the energy would let be made,
    None as above. mp_of_eating_g: MP that NRC (2001) counts on both sides, as brought and as asked
    for by eating, and mp_g leaves out [g]. amounts: by feed-table column, the amount a day in the
    column's amount unit (`cp_g_per_kg_dm` → g). missing: by column, keys of the feeds eaten whose
    figure is blank; the amount is then the sum of the others only.
    """

    dm_kg: float
    fresh_kg: float
    me_mj: float
    fme_mj: float
    cp_g: float
    urea_g: float
    erdp_g: float | None
    dup_g: float | None
    mcp_g: float | None
    mp_g: float | None
    amounts: dict[str, float]
    missing: dict[str, tuple[str, ...]]
    energy_mj: float = 0.0
    microbes_by_energy_g: float | None = None
    mp_of_eating_g: float = 0.0

    @property
    def me_mj_per_kg_dm(self) -> float:
        """Energy density [MJ ME/kg DM]; 0 for an empty ration."""
        if self.dm_kg > 0.0:
            return self.me_mj / self.dm_kg
        return 0.0


def protein_figures_missing(feed: Feed, standard: str = AFRC) -> tuple[str, ...]:
    """Columns that `feed_protein` needs and this feed lacks. A feed with no crude protein needs no
    a, b and c.

    A blank ADIN counts as 0 (common practice, no source; status c).
    """
    names = ["fme_mj_per_kg_dm", "cp_g_per_kg_dm"]
    if standard == NRC:
        names = ["cp_g_per_kg_dm", *figures_missing(feed)]
    missing = [name for name in dict.fromkeys(names) if feed.value(name) is None]
    if feed.value("cp_g_per_kg_dm") != 0.0:
        missing += [name for name in FRACTIONS if feed.value(name) is None]
    return tuple(missing)


def feed_protein(feed: Feed, level: Level, standard: str = AFRC) -> FeedProtein:
    """FME, ERDP, DUP and CP of a kg DM of a feed at level of feeding `level` [-], by a standard.

    Raises InputError (IN210) naming the feed and each figure it lacks.
    """
    figures = protein_figures(feed, standard)
    return FeedProtein(*figures.at(STANDARDS[standard].passage(level)), figures.cp_g)


def protein_figures(feed: Feed, standard: str = AFRC) -> AnyFigures:
    """The figures of a feed from which its protein at any level of feeding follows.

    Raises InputError (IN210) naming the feed and each figure it lacks.
    """
    if standard == NRC or not feed.figures.keys() >= _PROTEIN_FIGURES:
        missing = protein_figures_missing(feed, standard)
        if missing:
            raise InputError(_missing_finding(feed, name) for name in missing)
    if standard == NRC:
        return nrc_figures(feed)
    crude = feed.figures["cp_g_per_kg_dm"].value
    fme = feed.figures["fme_mj_per_kg_dm"].value
    fractions = (0.0, 0.0, 0.0)
    if crude != 0.0:
        a, b, c = (feed.figures[name].value for name in FRACTIONS)
        fractions = a, b, c
    if standard == CSIRO:
        return CsiroFigures(feed, crude, fractions)
    return ProteinFigures(fme, crude, fractions, feed.value(ADIN) or 0.0)


def _missing_finding(feed: Feed, quantity: str) -> Finding:
    return Finding(
        "IN210",
        f'feed "{feed.key}"',
        f"no figure for {quantity}, which the protein supply needs",
        f"give {quantity} for this feed, or bar it from the group",
    )


def ration_supply(
    parts: Sequence[tuple[Feed, float]], level: Level | None, standard: str = AFRC
) -> RationSupply:
    """Sums of a ration given as (feed, kg DM a head a day), at level of feeding `level` [-] or
    None, by a standard.

    MP = 0.6375 (CSIRO: 0.6, NRC: 0.72) · min(y ΣFME, ΣERDP) + ΣDUP. Feeds of which nothing is eaten
    are left out, blanks of theirs included. Without a level, or where a feed lacks a protein
    figure, the four protein sums are None.
    """
    eaten = [(feed, kg) for feed, kg in parts if kg > 0.0]
    amounts: dict[str, float] = {}
    missing: dict[str, tuple[str, ...]] = {}
    for name in _columns([feed for feed, _ in eaten]):
        amounts[name] = sum(kg * (feed.value(name) or 0.0) for feed, kg in eaten)
        blank = tuple(feed.key for feed, _ in eaten if feed.value(name) is None)
        if blank:
            missing[name] = blank
    for name in FRACTIONS:
        blank = tuple(feed.key for feed, _ in eaten if name in protein_figures_missing(feed))
        if blank:
            missing[name] = blank
    erdp, dup, mcp, mp, by_energy = _protein(eaten, level, standard)
    return RationSupply(
        dm_kg=sum(kg for _, kg in eaten),
        fresh_kg=sum(kg * 1000.0 / feed.dm_g_per_kg for feed, kg in eaten),
        me_mj=amounts["me_mj_per_kg_dm"],
        fme_mj=amounts["fme_mj_per_kg_dm"],
        cp_g=amounts["cp_g_per_kg_dm"],
        urea_g=sum(1000.0 * kg for feed, kg in eaten if feed.kind == "npn"),
        erdp_g=erdp,
        dup_g=dup,
        mcp_g=mcp,
        mp_g=mp,
        amounts=amounts,
        missing=missing,
        energy_mj=_energy(eaten, level, amounts["me_mj_per_kg_dm"]),
        microbes_by_energy_g=by_energy,
        mp_of_eating_g=_of_eating(eaten, mcp, standard),
    )


def _of_eating(eaten: Sequence[tuple[Feed, float]], mcp_g: float | None, standard: str) -> float:
    """MP that goes with eating and stands on both sides of the printed sum [g]: 30 D + 4.72 D/0.67
    less what microbes spare of it.
    """
    if standard != NRC or mcp_g is None:
        return 0.0
    return mp_of_eating(sum(kg for _, kg in eaten), mcp_g)


def _energy(eaten: Sequence[tuple[Feed, float]], level: Level | None, me_mj: float) -> float:
    """What counts against the need of energy [MJ]: net energy where the level says how."""
    if isinstance(level, NrcState):
        return sum(kg * nrc_figures(feed).energy_mj(level) for feed, kg in eaten)
    return me_mj


def metabolisable_protein(
    parts: Sequence[tuple[Feed, float]], level: Level, standard: str = AFRC
) -> float:
    """MP [g/d] of a ration of (feed, kg DM a head a day), every protein figure being known."""
    mp_g = _protein([(feed, kg) for feed, kg in parts if kg > 0.0], level, standard)[3]
    assert mp_g is not None
    return mp_g


def _columns(feeds: Iterable[Feed]) -> list[str]:
    """Columns that add up: per kg DM, and known of some feed (the first three always)."""
    known = set(ALWAYS_SUMMED).union(*(feed.figures for feed in feeds))
    return [
        name
        for name, quantity in quantities().items()
        if name in known and quantity.basis == "dm" and not quantity.unit.startswith("%")
    ]


_NOT_KNOWN = (None, None, None, None, None)


def _protein(
    eaten: Sequence[tuple[Feed, float]], level: Level | None, standard: str
) -> tuple[float, float, float, float, float] | tuple[None, None, None, None, None]:
    """(ERDP, DUP, microbial CP, MP, microbial CP by energy alone) [g]."""
    if level is None or any(protein_figures_missing(feed, standard) for feed, _ in eaten):
        return _NOT_KNOWN
    fme = erdp = dup = 0.0
    for feed, kg in eaten:
        protein = feed_protein(feed, level, standard)
        fme += kg * protein.fme_mj
        erdp += kg * protein.erdp_g
        dup += kg * protein.dup_g
    rows = STANDARDS[standard]
    energy = rows.microbial_yield(level) * fme
    mcp = microbial_cp(rows.microbial_yield(level), fme, erdp)
    return erdp, dup, mcp, rows.mp_per_microbial_cp * mcp + dup, energy
