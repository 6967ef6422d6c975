"""The plan of a winter: what must hold of any plan, what ties groups, and its proof against other
ways to the same figure.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from test_random_rations import by_scipy
from winter_farms import (
    COWS,
    DAYS,
    HOME,
    MILKERS,
    PLENTY,
    START,
    STORES,
    TIGHT,
    TURNOUT,
    steady,
    stock,
    stocks,
    tables,
    winter_farm,
)

from rationlp.errors import InputError
from rationlp.farm.farm import Farm, Mix, YardRules
from rationlp.farm.group import Bedding, Grazing
from rationlp.farm.store import Face, Outlet
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.ration import make_blocks
from rationlp.model.solution import Status
from rationlp.model.solve import LiveModel
from rationlp.planned import WinterPlan
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import FED_ONLY, WinterOptions

PLAIN = WinterOptions(faces="off", beside=False)
"""What a plan of these tests is planned by: nothing beside it is looked at here."""
GRASS = "grass_silage_1st_typical"


def plan_of(
    farm: Farm, t_dm: dict[str, float], trough: float = 0.0, options: WinterOptions = PLAIN
) -> WinterPlan:
    """The plan of a farm with so much in store."""
    return solve_winter(farm, options, stocks(t_dm, trough))


@pytest.fixture(scope="module")
def tight() -> WinterPlan:
    """A plan whose stores bind."""
    return plan_of(winter_farm(), TIGHT, 0.04)


def test_a_plan_is_proven_adequate_and_within_its_stores(tight: WinterPlan) -> None:
    """Gap at most 0.1 %, every ration meets its true requirement, nothing is overdrawn, all days of
    all heads are fed.
    """
    assert tight.status == "proven"
    assert tight.proof is not None
    assert tight.proof.passed
    assert tight.proof.gap_relative <= 1e-3
    assert tight.proof.lower_bound <= tight.proof.cost
    for ration in tight.rations:
        assert ration.excess_mj is not None
        assert ration.excess_mj >= -1e-5 * ration.dm_kg
        assert ration.excess_mp_g is not None
        assert ration.excess_mp_g >= -1e-2
    days = {period.number: period.days for period in tight.periods}
    assert sum(days.values()) == DAYS
    fed = sum(ration.head * days[ration.period] for ration in tight.rations)
    assert fed == (COWS.head + STORES.head) * DAYS


def test_the_mass_balance_of_every_store_is_kept_to_the_kilogram(tight: WinterPlan) -> None:
    """Held = eaten + wasted + spoiled + sold + bedded + left; and what is eaten is what the rations
    eat, added up by hand.
    """
    days = {period.number: period.days for period in tight.periods}
    for one in tight.stores:
        assert abs(one.held_t_dm.typical - sum(one.used_t_dm) - one.left_t_dm) * 1000.0 < 1.0
        by_hand = sum(
            amount.kg_dm * ration.head * days[ration.period] / 1000.0
            for ration in tight.rations
            for amount in ration.amounts
            if amount.offer == one.store
        )
        assert sum(one.eaten_t_dm) == pytest.approx(by_hand, abs=1e-3)
        assert sum(one.wasted_t_dm) == pytest.approx(by_hand * 0.04 / 0.96, abs=1e-3)


def test_the_cost_is_what_is_bought_and_eaten(tight: WinterPlan) -> None:
    """Bought tonnes and own tonnes at the farm's prices, added up by hand."""
    bought = sum(
        sum(one.t_fresh) * price for one in tight.purchases for price in [_price(tight, one.offer)]
    )
    own = sum(
        sum(one.used_t_dm) * 1000.0 / tables()[one.store].dm_g_per_kg * HOME[one.store]
        for one in tight.stores
    )
    assert tight.bought_cost == pytest.approx(bought, rel=1e-9)
    assert tight.own_cost == pytest.approx(own, rel=1e-6)
    assert tight.cost == pytest.approx(bought + own, rel=1e-6)


def _price(plan: WinterPlan, offer_id: str) -> float:
    return next(offer.price_per_t_fresh for offer in plan.farm.offers if offer.id == offer_id)


def test_with_stores_without_end_the_plan_is_each_group_alone() -> None:
    """The cheapest plan costs what the cheapest rations of the groups, each alone, cost for their
    days.
    """
    farm = winter_farm((steady(COWS), steady(STORES), MILKERS))
    plan = plan_of(farm, PLENTY)
    alone = 0.0
    for block in make_blocks(farm):
        answer = solve_block(block)
        assert isinstance(answer, Optimum)
        alone += answer.objective * block.group.head * DAYS
    assert plan.proof is not None
    assert plan.proof.cost == pytest.approx(alone, rel=2e-4)


def test_taking_a_store_away_never_lowers_the_cost() -> None:
    """Half the hay, and none of it: dearer each time, within the gaps."""
    costs = []
    for share in (1.0, 0.5, 0.0):
        plan = plan_of(winter_farm(), {**TIGHT, "hay_average": TIGHT["hay_average"] * share})
        assert plan.proof is not None
        costs.append((plan.proof.lower_bound, plan.proof.cost))
    for (lower, _), (_, dearer) in itertools.pairwise(costs):
        assert dearer >= lower - 1e-6


def test_twice_the_heads_and_stores_is_twice_the_plan() -> None:
    """Everything doubled, cost within the gaps of both plans."""
    once = plan_of(winter_farm(), TIGHT)
    farm = winter_farm(tuple(replace(group, head=2 * group.head) for group in (COWS, STORES)))
    twice = plan_of(farm, {key: 2 * t for key, t in TIGHT.items()})
    assert once.proof is not None
    assert twice.proof is not None
    assert twice.proof.cost == pytest.approx(2.0 * once.proof.cost, rel=1e-3)


def test_a_store_that_runs_out_has_a_worth_and_one_that_does_not_has_none() -> None:
    """One more tonne of silage saves about what its marginal value says; of straw that is left
    over, nothing.
    """
    held = {**TIGHT, GRASS: 8.0, "straw_barley": 200.0}
    plan = plan_of(winter_farm(), held)
    grass = next(one for one in plan.stores if one.store == GRASS)
    straw = next(one for one in plan.stores if one.store == "straw_barley")
    assert straw.marginal == pytest.approx(0.0, abs=1e-6)
    assert grass.marginal is not None
    assert grass.marginal > 0.0
    more = plan_of(winter_farm(), {**held, GRASS: 8.5})
    assert plan.proof is not None
    assert more.proof is not None
    assert plan.proof.cost - more.proof.cost == pytest.approx(0.5 * grass.marginal, rel=0.1)


def test_every_programme_is_solved_as_by_another_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every joint linear programme of a plan by scipy's own interface to 1e-6."""
    kept: list[tuple[Any, Any]] = []
    plain = LiveModel.solve

    def recorded(self: LiveModel, cold: bool = False, presolve: bool = True) -> Any:
        solution = plain(self, cold, presolve)
        if any(row.key[0] == "store" for row in self.rows) and len(kept) < 40:
            kept.append((self.numbers(), solution))
        return solution

    monkeypatch.setattr(LiveModel, "solve", recorded)
    # A winter of its own: one that another test has planned would not be solved again.
    plan_of(
        winter_farm(), {**TIGHT, GRASS: TIGHT[GRASS] + 0.25}, options=WinterOptions(faces="off")
    )
    assert len(kept) >= 4
    for numbers, solution in kept:
        status, objective = by_scipy(numbers)
        assert status == solution.status.value
        if solution.status is Status.OPTIMAL:
            assert solution.objective == pytest.approx(objective, rel=1e-6)


def test_what_cannot_be_fed_is_told_by_group_week_and_tonnes() -> None:
    """Hardly any forage and little to buy: no plan, and the shortfall names group, period, need,
    amount and tonnes.
    """
    farm = winter_farm()
    farm = replace(
        farm,
        offers=tuple(
            offer for offer in farm.offers if offer.id in (*HOME, "minerals_suckler_high_mg")
        ),
    )
    plan = plan_of(farm, {GRASS: 12.0, "hay_average": 6.0, "straw_barley": 10.0})
    assert plan.status in ("none_exists", "none_found")
    assert plan.exit_code == 3
    assert plan.rations == ()
    assert {short.group for short in plan.shortfalls} <= {"cows", "stores"}
    assert all(short.shortfall.short > 0.0 and short.shortfall.unit for short in plan.shortfalls)
    largest: dict[tuple[str, int], float] = {}
    for short in plan.shortfalls:
        largest[short.group, short.period] = max(
            largest.get((short.group, short.period), 0.0), short.t_dm
        )
    missing = sum(largest.values())
    eaten = 28.0
    wanted = sum(
        group.head * float(group.facts["live_weight_kg"]) * 0.018 * DAYS / 1000.0
        for group in (COWS, STORES)
    )
    assert missing == pytest.approx(wanted - eaten, rel=0.35)


def test_an_outlet_buys_what_pays_and_no_more() -> None:
    """At twice its cost surplus silage is sold up to the outlet's most; at half of it nothing
    is.
    """
    farm = winter_farm()
    plenty = {**PLENTY, GRASS: 150.0}
    for price, sold in ((80.0, 40.0), (15.0, 0.0)):
        outlet = Outlet(
            "digester", "A digester", (GRASS,), price_per_t_fresh=price, most_t_fresh=40.0
        )
        plan = plan_of(replace(farm, outlets=(outlet,)), plenty)
        assert sum(sale.t_fresh for sale in plan.sales) == pytest.approx(sold, abs=1e-6)
        assert plan.sold_income == pytest.approx(sold * price, abs=1e-3)
        assert plan.proof is not None
        assert plan.proof.passed


def test_more_promised_than_held_is_refused() -> None:
    """An outlet promised 500 t of a store of 32 t DM: refused with both figures."""
    outlet = Outlet(
        "neighbour", "A neighbour", (GRASS,), price_per_t_fresh=40.0, least_t_fresh=500.0
    )
    with pytest.raises(InputError, match=r'IN188 outlet "neighbour" .*at least 500 t promised'):
        plan_of(replace(winter_farm(), outlets=(outlet,)), TIGHT)


def test_bedding_is_set_aside_first() -> None:
    """2 kg of straw a head a day under the stores: 24 head for 98 days is 4.7 t fresh that nobody
    eats.
    """
    farm = replace(winter_farm(), beddings=(Bedding("straw_barley", "stores", 2.0),))
    plan = plan_of(farm, TIGHT)
    straw = next(one for one in plan.stores if one.store == "straw_barley")
    dm = tables()["straw_barley"].dm_g_per_kg / 1000.0
    assert sum(straw.bedded_t_dm) == pytest.approx(24 * DAYS * 2.0 * dm / 1000.0)
    assert straw.left_t_dm >= -1e-6
    with pytest.raises(InputError, match="less than its reserve and the bedding"):
        plan_of(replace(farm, beddings=(Bedding("straw_barley", "stores", 20.0),)), TIGHT)


def test_a_store_kept_for_a_group_is_eaten_by_it_alone() -> None:
    """Hay kept for the stores is in no ration of the cows."""
    farm = winter_farm()
    kept = tuple(
        replace(one, kept_for=("stores",)) if one.id == "hay_average" else one
        for one in farm.stores
    )
    plan = plan_of(replace(farm, stores=kept), TIGHT)
    eaters = {
        ration.group
        for ration in plan.rations
        for amount in ration.amounts
        if amount.offer == "hay_average"
    }
    assert eaters <= {"stores"}


def test_one_mix_for_two_groups() -> None:
    """Both groups get the same feeds in the stated portion, but for the top-up."""
    milkers, late = replace(MILKERS, id="early"), replace(MILKERS, id="late", head=15)
    late = replace(late, facts={**late.facts, "milk_kg_per_day": 19.0})
    farm = winter_farm((milkers, late))
    mix = Mix(
        "tub",
        {"early": 1.0, "late": 0.9},
        frozenset({"barley", "rapeseed_meal_extracted", "minerals_cattle_general"}),
    )
    plan = plan_of(replace(farm, mixes=(mix,)), PLENTY)
    assert plan.proof is not None
    first = {amount.offer: amount.kg_dm for amount in plan.rations[0].amounts}
    other = next(ration for ration in plan.rations if ration.group == "late")
    for amount in other.amounts:
        if amount.offer not in mix.top_up:
            assert amount.kg_dm == pytest.approx(0.9 * first[amount.offer], abs=1e-6)


def test_grazed_grass_is_eaten_as_stated() -> None:
    """6 kg DM of autumn grass a day until mid-November is in the ration of the first period and in
    no later one.
    """
    grass = replace(tables()["grass_silage_1st_early"], key="grass", name="Grazed grass")
    grazing = Grazing(START, date(2026, 11, 15), 6.0, grass)
    cows = replace(COWS, grazing=(grazing,))
    plan = plan_of(winter_farm((cows, STORES)), PLENTY)
    eaten = {
        ration.period: amount.kg_dm
        for ration in plan.rations
        for amount in ration.amounts
        if ration.group == "cows" and amount.offer == "grazed_grass"
    }
    assert eaten == {0: pytest.approx(6.0)}


def test_groups_come_and_go() -> None:
    """Housed on 15 November and sold on 10 January: fed on those days and no others."""
    bulls = replace(STORES, housed=date(2026, 11, 15), out=date(2027, 1, 10))
    plan = plan_of(winter_farm((COWS, bulls)), PLENTY)
    fed = [ration.period for ration in plan.rations if ration.group == "stores"]
    assert fed == [1, 2, 3, 4]


def test_bought_feed_keeps_to_its_least_and_most() -> None:
    """At most 3 t of barley and at least 2 t of soya hulls."""
    farm = winter_farm()
    bounded = {"barley": {"most_t": 3.0}, "soya_hulls": {"least_t": 2.0}}
    changed = tuple(replace(offer, **bounded.get(offer.id, {})) for offer in farm.offers)
    plan = plan_of(replace(farm, offers=changed), TIGHT)
    bought = {one.offer: sum(one.t_fresh) for one in plan.purchases}
    assert bought.get("barley", 0.0) <= 3.0 + 1e-6
    assert bought["soya_hulls"] >= 2.0 - 1e-6


def test_whole_loads_are_whole() -> None:
    """Barley by the 6 t load: whole loads enough for what is eaten, no marginal values."""
    farm = winter_farm()
    changed = tuple(
        replace(o, whole_loads=True, load_t=6.0) if o.id == "barley" else o for o in farm.offers
    )
    plan = plan_of(
        replace(farm, offers=changed), {GRASS: 26.0, "hay_average": 10.0, "straw_barley": 16.0}
    )
    assert plan.proof is not None
    assert plan.proof.whole_numbers
    assert all(one.marginal is None for one in plan.stores)
    for one in plan.purchases:
        if one.offer == "barley":
            assert sum(one.loads) * 6.0 >= sum(one.t_fresh) - 1e-6
            assert one.cost == pytest.approx(sum(one.loads) * 6.0 * 205.0)


def few_cows() -> tuple[Farm, dict[str, Any]]:
    """A few cows, a clamp for many and a few bales of hay."""
    farm = winter_farm((replace(COWS, head=8),))
    free = tuple(
        replace(offer, price_per_t_fresh=0.0) if not offer.bought else offer
        for offer in farm.offers
    )
    face = Face(9.0, 1.8, 16.2, 3240.0, 1.0, 0.7, 14.0)
    held = stocks({GRASS: 40.0, "hay_average": 3.0, "straw_barley": 3.0})
    return replace(farm, offers=free), {**held, GRASS: stock(GRASS, 40.0, face=face)}


def test_eight_cows_at_a_wide_clamp_waste_most_of_it() -> None:
    """The face must come off at 0.7 m a week: most of what comes off is spoiled, and a clamp is
    shut or open, nothing between.
    """
    farm, held = few_cows()
    plan = solve_winter(farm, WinterOptions(), held)
    assert plan.proof is not None
    assert plan.proof.passed
    grass = next(one for one in plan.stores if one.store == GRASS)
    assert sum(grass.spoiled_t_dm) > 2.0 * sum(grass.eaten_t_dm)
    for period, used in zip(plan.periods, grass.used_t_dm, strict=True):
        least = 3.240 * 0.7 / 7.0 * period.days
        assert used == pytest.approx(0.0, abs=1e-6) or used >= least * (1.0 - 1e-6)


def test_a_course_advances_every_face_and_is_no_cheaper_than_whole_numbers() -> None:
    """The wide clamp of few cows: each period the face of the course is shut or comes off by its
    least, and the search over whole numbers is at most as dear.
    """
    farm, held = few_cows()
    course = solve_winter(farm, WinterOptions(faces="course", prove=False, tidy=False), held)
    whole = solve_winter(farm, WinterOptions(faces="auto", prove=False, tidy=False), held)
    assert course.feeds_all
    assert course.proof is not None
    assert whole.proof is not None
    assert whole.proof.cost <= course.proof.cost + 1e-3
    clamp = next(store for store in course.stores if store.store == GRASS)
    for period, used in zip(course.periods, clamp.used_t_dm, strict=True):
        least = 3.240 * 0.7 / 7.0 * period.days
        assert used == pytest.approx(0.0, abs=1e-6) or used >= least * (1.0 - 1e-6)


def test_from_a_day_on_the_rest_is_planned() -> None:
    """From 20 December: periods from that day to turnout, the first one short."""
    plan = plan_of(
        winter_farm(), TIGHT, options=WinterOptions(start=date(2026, 12, 20), faces="off")
    )
    assert plan.periods[0].first == date(2026, 12, 20)
    assert plan.periods[-1].last == TURNOUT
    with pytest.raises(InputError, match="IN504"):
        plan_of(winter_farm(), TIGHT, options=WinterOptions(start=date(2027, 3, 1)))


def test_the_same_farm_gives_the_same_plan() -> None:
    """Two runs agree in every amount to the last digit."""
    assert plan_of(winter_farm(), TIGHT).rations == plan_of(winter_farm(), TIGHT).rations


def test_above_its_ceiling_a_feed_is_not_bought_and_below_it_is() -> None:
    """The whole plan solved again with the price 5 % above and 5 % below what the buying list
    says.
    """
    farm = winter_farm()
    held = {GRASS: 8.0, "hay_average": 8.0, "straw_barley": 14.0}
    plan = plan_of(farm, held, options=replace(PLAIN, ceilings=True))
    one = next(one for one in plan.purchases if one.offer == "soya_hulls" or one.offer == "barley")
    assert one.price_ceiling is not None
    for share, bought in ((0.95, True), (1.05, False)):
        price = one.price_ceiling * share
        changed = tuple(
            replace(o, price_per_t_fresh=price) if o.id == one.offer else o for o in farm.offers
        )
        again = plan_of(replace(farm, offers=changed), held)
        tonnes = sum(sum(other.t_fresh) for other in again.purchases if other.offer == one.offer)
        assert (tonnes > 0.05) == bought, (share, tonnes)


def remarks_of(farm: Farm, held: dict[str, Any]) -> str:
    """What is said of a plan."""
    return " ".join(solve_winter(farm, PLAIN, held).remarks)


def test_bales_that_lie_open_are_said_and_those_eaten_in_time_are_not() -> None:
    """A 650 kg bale of silage lasts two milking cows more than a week, sixty a few hours."""
    for head, said in ((2, True), (60, False)):
        farm = winter_farm((replace(MILKERS, head=head),))
        bales = replace(farm.stores[0], kind="bales", size={"count": 500.0, "weight_kg": 650.0})
        text = remarks_of(replace(farm, stores=(bales, *farm.stores[1:])), stocks(PLENTY))
        assert ("an opened bale of 650 kg" in text) == said


def test_a_clamp_opened_before_its_four_weeks_is_said() -> None:
    """Filled ten days before the winter and opened at once by the farm's word it is fed too soon;
    filled in June it is not.
    """
    for filled, said in (("2026-10-22", True), ("2026-06-10", False)):
        farm = replace(winter_farm(), yard_rules=YardRules(shut_days=0))
        clamp = replace(farm.stores[0], kind="clamp", size={"filled": filled})
        text = remarks_of(replace(farm, stores=(clamp, *farm.stores[1:])), stocks(PLENTY))
        assert ("keep it shut for four weeks" in text) == said


def test_a_load_that_will_not_keep_or_has_no_room_is_said() -> None:
    """5 t of brewers' grains for 20 cows: 7 days' keeping is too little, 120 are enough; room for 4
    t is too little.
    """
    farm = winter_farm((MILKERS,))
    for keeps, space, words in (
        (7.0, 10.0, "lasts up to"),
        (120.0, 4.0, "room for 4 t"),
        (120.0, 10.0, ""),
    ):
        grains = replace(
            farm.offers[0], id="grains", name="Grains", feed=tables()["brewers_grains"],
            bought=True,
            price_per_t_fresh=20.0, load_t=5.0, keeps_days=keeps, space_t=space,
        )  # fmt: skip
        text = remarks_of(replace(farm, offers=(*farm.offers, grains)), stocks(PLENTY))
        assert (words in text) if words else ("Grains" not in text)


def test_what_is_told_beside_a_plan_changes_no_plan() -> None:
    """Without the bound at every level, the costs of the yard's rules and the sentences the plan is
    the same to the last bit, and its proof at its own levels too.
    """
    farm = winter_farm()
    whole = solve_winter(farm, WinterOptions(faces="off"), stocks(PLENTY))
    bare = solve_winter(farm, replace(FED_ONLY, faces="off"), stocks(PLENTY))
    assert (bare.stores, bare.purchases, bare.cost) == (whole.stores, whole.purchases, whole.cost)
    for one, other in zip(bare.rations, whole.rations, strict=True):
        assert one == replace(other, remarks=one.remarks)
    assert whole.proof is not None
    assert bare.proof is not None
    assert whole.proof.bound_any_level is not None
    same = replace(whole.proof, bound_any_level=None, lps=bare.proof.lps)
    assert bare.proof == same
    assert whole.tidy is not None
    assert bare.tidy is not None
    assert whole.tidy.above_least is not None
    assert bare.tidy == replace(whole.tidy, above_least=None, rules=bare.tidy.rules)
