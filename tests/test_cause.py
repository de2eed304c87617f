"""Causes as data, the exact inference over them, and the next check."""

from __future__ import annotations

import math
from collections.abc import Mapping
from importlib.resources import files
from itertools import combinations
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from tailrace.diagnosis.case import Event, case_of
from tailrace.diagnosis.catalogue import catalogue, read_catalogue
from tailrace.diagnosis.causes import Catalogue, Cause, Ground, Question, Sign
from tailrace.diagnosis.inference import Simulated, network, posterior
from tailrace.diagnosis.next_check import next_checks
from tailrace.diagnosis.ranking import State, alike, believe, does_not_fit, verdict
from tailrace.errors import FileFaultsError, InputError, NotKnownError
from tests.pages_faults import PAGE, page

SEEN = {"q1": "low", "q2": "no", "q3": "yes"}


def question(number: int, levels: str, by_chance: Mapping[str, float]) -> Question:
    names = {name: name for name in levels.split()}
    return Question(number, f"q{number}", "?", "", names, by_chance, 1.0)


def cause(name: str, per_year: float, **signs: Mapping[str, float]) -> Cause:
    return Cause(
        id=name,
        title=name,
        group="",
        onset="",
        per_year=per_year,
        unfound_days=36.525,
        ground=Ground.JUDGEMENT,
        looks_like=(),
        remedy=("",),
        cautions=(),
        call="",
        call_when="",
        watch="",
        again="q1",
        again_h=1.0,
        signs={key: Sign(chances, Ground.JUDGEMENT) for key, chances in signs.items()},
    )


def small() -> Catalogue:
    """Three causes and three findings, one of them with three levels."""
    questions = [
        question(1, "set low high", {"low": 0.05, "high": 0.02}),
        question(2, "no yes", {"yes": 0.1}),
        question(3, "no yes", {"yes": 0.03}),
    ]
    causes = [
        cause("A", 1.0, q1={"low": 0.6, "high": 0.1}, q3={"yes": 0.9}),
        cause("B", 2.0, q1={"high": 0.7}, q2={"yes": 0.5}),
        cause("C", 0.5, q2={"yes": 0.8}, q3={"yes": 0.3}),
    ]
    return Catalogue(
        MappingProxyType({c.id: c for c in causes}),
        MappingProxyType({q.key: q for q in questions}),
    )


def by_hand(tables: Catalogue, seen: Mapping[str, str], names: tuple[str, ...]) -> float:
    """Prior odds times likelihood of one set, written out: the first cause to show wins."""
    weight = math.prod(tables.causes[name].odds for name in names)
    for key, level in seen.items():
        asked = tables.questions[key]
        sources = [asked.by_chance]
        sources += [
            tables.causes[n].signs[key].chances for n in names if key in tables.causes[n].signs
        ]
        stays = math.prod(1.0 - sum(source.values()) for source in sources)
        if level == asked.usual:
            weight *= stays
            continue
        hazards = [-math.log(1.0 - sum(source.values())) for source in sources]
        to_level = sum(
            hazard * source.get(level, 0.0) / sum(source.values())
            for hazard, source in zip(hazards, sources, strict=True)
        )
        weight *= (1.0 - stays) * to_level / sum(hazards)
    return weight


def test_posterior_equals_brute_force() -> None:
    tables = small()
    net = network(tables, something_else=0.0)
    names = [(), ("A",), ("B",), ("C",), *combinations("ABC", 2)]
    hand = np.array([by_hand(tables, SEEN, name) for name in names])
    found = posterior(net, SEEN)
    assert found[:-1] == pytest.approx(hand / hand.sum(), rel=1e-12)
    assert found[-1] == pytest.approx(0.0, abs=1e-12)


def test_binary_noisy_or_equals_pgmpy() -> None:
    """Source: pgmpy 1.1, variable elimination on the same network with explicit tables."""
    factors: Any = pytest.importorskip("pgmpy.factors.discrete")
    models: Any = pytest.importorskip("pgmpy.models")
    inference: Any = pytest.importorskip("pgmpy.inference")
    tables = small()
    net = network(tables, something_else=0.0)
    seen = {"q2": "yes", "q3": "yes"}
    # one node holds the set of causes, so that triples are left out as they are here
    model = models.DiscreteBayesianNetwork([("set", "q2"), ("set", "q3")])
    sets = [(), ("A",), ("B",), ("C",), *combinations("ABC", 2)]
    prior = np.array([math.prod(tables.causes[n].odds for n in s) for s in sets])
    model.add_cpds(
        factors.TabularCPD("set", len(sets), (prior / prior.sum()).reshape(-1, 1).tolist())
    )
    for key in seen:
        stays = np.array([by_stays(tables, key, s) for s in sets])
        model.add_cpds(
            factors.TabularCPD(
                key, 2, [stays.tolist(), (1 - stays).tolist()], ["set"], [len(sets)]
            )
        )
    asked = inference.VariableElimination(model)
    outside = asked.query(["set"], {"q2": 1, "q3": 1}, show_progress=False).values
    assert posterior(net, seen)[:-1] == pytest.approx(outside, rel=1e-9)


def by_stays(tables: Catalogue, key: str, names: tuple[str, ...]) -> float:
    sources = [tables.questions[key].by_chance]
    sources += [
        tables.causes[n].signs[key].chances for n in names if key in tables.causes[n].signs
    ]
    return math.prod(1.0 - sum(source.values()) for source in sources)


def test_tables_hold_at_least_45_faults_of_nine_groups() -> None:
    causes = catalogue().causes.values()
    assert len(causes) >= 45
    assert len({c.group for c in causes}) == 9


def test_every_row_of_every_table_sums_to_one() -> None:
    net = network(catalogue())
    assert net.prior.sum() == pytest.approx(1.0, abs=1e-12)
    assert net.prior[-1] == pytest.approx(0.10)
    for table in net.tables.values():
        assert table.sum(axis=0) == pytest.approx(np.ones(len(net.prior)), abs=1e-12)
        assert table.min() >= 0.0


def test_each_cause_or_its_look_alike_is_first_of_the_causes_by_its_likeliest_signs() -> None:
    net = network(catalogue())
    for name, made in catalogue().causes.items():
        seen = {
            key: max(sign.chances, key=lambda level, sign=sign: sign.chances[level])  # type: ignore[misc]
            for key, sign in made.signs.items()
            if sum(sign.chances.values()) >= 0.5
        }
        chances = believe(net, seen).chances
        first = next(n for n in chances if n in net.names)
        assert first in (name, *made.looks_like), (name, dict(list(chances.items())[:4]))
        nothing_likelier = chances["nothing"] > chances[first]
        assert nothing_likelier is (name in {"A9", "H3", "P4"})  # they show too little for more


@pytest.mark.parametrize(("one", "other"), [("A1", "A8"), ("A2", "A6")])
def test_pairs_alike_in_numbers_are_named_with_the_check_that_parts_them(
    one: str, other: str
) -> None:
    net, tables = network(catalogue()), catalogue()
    prices = {key: q.price_min for key, q in tables.questions.items()}
    readings = [key for key, q in tables.questions.items() if q.record]
    belief = believe(net, {})
    leaders = type(belief)(belief.sets, belief.needed, {one: 0.4, other: 0.4})
    [pair] = alike(net, leaders, readings=readings, prices=prices)
    assert pair.parts is not None
    assert not tables.questions[pair.parts].record


def test_simulated_evidence_moves_but_never_at_full_power() -> None:
    net = network(small())
    plain = posterior(net, {})
    moved = posterior(net, {}, simulated=Simulated({"A": 2.0, "B": 0.0}, power=0.5))
    assert moved[1] / moved[2] == pytest.approx(plain[1] / plain[2] * math.e, rel=1e-9)
    with pytest.raises(InputError, match=r"outside 0 to 0\.5"):
        Simulated({}, power=1.0)


def test_the_gain_of_a_check_is_its_mutual_information() -> None:
    net = network(small())
    belief = believe(net, {"q1": "low"})
    account = belief.needed / belief.needed.sum(axis=1, keepdims=True)
    joint = (net.tables["q3"] * belief.sets) @ account
    outer = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0, keepdims=True)
    gain = float(np.sum(joint * np.log2(joint / outer)))
    [check] = [c for c in next_checks(net, belief, {"q2": 2.0, "q3": 2.0}) if c.question == "q3"]
    assert check.bits == pytest.approx(gain, rel=1e-9)


def test_a_dear_check_waits_for_a_cheap_one_that_tells_as_much() -> None:
    net, belief = network(small()), believe(network(small()), {"q1": "low"})
    first = next_checks(net, belief, {"q2": 2.0, "q3": 500.0})[0]
    assert first.question == "q2" or first.bits > 100 * 0.02


def test_a_search_follows_a_worn_air_pump_to_its_end() -> None:
    net, tables = network(catalogue()), catalogue()
    truth, seen = tables.causes["A5"], {"air_float": "low"}
    for _ in range(20):
        belief = believe(net, seen)
        prices = {k: q.price_min for k, q in tables.questions.items() if k not in seen}
        checks = next_checks(net, belief, prices)
        said = verdict(belief, pays=bool(checks))
        if said.state is not State.OPEN:
            break
        asked = tables.questions[checks[0].question]
        chances = truth.signs[asked.key].chances if asked.key in truth.signs else {}
        likely = max(chances, key=lambda level: chances[level], default=asked.usual)
        seen[asked.key] = likely if sum(chances.values()) >= 0.5 else asked.usual
    assert said.state is State.FOUND
    assert said.causes == ("A5",)


def test_findings_that_hardly_go_together_are_told() -> None:
    net = network(catalogue())
    silent_yet_high = {"air_float": "high", "air_pump": "silent", "backwash_count": "many"}
    assert does_not_fit(net, silent_yet_high) == ("air_pump",)
    assert does_not_fit(net, {**silent_yet_high, "air_pump": "runs"}) == ()


def test_unknown_questions_and_levels_are_told() -> None:
    net = network(small())
    with pytest.raises(NotKnownError, match="q9"):
        posterior(net, {"q9": "low"})
    with pytest.raises(NotKnownError, match="set, low, high"):
        posterior(net, {"q1": "sideways"})


def texts() -> dict[str, str]:
    folder = files("tailrace.diagnosis")
    return {
        "air.toml": folder.joinpath("faults", "air.toml").read_text(),
        "findings.toml": folder.joinpath("findings.toml").read_text(),
        "cautions.toml": folder.joinpath("cautions.toml").read_text(),
    }


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("per_year = 0.3", "per_year = 900", "per_year: 900 is outside"),
        ('ground = "judgement"', 'ground = "hearsay"', "'hearsay' is not known"),
        ('soap_after = "88 %', 'soap_aftre = "88 %', "soap_aftre: is no finding"),
        ("88 % bubbles (judgement)", "88 % bubbels (judgement)", "'bubbels' is no level"),
        ("88 % bubbles (judgement)", "often", "'often' cannot be read"),
        ("{per_day}", "{per_week}", "{per_week} is no amount"),
        ('cautions = ["pressure"]', 'cautions = ["presure"]', "presure is not known"),
        ('id = "A2"', 'id = "A1"', "A1 stands in the tables twice"),
    ],
)
def test_a_fault_of_a_table_is_told_with_its_file_and_line(old: str, new: str, told: str) -> None:
    given = texts()
    line = given["air.toml"][: given["air.toml"].index(old)].count("\n") + 1
    given["air.toml"] = given["air.toml"].replace(old, new, 1)
    with pytest.raises(FileFaultsError) as raised:
        read_catalogue(given)
    [text] = [str(f) for f in raised.value.faults if told in str(f)]
    assert "air.toml, line" in text
    if old != 'id = "A2"':
        assert f"air.toml, line {line}:" in text


def test_a_step_back_takes_the_keepers_newest_act_away_and_no_reading() -> None:
    events = [
        Event("begin"),
        Event("record", "ph", "low"),
        Event("answer", "air_float", "low"),
        Event("strike", "ph"),
        Event("back"),
    ]
    assert case_of(events).seen == {"ph": "low", "air_float": "low"}
    assert case_of([*events, Event("back"), Event("back")]).seen == {"ph": "low"}


def test_the_keepers_word_stands_and_the_difference_is_told() -> None:
    case = case_of([Event("record", "ph", "low"), Event("answer", "ph", "steady")])
    assert case.seen == {"ph": "steady"}
    assert case.disputed == ("ph",)


def test_the_page_of_faults_is_as_the_tables_stand() -> None:
    assert PAGE.read_text(encoding="utf-8") == page(), "run: python -m tests.pages_faults"
