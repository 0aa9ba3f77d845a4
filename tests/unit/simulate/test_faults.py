"""Make-believe workshops with one fault: it is there in the truth's physics, it is complained of, checks show it."""

from __future__ import annotations

import pytest

from inkhorn.counsel.wrong.causes import CAUSES
from inkhorn.counsel.wrong.checks import checks
from inkhorn.counsel.wrong.complaints import complaints
from inkhorn.daybook.check import check as check_entry
from inkhorn.daybook.store.memory import MemoryStore
from inkhorn.daybook.wire import decode
from inkhorn.errors import InkhornError
from inkhorn.simulate import grievances
from inkhorn.simulate.faults import FAULTS, POT, SKIN, TRIAL, Faulty, _play, faulty_workshop

SEED = 7


@pytest.fixture(scope="module")
def dealt() -> dict[str, Faulty]:
    """Return one workshop of each fault."""
    return {fault: faulty_workshop(SEED, fault) for fault in FAULTS}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_complained_of_and_its_daybook_can_be_kept(fault: str, dealt: dict[str, Faulty]) -> None:
    """The complaint is one that is known, and every entry is one that a daybook takes."""
    case = dealt[fault]
    assert fault in CAUSES
    assert case.complaint in complaints()
    store = MemoryStore()
    for raw in case.entries:
        entry = decode(raw)
        check_entry(entry, store.recorded())
        store.append(raw, entry)
    written = " ".join(str(e) for e in case.entries)
    assert fault not in written


@pytest.mark.parametrize("fault", FAULTS)
def test_the_same_seed_deals_the_same_workshop(fault: str, dealt: dict[str, Faulty]) -> None:
    """Nothing but the seed decides."""
    again = faulty_workshop(SEED, fault)
    assert again.entries == dealt[fault].entries
    assert again.complaint == dealt[fault].complaint


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("check", checks())
def test_every_check_shows_one_of_its_outcomes(fault: str, check: str, dealt: dict[str, Faulty]) -> None:
    """The invented maker knows each check of the handbook and names an outcome of it, the same each time."""
    shown = dealt[fault].check(check)
    assert shown in {o.key for o in checks()[check].outcomes}
    assert dealt[fault].check(check) == shown


def twins(fault: str, number: int = 424_242):
    """Return the benches of one workshop with a fault and without."""
    return _play(number, fault, None)[0].bench, _play(number, None, None)[0].bench


def test_a_weak_lot_gives_less_tannin() -> None:
    """Its pot can hold less than half the iron of its sound twin's, and its stroke is paler."""
    (bad, good) = twins("weak-extract")
    assert sum(
        bad.vessels[POT].liquor[t] for t in ("gallotannin", "gallic", "ellagi", "condensed")
    ) < 0.5 * sum(good.vessels[POT].liquor[t] for t in ("gallotannin", "gallic", "ellagi", "condensed"))
    assert grievances.density(bad, TRIAL) < grievances.density(good, TRIAL)


def test_hard_water_makes_an_ink_less_sour_and_muddier() -> None:
    """Bicarbonate takes acid up (charge balance), and iron turns and falls where it is less sour."""
    made = [_play(n, fault, None)[0].bench for n in (424_242, 424_250) for fault in ("hard-water", None)]
    from_water = [(bad, good) for bad, good in zip(made[::2], made[1::2], strict=True)]
    for bad, good in from_water:
        assert bad.vessels[POT].liquor["carbonate"] > good.vessels[POT].liquor["carbonate"]
        assert grievances.mud(bad.vessels[POT].liquor, bad) > grievances.mud(good.vessels[POT].liquor, good)


def test_gum_thickens_and_holds_up() -> None:
    """Much gum leaves more swollen gum than its sound twin and little gum less, with more mud."""
    much, good = twins("too-much-gum")
    little, same = twins("too-little-gum")
    swell = grievances.swollen
    assert swell(much.vessels[POT].liquor, much) > 1.5 * swell(good.vessels[POT].liquor, good)
    assert swell(little.vessels[POT].liquor, little) < 0.5 * swell(same.vessels[POT].liquor, same)
    assert grievances.mud(little.vessels[POT].liquor, little) > grievances.mud(same.vessels[POT].liquor, same)


def test_ink_draws_back_on_grease() -> None:
    """A greasy skin lets in less, so ink draws back on it more."""
    bad, good = twins("greasy-skin")
    assert bad.skin(SKIN).sink < 0.5 * good.skin(SKIN).sink
    assert grievances.drawn_back(bad, SKIN, 2.0) > grievances.drawn_back(good, SKIN, 2.0)


def test_an_old_salt_keeps_its_iron_but_turned() -> None:
    """Air turns iron(II) to iron(III); no iron is lost and no sulfate made."""
    bad, good = (b.lots["vitriol"].holds for b in twins("oxidised-salt"))
    assert bad["iron2"] + bad["iron3"] == pytest.approx(good["iron2"] + good["iron3"])
    assert bad["iron3"] > 5 * good["iron3"]
    assert bad["sulfate"] <= good["sulfate"] + 1e-12


def test_too_much_iron_is_on_no_site() -> None:
    """Beyond its sites, iron stays free."""
    bad, good = twins("too-much-iron")
    assert grievances.free_iron(bad.vessels[POT].liquor, bad) > 2 * grievances.free_iron(
        good.vessels[POT].liquor, good
    )


def test_mould_has_had_its_time(dealt: dict[str, Faulty]) -> None:
    """The liquor stood longer than mould needs, and has no iron yet."""
    bench = dealt["mould"].truth.bench
    assert bench.vessels[POT].standing > bench.n("air.mould_lag")
    assert dealt["mould"].trial is None


def test_what_shows_at_once_is_said_before_what_time_brings() -> None:
    """A pale ink that will brown is called pale; nothing is said where nothing is minded."""
    assert grievances.voiced({"pale-and-watery": 0.1, "browned-in-months": 3.0}) == "pale-and-watery"
    assert grievances.voiced({"pale-and-watery": -0.1, "browned-in-months": 3.0}) == "browned-in-months"
    assert grievances.voiced({"pale-and-watery": -0.1}) is None


def test_an_unknown_fault_or_check_is_refused(dealt: dict[str, Faulty]) -> None:
    """Both are errors that say what is known."""
    with pytest.raises(InkhornError, match="weak-extract"):
        faulty_workshop(1, "bad luck")
    with pytest.raises(InkhornError):
        dealt["mould"].check("stare-at-it")
