"""Bad input: each kind of fault gives one line with its place, what was found and what to do;
nothing is written; exit 2.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
from farms import FARM, FED, changed, snapshot, write_farm

from rationlp.cli import main
from rationlp.errors import Finding, InputError
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.read.farm import read_farm
from rationlp.read.fed import read_fed
from rationlp.read.template import write_new_farm


class Bad(NamedTuple):
    """A spoilt farm.toml: its text, the code, words of the place and words of the remedy."""

    text: str
    code: str
    where: str
    remedy: str


GROUP = '[[groups]]\nid = "cows"'
STORE = '[[stores]]\nid = "pit"'
TOML: dict[str, Bad] = {
    "unknown key, nearest": Bad(changed("length_m = 30", "lenght_m = 30"), "IN110", 'stores[1] "pit".lenght_m', "length_m"),
    "unknown key of a fact": Bad(changed("milk_kg_per_day", "milk_per_day"), "IN110", '"cows".milk_per_day', "milk_kg_per_day"),
    "fact of another class": Bad(changed("week_of_lactation = 12", "week_of_lactation = 12\nsex = \"bull\""), "IN110", ".sex", "growing_cattle"),
    "unknown key in a limit": Bad(changed("max_kg_fresh = 5", "max_kg = 5"), "IN110", "feed_limits[1]", "max_kg_fresh"),
    "unknown table": Bad(FARM + "\n[marginss]\nme = 1.0\n", "IN110", "marginss", "margins"),
    "unknown key of bought": Bad(changed("price_per_t_fresh = 205", "price_per_t_fresh = 205\nprice = 3"), "IN110", '"barley".price', "price_per_t_fresh"),
    "missing table": Bad(changed("[winter]\nstart = 2026-10-15\nturnout = 2027-04-10\n", ""), "IN111", "farm.toml", "add it"),
    "missing key": Bad(changed("turnout = 2027-04-10\n", ""), "IN111", "winter.turnout", "add it"),
    "missing price": Bad(changed("price_per_t_fresh = 205\n", ""), "IN111", '"barley".price_per_t_fresh', "add it"),
    "one table for a list": Bad(FARM.replace("[[bought]]", "[bought]", 1).replace('[[bought]]\nfeed = "soya_meal_48"\nprice_per_t_fresh = 385\n', ""), "IN112", "bought", "[[bought]]"),
    "number in quotes": Bad(changed("head = 60", 'head = "60"'), "IN112", '"cows".head', "whole number"),
    "fraction of an animal": Bad(changed("head = 60", "head = 60.5"), "IN112", '"cows".head', "whole number"),
    "boolean for a number": Bad(changed("price_per_t_fresh = 205", "price_per_t_fresh = true"), "IN112", "price_per_t_fresh", "number"),
    "boolean for a fact": Bad(changed("live_weight_kg = 650\nmilk", "live_weight_kg = true\nmilk"), "IN112", "live_weight_kg", "plain number"),
    "date in quotes": Bad(changed("start = 2026-10-15", 'start = "2026-10-15"'), "IN112", "winter.start", "date like"),
    "text where a list belongs": Bad(changed('barred = ["straw"]', 'barred = "straw"'), "IN112", ".barred", "list"),
    "zero head": Bad(changed("head = 60", "head = 0"), "IN113", '"cows".head', "at least 1"),
    "negative price": Bad(changed("price_per_t_fresh = 205", "price_per_t_fresh = -205"), "IN113", "price_per_t_fresh", "at least 0"),
    "price not a number": Bad(changed("price_per_t_fresh = 205", "price_per_t_fresh = nan"), "IN113", "price_per_t_fresh", "plain number"),
    "infinite price": Bad(changed("price_per_t_fresh = 205", "price_per_t_fresh = inf"), "IN113", "price_per_t_fresh", "plain number"),
    "margin ten times": Bad(changed("me = 1.05", "me = 10.5"), "IN113", "margins.me", "at most 1.3"),
    "share above one": Bad(changed("max_kg_fresh = 5", "max_share_of_dm = 30"), "IN113", "max_share_of_dm", "at most 1"),
    "weight in tonnes": Bad(changed("live_weight_kg = 650\nmilk", "live_weight_kg = 0.65\nmilk"), "IN113", "live_weight_kg", "was it 650"),
    "a 20 kg cow": Bad(changed("live_weight_kg = 650\ndays", "live_weight_kg = 20\ndays"), "IN113", "live_weight_kg", "valid from 350 to 1000"),
    "a cow that is not in calf yet": Bad(changed("days_to_calving = 200", "days_to_calving = 331"), "IN113", "days_to_calving", "the class that they are of until then"),
    "milk fat in per cent": Bad(changed("milk_fat_g_per_kg = 41", "milk_fat_g_per_kg = 4.1"), "IN113", "milk_fat_g_per_kg", "was it 41"),
    "60 kg of milk from a suckler": Bad(changed('class = "suckler_cow_dry"\nhead = 20\nlive_weight_kg = 650\ndays_to_calving = 200', 'class = "suckler_cow_milking"\nhead = 20\nlive_weight_kg = 650\nmilk_kg_per_day = 60\nweek_of_lactation = 8'), "IN113", "milk_kg_per_day", "valid from 1 to 18"),
    "clamp as high as a church": Bad(changed("height_m = 2.5", "height_m = 25"), "IN113", '"pit".height_m', "valid from 0.3 to 12"),
    "unknown word": Bad(changed('price = "cost"', 'price = "costs"'), "IN114", "home_grown.price", "cost"),
    "unknown kind of store": Bad(changed('kind = "clamp"', 'kind = "clmap"'), "IN114", ".kind", "clamp"),
    "currency in words": Bad(changed('currency = "GBP"', 'currency = "pounds"'), "IN114", "farm.currency", "three capital letters"),
    "id with blanks": Bad(changed('id = "pit"', 'id = "first pit"'), "IN114", "stores[1]", "letters"),
    "quantity that exists": Bad(FARM + '\n[[own_quantities]]\nname = "cp_g_per_kg_dm"\nunit = "g"\n', "IN115", "own_quantities[1]", "another name"),
    "duplicate store": Bad(changed('id = "straw"', 'id = "pit"'), "IN116", 'stores[2] "pit"', "its own id"),
    "duplicate across lists": Bad(changed('feed = "barley"\nprice', 'id = "pit"\nfeed = "barley"\nprice'), "IN116", "bought[1]", "its own id"),
    "duplicate group": Bad(changed('id = "sucklers"', 'id = "cows"'), "IN116", 'groups[2] "cows"', "its own id"),
    "least above most": Bad(changed("least_t = 1", "least_t = 100"), "IN117", '"barley"', "cannot pass"),
    "no price for the basis": Bad(changed('price = "cost"', 'price = "would_fetch"'), "IN118", '"pit"', "would_fetch_per_t_fresh"),
    "feed in no table": Bad(changed('feed = "straw_barley"', 'feed = "straw_barly"'), "IN119", '"straw".feed', "straw_barley"),
    "class without its facts": Bad(changed("week_of_lactation = 12\n", ""), "IN120", '"cows"', "each of these keys"),
    "stated without needs": Bad(FARM + '\n[[groups]]\nid = "pen"\nclass = "stated"\nhead = 5\n', "IN120", '"pen"', "quantity_limits"),
    "store without sizes": Bad(changed("height_m = 2.5\n", ""), "IN121", '"pit"', "plain"),
    "size of another kind": Bad(changed("count = 100", "count = 100\nheight_m = 3"), "IN110", '"straw".height_m', "bale_height_m"),
    "everything barred": Bad(changed('barred = ["straw"]', 'barred = ["straw", "pit", "barley", "soya_meal_48"]'), "IN122", "barred", "leave some"),
    "barred with a floor": Bad(changed('barred = ["straw"]', 'barred = ["straw", "barley"]').replace("max_kg_fresh = 5", "min_kg_fresh = 5"), "IN123", '"cows"', "take it out"),
    "bar of nothing": Bad(changed('barred = ["straw"]', 'barred = ["strw"]'), "IN124", "barred", "straw"),
    "limit of a feed not here": Bad(changed('feed = "barley"\nmax', 'feed = "maize_grain"\nmax'), "IN124", "feed_limits[1].feed", "ids of this farm"),
    "a limit twice": Bad(changed("max_kg_fresh = 5", 'max_kg_fresh = 5\n[[groups.feed_limits]]\nfeed = "barley"\nmin_kg_fresh = 1'), "IN125", "feed_limits[2]", "one table"),
    "floor above ceiling": Bad(changed("max_kg_fresh = 5", "max_kg_fresh = 5\nmin_kg_fresh = 6"), "IN126", "feed_limits[1]", "floor"),
    "least quantity above most": Bad(changed("at_least = 140", "at_least = 140\nat_most = 120"), "IN126", "quantity_limits[1]", "floor"),
    "shares above the whole": Bad(changed("max_kg_fresh = 5", 'min_share_of_dm = 0.7\n[[groups.feed_limits]]\nfeed = "pit"\nmin_share_of_dm = 0.6'), "IN126", "feed_limits", "cannot pass 1"),
    "quantity nobody has": Bad(changed('quantity = "cp_g_per_kg_dm"', 'quantity = "cp_g_per_kg"'), "IN127", "quantity_limits[1]", "cp_g_per_kg_dm"),
    "limit without a side": Bad(changed("at_least = 140\n", ""), "IN128", "quantity_limits[1]", "give one of them"),
    "amount per kg": Bad(changed('quantity = "cp_g_per_kg_dm"', 'quantity = "dm_kg"'), "IN135", "quantity_limits[1]", "head_day"),
    "family nobody knows": Bad(changed("at_least = 140", 'at_least = 140\n[[groups.family_limits]]\nfamily = "rapeseed"\nbasis = "kg_fresh"\ncap = 3'), "IN129", "family_limits[1].family", "rapeseeds"),
    "dates reversed": Bad(changed("turnout = 2027-04-10", "turnout = 2026-04-10"), "IN130", "winter", "spring"),
    "no animals": Bad(FARM[: FARM.index("[[groups]]")], "IN131", "farm.toml", "[[groups]]"),
    "no feed": Bad(FARM[: FARM.index("[[stores]]")] + '[[groups]]\nid = "pen"\nclass = "stated"\nhead = 5\n[[groups.quantity_limits]]\nquantity = "dm_kg"\nper = "head_day"\nat_least = 3\n', "IN132", "farm.toml", "[[stores]]"),
    "class unknown": Bad(changed('class = "suckler_cow_dry"', 'class = "suckler_dry"'), "IN404", ".class", "suckler_cow_dry"),
    "syntax": Bad(changed("me = 1.05", "me = 1,05"), "IN104", "farm.toml", "decimal points"),
    "unclosed text": Bad(changed('name = "Test farm"', 'name = "Test farm'), "IN104", "farm.toml", "quotation marks"),
    "own analysis in per cent": Bad(changed("cost_per_t_fresh = 36", "cost_per_t_fresh = 36\n[stores.analysis]\ndm_g_per_kg = 31"), "IN225", "analysis.dm_g_per_kg", "was it 310"),
    "dry matter above the whole": Bad(changed("cost_per_t_fresh = 36", "cost_per_t_fresh = 36\n[stores.analysis]\ndm_g_per_kg = 3100"), "IN225", "analysis.dm_g_per_kg", "was it 310"),
    "analysis of an unknown quantity": Bad(changed("cost_per_t_fresh = 36", "cost_per_t_fresh = 36\n[stores.analysis]\nme_per_kg_dm = 11"), "IN110", "analysis.me_per_kg_dm", "me_mj_per_kg_dm"),
    "half a condition score": Bad(changed("days_to_calving = 200", "days_to_calving = 200\ncondition_score_change = 0.5"), "IN133", '"sucklers"', "condition_change_days"),
    "a score in a fortnight": Bad(changed("days_to_calving = 200", "days_to_calving = 200\ncondition_score_change = 1.5\ncondition_change_days = 14"), "IN113", '"sucklers"', "more days"),
    "parlour feed that is not here": Bad(changed('barred = ["straw"]', 'parlour_feed = "nuts"'), "IN124", "parlour_feed", "ids of this farm"),
    "parlour feed barred": Bad(changed('barred = ["straw"]', 'barred = ["barley"]\nparlour_feed = "barley"'), "IN123", '"cows"', "another parlour_feed"),
    "parlour for dry cows": Bad(changed("days_to_calving = 200", 'days_to_calving = 200\nparlour_feed = "barley"'), "IN110", "parlour_feed", "dairy_cow_milking"),
    "limit of a feed that is not here": Bad(changed('feed = "barley"\nmax', 'feed = "barly"\nmax'), "IN124", "feed_limits[1].feed", "barley"),
    "two limits of one feed": Bad(changed("max_kg_fresh = 5", 'max_kg_fresh = 5\n[[groups.feed_limits]]\nfeed = "barley"\nmin_kg_fresh = 1'), "IN125", "feed_limits[2]", "one table"),
    "two limits of one quantity": Bad(changed("at_least = 140", 'at_least = 140\n[[groups.quantity_limits]]\nquantity = "cp_g_per_kg_dm"\nper = "kg_dm"\nat_most = 180'), "IN125", "quantity_limits[2]", "one table"),
    "least share above most": Bad(changed("max_kg_fresh = 5", "max_share_of_dm = 0.2\nmin_share_of_dm = 0.3"), "IN126", "feed_limits[1]", "floor"),
    "feed limit that limits nothing": Bad(changed("max_kg_fresh = 5\n", ""), "IN128", "feed_limits[1]", "max_kg_fresh"),
    "share in per cent": Bad(changed('quantity = "cp_g_per_kg_dm"\nper = "kg_dm"\nat_least = 140', 'quantity = "forage_share"\nper = "kg_dm"\nat_least = 40'), "IN113", "quantity_limits[1].at_least", "was it 0.4"),
    "share as an amount": Bad(changed('quantity = "cp_g_per_kg_dm"\nper = "kg_dm"\nat_least = 140', 'quantity = "forage_share"\nper = "head_day"\nat_least = 0.4'), "IN135", "quantity_limits[1]", "kg_dm"),
    "floor that no feed reaches": Bad(changed('quantity = "cp_g_per_kg_dm"\nper = "kg_dm"\nat_least = 140', 'quantity = "me_mj_per_kg_dm"\nper = "kg_dm"\nat_least = 110'), "IN113", "quantity_limits[1].at_least", "was it 11 "),
    "negative amount": Bad(changed('quantity = "cp_g_per_kg_dm"\nper = "kg_dm"\nat_least = 140', 'quantity = "dm_kg"\nper = "head_day"\nat_least = -3'), "IN113", "quantity_limits[1].at_least", "check the figure"),
    "far above her mature weight": Bad(changed("days_to_calving = 200", "days_to_calving = 200\nmature_weight_kg = 400"), "IN134", '"sucklers"', "grown animal"),
    "pregnant before she calved": Bad(changed("week_of_lactation = 12", "week_of_lactation = 12\ndays_pregnant = 120"), "IN134", '"cows"', "conception"),
    "own quantity like a word of the tables": Bad(FARM + '\n[[own_quantities]]\nname = "note"\nunit = "g"\n', "IN115", "own_quantities[1]", "another name"),
    "own quantity twice": Bad(FARM + '\n[[own_quantities]]\nname = "biotin"\nunit = "mg"\n' * 2, "IN115", "own_quantities[2]", "keep one"),
    "measured before it was filled": Bad(changed("height_m = 2.5", "height_m = 2.5\nfilled = 2026-05-21\nmeasured = 2025-09-01"), "IN130", '"pit"', "years"),
    "an hour for a day": Bad(changed("height_m = 2.5", "height_m = 2.5\nfilled = 2026-05-21T10:00:00"), "IN112", '"pit".filled', "date like"),
    "shape mistyped": Bad(changed("count = 100", 'count = 100\nshape = "ruond"'), "IN114", '"straw".shape', "round"),
    "empty intake equation": Bad(changed("head = 60", 'head = 60\nintake_equation = ""'), "IN114", ".intake_equation", "characters"),
    "list of groups empty": Bad("groups = []\n" + FARM[: FARM.index("[[groups]]")], "IN131", "farm.toml", "[[groups]]"),
    "one table for the stores": Bad(FARM.replace("[[stores]]", "[stores]", 1).replace(FARM[FARM.index('[[stores]]\nid = "straw"') : FARM.index("[[bought]]")], "").replace('barred = ["straw"]\n', ""), "IN112", "farm.toml stores", "[[stores]]"),
    "text where a table belongs": Bad('farm = "x"\n' + FARM[FARM.index("[winter]") :], "IN112", "farm.toml farm", "[farm]"),
    "own protein as a share of one": Bad(changed("cost_per_t_fresh = 36", "cost_per_t_fresh = 36\n[stores.analysis]\ncp_g_per_kg_dm = 0.14"), "IN225", "analysis.cp_g_per_kg_dm", "was it 140"),
    "ADF above NDF": Bad(changed("cost_per_t_fresh = 36", "cost_per_t_fresh = 36\n[stores.analysis]\nadf_g_per_kg_dm = 480\nndf_g_per_kg_dm = 450"), "IN226", "analysis", "part of NDF"),
}  # fmt: skip


def faults(folder: Path) -> InputError:
    """The error that reading a farm raises."""
    with pytest.raises(InputError) as caught:
        read_farm(folder)
    return caught.value


def check_lines(error: InputError) -> None:
    """Every finding is one line with place, finding and remedy."""
    for finding in error.findings:
        assert finding.where
        assert finding.found
        assert finding.remedy
        assert "\n" not in str(finding)


COMPANY = {"IN110": {"IN120", "IN121"}, "IN301": {"IN302"}, "IN116": {"IN124"}}
"""A mistyped key is also a missing one, and the like: codes that may stand beside the one looked
for.
"""


def only_this(error: InputError, code: str) -> Finding:
    """The finding of a code, after a look that no other fault was made up."""
    codes = {finding.code for finding in error.findings}
    assert code in codes, str(error)
    assert codes - {code} <= COMPANY.get(code, set()), str(error)
    return next(finding for finding in error.findings if finding.code == code)


@pytest.mark.parametrize("name", TOML)
def test_a_spoilt_farm_file(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exactly one kind of fault: its code, place and remedy, by the library and on the command line
    with exit code 2.
    """
    bad = TOML[name]
    folder = write_farm(tmp_path / "farm", bad.text)
    before = snapshot(tmp_path)
    error = faults(folder)
    check_lines(error)
    first = only_this(error, bad.code)
    assert bad.where in first.where
    assert bad.remedy in first.remedy
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            "sys.argv", ["rationlp", "ration", str(folder), "--output", str(tmp_path / "out.json")]
        )
        with pytest.raises(SystemExit) as end:
            main()
    assert end.value.code == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert bad.code in said.err
    assert "Traceback" not in said.err
    assert snapshot(tmp_path) == before


FILES: dict[str, tuple[dict[str, str | bytes], str, str, str]] = {
    "lab for an unknown store": ({"lab": "for,dm_percent\npitt,30\n"}, "IN309", "lab.csv row 2", "pit"),
    "lab without for": ({"lab": "store,dm_percent\npit,30\n"}, "IN301", "lab.csv headings", "id of the store"),
    "lab unknown column": ({"lab": "for,dm_percnt\npit,30\n"}, "IN302", "lab.csv headings", "dm_percent"),
    "lab same quantity twice": ({"lab": "for,dm_percent,dm_g_per_kg\npit,30,300\n"}, "IN303", "headings", "one of the two"),
    "lab basis": ({"lab": "for,dm_percent,dm_basis\npit,30,wet\n"}, "IN304", "dm_basis", "corrected"),
    "lab date": ({"lab": "for,dm_percent,sampled\npit,30,3.9.2026\n"}, "IN305", "sampled", "2026-07-14"),
    "lab empty sheet": ({"lab": "for,dm_percent\npit,\n"}, "IN306", "lab.csv row 2", "at least one figure"),
    "lab fresh without dm": ({"lab": "for,cp_g_per_kg_fresh\npit,45\n"}, "IN307", "cp_g_per_kg_fresh", "dry matter"),
    "lab g/kg in a per cent column": ({"lab": "for,dm_percent\npit,310\n"}, "IN225", "dm_percent", "was it 310"),
    "lab share of one": ({"lab": "for,dm_percent\npit,0.31\n"}, "IN225", "dm_percent", "was it 310"),
    "lab impossible for the crop": ({"lab": "for,me_mj_per_kg_dm\npit,15\n"}, "IN308", "lab.csv row 2", "from 6 to 13.8"),
    "lab text": ({"lab": "for,me_mj_per_kg_dm\npit,good\n"}, "IN211", "lab.csv row 2", "plain number"),
    "lab thousands and decimals": ({"lab": 'for,me_mj_per_kg_dm\npit,"1,100.5"\n'}, "IN211", "row 2", "one decimal point"),
    "lab ADF above NDF": ({"lab": "for,adf_g_per_kg_dm,ndf_g_per_kg_dm\npit,480,450\n"}, "IN226", "lab.csv row 2", "part of NDF"),
    "lab parts above the whole": ({"lab": "for,cp_percent_of_dm,ndf_g_per_kg_dm,sugar_g_per_kg_dm,ash_g_per_kg_dm\npit,20,600,150,150\n"}, "IN227", "lab.csv row 2", "cannot pass 1000"),
    "heading twice": ({"lab": "for,ph,ph\npit,4,4\n"}, "IN208", "lab.csv headings", "keep one"),
    "ragged row": ({"lab": "for,ph\npit,4,5\n"}, "IN209", "lab.csv row 2", "one cell for each heading"),
    "empty file": ({"lab": ""}, "IN206", "lab.csv", "line of headings"),
    "binary file": ({"lab": b"PK\x03\x04\x00\x00"}, "IN204", "lab.csv", "CSV UTF-8"),
    "utf-16": ({"lab": "for,ph\npit,4\n".encode("utf-16")}, "IN204", "lab.csv", "CSV UTF-8"),
    "open quote": ({"lab": 'for,ph\n"pit,4\n'}, "IN207", "lab.csv", "quotation mark"),
    "huge file": ({"lab": "for,ph\n" + "pit,4\n" * 900_000}, "IN203", "lab.csv", "right one"),
    "prices unknown column": ({"prices": "feed,price\nbarley,200\n"}, "IN140", "prices.csv headings", "price_per_t_fresh"),
    "prices twice": ({"prices": "feed,price_per_t_fresh\nbarley,200\nbarley,210\n"}, "IN141", "prices.csv row 3", "one price"),
    "prices negative": ({"prices": "feed,price_per_t_fresh\nbarley,-1\n"}, "IN142", "prices.csv row 2", "valid from 0"),
    "prices blank": ({"prices": "feed,price_per_t_fresh\nbarley,\n"}, "IN142", "prices.csv row 2", "price a tonne"),
    "prices of a load of nothing": ({"prices": "feed,price_per_t_fresh,load_t\nbarley,200,0\n"}, "IN142", "column load_t", "valid above 0"),
    "prices of no feed": ({"prices": "feed,price_per_t_fresh\n,200\n"}, "IN141", "prices.csv row 2", "bought feed"),
    "prices of a novel": ({"prices": f"feed,price_per_t_fresh\n{'a' * 200},200\n"}, "IN141", "prices.csv row 2", "key of the feed tables"),
    "prices of a store": ({"prices": "feed,price_per_t_fresh\npit,200\n"}, "IN116", "prices.csv pit", "its own id"),
    "prices of a feed nobody has": ({"prices": "feed,price_per_t_fresh\nbarly,200\n"}, "IN119", "prices.csv barly", "barley"),
    "own feeds unknown column": ({"feeds": "key,kind,dm_g_per_kg,wxqz\nmine,forage,300,11\n"}, "IN220", "feeds.csv headings", "own_quantities"),
    "own feeds twice": ({"feeds": "key,kind,dm_g_per_kg\nmine,forage,300\nmine,forage,310\n"}, "IN222", "feeds.csv row 3", "one row"),
    "own feed without dry matter": ({"feeds": "key,kind,dm_g_per_kg\nmine,forage,\n"}, "IN224", "dm_g_per_kg", "grams of dry matter"),
    "own feed of no kind": ({"feeds": "key,kind,dm_g_per_kg\nmine,forrage,300\n"}, "IN223", "kind", "forage"),
    "own feed without a key": ({"feeds": "key,kind,dm_g_per_kg\n,forage,300\n"}, "IN221", "feeds.csv row 2", "short key"),
    "own feed in per cent": ({"feeds": "key,kind,dm_g_per_kg\nmine,forage,30\n"}, "IN225", "dm_g_per_kg", "was it 300"),
    "own feed not a number": ({"feeds": "key,kind,dm_g_per_kg,me_mj_per_kg_dm\nmine,forage,300,nan\n"}, "IN211", "me_mj_per_kg_dm", "plain number"),
    "own feed degraded twice": ({"feeds": "key,kind,dm_g_per_kg,prot_a_fraction,prot_b_fraction\nmine,forage,300,0.7,0.5\n"}, "IN228", "feeds.csv row 2", "cannot pass 1"),
}  # fmt: skip


@pytest.mark.parametrize("name", FILES)
def test_a_spoilt_file_beside_the_farm(name: str, tmp_path: Path) -> None:
    """lab.csv, prices.csv and feeds.csv: one finding with code, place and remedy."""
    files, code, where, remedy = FILES[name]
    error = faults(write_farm(tmp_path / "farm", **files))
    check_lines(error)
    first = only_this(error, code)
    assert where in first.where
    assert remedy in first.remedy


FED_FAULTS: dict[str, tuple[str, str, str, str]] = {
    "unknown group": (
        FED.replace("cows,pit", "cow,pit"),
        "IN153",
        "fed.csv row 2, column group",
        "cows",
    ),
    "unknown feed": (FED.replace("cows,pit", "cows,pitt"), "IN153", "column feed", "pit"),
    "twice": (FED + "cows,pit,3\n", "IN151", "fed.csv row 4", "one row"),
    "whole group's amount": (FED.replace("40", "2400"), "IN152", "kg_fresh", "whole group"),
    "no amount": (FED.replace("40", ""), "IN152", "fed.csv row 2", "one of them"),
    "both amounts": (
        "group,feed,kg_fresh,kg_dm\ncows,pit,40,12\n",
        "IN152",
        "row 2",
        "one of them",
    ),
    "no column of amounts": ("group,feed\ncows,pit\n", "IN150", "headings", "amounts"),
    "unknown column": ("group,feed,kg\ncows,pit,40\n", "IN150", "headings", "amounts a head"),
    "nothing fed": ("group,feed,kg_fresh\n", "IN152", "fed.csv", "at least one"),
}


@pytest.mark.parametrize("name", FED_FAULTS)
def test_a_spoilt_fed_ration(name: str, tmp_path: Path) -> None:
    """fed.csv: the faults are found against the farm's own ids."""
    text, code, where, remedy = FED_FAULTS[name]
    farm = read_farm(write_farm(tmp_path / "farm"))
    path = tmp_path / "fed.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_fed(path, farm)
    check_lines(caught.value)
    assert code in [finding.code for finding in caught.value.findings]
    first = next(finding for finding in caught.value.findings if finding.code == code)
    assert where in first.where
    assert remedy in first.remedy


def test_places_that_are_no_farm(tmp_path: Path) -> None:
    """No folder, a file, an empty folder: each told apart."""
    file = tmp_path / "file"
    file.write_text("x", encoding="utf-8")
    empty = tmp_path / "empty"
    empty.mkdir()
    for place, code in ((tmp_path / "none", "IN101"), (file, "IN102"), (empty, "IN103")):
        assert [finding.code for finding in faults(place).findings] == [code]


def test_a_file_that_the_system_refuses(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An unreadable farm.toml is a finding with the system's reason."""
    folder = write_farm(tmp_path / "farm")

    def refuse(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)
    error = faults(folder)
    assert error.findings[0].code == "IN202"
    assert "Permission denied" in error.findings[0].found


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    """Six faults in five places are six lines of one error."""
    text = changed("head = 60", "head = 0").replace("lenght", "length")
    text = text.replace('price = "cost"', 'price = "costs"').replace(
        "turnout = 2027-04-10", "turnout = 2026-01-01"
    )
    text = text.replace("days_to_calving = 200", "days_to_calving = 600").replace(
        "count = 100", "cont = 100"
    )
    folder = write_farm(tmp_path / "farm", text, lab="for,ph\nother,4\n")
    codes = sorted(finding.code for finding in faults(folder).findings)
    assert codes == ["IN110", "IN113", "IN113", "IN114", "IN130", "IN309"]


def test_a_new_farm_is_not_written_over_anything(tmp_path: Path) -> None:
    """A file, a full folder and an unknown example are refused, and nothing changes."""
    file = tmp_path / "file"
    file.write_text("x", encoding="utf-8")
    full = tmp_path / "full"
    full.mkdir()
    (full / "farm.toml").write_text("mine", encoding="utf-8")
    before = snapshot(tmp_path)
    for place in (file, full):
        with pytest.raises(InputError, match="IN161"):
            write_new_farm(place)
    with pytest.raises(InputError, match="IN160"):
        write_new_farm(tmp_path / "new", "no such example")
    assert snapshot(tmp_path) == before


MISSING_COLUMNS = (
    "key,name,kind,dm_g_per_kg,me_mj_per_kg_dm,cp_g_per_kg_dm\nmine,My silage,forage,300,10.8,140\n"
)


def test_a_blank_that_the_ration_needs_names_feed_quantity_and_group(tmp_path: Path) -> None:
    """An own feed without NDF and degradability is no feed of zeros: each missing figure is
    named.
    """
    text = changed('feed = "grass_silage_1st_typical"', 'feed = "mine"')
    farm = read_farm(write_farm(tmp_path / "farm", text, feeds=MISSING_COLUMNS))
    with pytest.raises(InputError) as caught:
        make_blocks(farm)
    text = str(caught.value)
    for quantity in ("ndf_g_per_kg_dm", "starch_g_per_kg_dm", "oil_g_per_kg_dm", "prot_a_fraction"):
        assert f"no figure for {quantity}" in text
    assert 'group "cows"' in text
    assert 'feed "pit" (mine)' in text


def test_an_intake_equation_that_nobody_knows(tmp_path: Path) -> None:
    """An unknown intake equation is an input error that names those of the class."""
    text = changed("week_of_lactation = 12", 'week_of_lactation = 12\nintake_equation = "magic"')
    with pytest.raises(InputError, match=r"IN403 .*magic.*nrc_2001"):
        solve_rations(read_farm(write_farm(tmp_path / "farm", text)))


def test_a_limit_for_safety_is_not_loosened(tmp_path: Path) -> None:
    """A kilogram of urea for a cow is refused, naming whose limit it is; a tighter one is taken."""
    text = changed(
        'feed = "soya_meal_48"\nprice_per_t_fresh = 385',
        'feed = "feed_urea"\nprice_per_t_fresh = 500',
    )
    wide = text.replace('feed = "barley"\nmax_kg_fresh = 5', 'feed = "feed_urea"\nmax_kg_fresh = 1')
    with pytest.raises(InputError, match="IN503"):
        make_blocks(read_farm(write_farm(tmp_path / "wide", wide)), ["cows"])
    tight = wide.replace("max_kg_fresh = 1\n", "max_kg_fresh = 0.05\n")
    assert make_blocks(read_farm(write_farm(tmp_path / "tight", tight)), ["cows"])
    for share, refused in (("0.006", True), ("0.004", False)):
        by_share = wide.replace("max_kg_fresh = 1\n", f"max_share_of_dm = {share}\n")
        farm = read_farm(write_farm(tmp_path / share, by_share))
        if refused:
            with pytest.raises(InputError, match="IN503"):
                make_blocks(farm, ["cows"])
        else:
            assert make_blocks(farm, ["cows"])


def test_an_unknown_group_is_named(tmp_path: Path) -> None:
    """Asking for a group that the farm does not have says which there are."""
    farm = read_farm(write_farm(tmp_path / "farm"))
    with pytest.raises(InputError, match=r"IN501.*cows, sucklers"):
        solve_rations(farm, ["goats"])
