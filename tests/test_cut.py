"""Cutting a tree down to a symptom or a model: what stays, what goes, what is settled."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sample_outline import interval, sample, to

from treewright.render.cut import cut, exits, procedures_of, targets
from treewright.render.outline import Exit, Hazard, Node, Outcome, Outline, Setup
from treewright.render.outline import Test as Asked


def names(parts: tuple[Node, ...]) -> set[str]:
    return {part.name for part in parts}


def with_node(outline: Outline, name: str, **fields: object) -> Outline:
    """The outline with fields of one node changed."""
    nodes = tuple(
        replace(node, **fields) if node.name == name else node  # type: ignore[arg-type]
        for node in outline.nodes
    )
    return replace(outline, nodes=nodes)


def with_way(outline: Outline, name: str, index: int, way: Exit) -> Outline:
    """The outline with the way of one answer changed."""
    outcomes = list(outline.node(name).outcomes)
    outcomes[index] = replace(outcomes[index], exit=way)
    return with_node(outline, name, outcomes=tuple(outcomes))


def test_nothing_asked_for_leaves_the_outline_as_it_is() -> None:
    outline = sample()
    assert cut(outline) is outline


@pytest.mark.parametrize("symptom", ["weak", "dead"])
def test_what_stays_is_as_it_was_and_in_its_order(symptom: str) -> None:
    outline = sample()
    part = cut(outline, symptom)
    assert [s.name for s in part.symptoms] == [symptom]
    assert part.nodes == tuple(node for node in outline.nodes if node in part.nodes)
    assert part.procedures == tuple(p for p in outline.procedures if p in part.procedures)
    assert part.hazards == tuple(h for h in outline.hazards if h in part.hazards)
    assert (part.mark, part.conditions, part.stages) == (
        outline.mark,
        outline.conditions,
        outline.stages,
    )


@pytest.mark.parametrize("symptom", ["weak", "dead"])
def test_all_that_is_left_leads_only_to_what_is_left(symptom: str) -> None:
    part = cut(sample(), symptom)
    known = names(part.nodes) | {procedure.name for procedure in part.procedures}
    for node in part.nodes:
        for way in exits(node):
            assert {*way.does, *targets(way)} <= known
        assert node.retest is None or node.retest in known
        assert set(procedures_of(node)) <= known


def test_what_a_symptom_cannot_reach_goes() -> None:
    part = cut(sample(), "dead")
    # By hand from tests/sample_outline.py: from `supply` no way leads to the cover, and `top-up`
    # is done on the way of `float` alone.
    gone = {"float", "open-cover", "screen", "top-up", "close-cover", "clogged-screen"}
    assert names(sample().nodes) - names(part.nodes) == gone
    assert {procedure.name for procedure in part.procedures} == {
        "lock-out", "restore-power", "warm-up", "fit-gauge", "take-gauge-off",
    }  # fmt: skip
    assert {hazard.name for hazard in part.hazards} == {"live", "hot-jet"}


def test_a_step_done_on_the_way_is_reached() -> None:
    assert {"top-up", "close-cover"} <= names(cut(sample(), "weak").nodes)


def test_a_procedure_done_on_the_way_is_reached() -> None:
    outline = with_way(sample(), "contactor", 1, to("dead-contactor", "fit-cover", kind="found"))
    assert "fit-cover" in {procedure.name for procedure in cut(outline, "dead").procedures}


def test_a_retest_is_reached_and_all_behind_it() -> None:
    outline = with_node(sample(), "dead-contactor", retest="screen")
    assert {"screen", "clogged-screen", "close-cover"} <= names(cut(outline, "dead").nodes)


@pytest.mark.parametrize("field", ["setup", "takedown", "undo"])
def test_the_procedures_around_a_node_stay(field: str) -> None:
    move = Setup("cover-off", "fit-cover", True, True)
    outline = with_node(sample(), "dead-contactor", **{field: (move,)})
    assert "fit-cover" in {procedure.name for procedure in cut(outline, "dead").procedures}


def test_the_hazards_of_a_procedure_that_stays_stay() -> None:
    outline = sample()
    nodes = tuple(replace(node, hazards=()) for node in outline.nodes)
    part = cut(replace(outline, nodes=nodes), "dead")
    assert {hazard.name for hazard in part.hazards} >= {"live", "hot-jet"}


def test_a_hazard_that_nothing_warns_of_is_general_and_stays() -> None:
    loose = Hazard("noise", "caution", "Loud", "Harms ears.", "Ear defenders.", (), (), ())
    outline = sample()
    outline = replace(outline, hazards=(*outline.hazards, loose))
    assert loose in cut(outline, "dead").hazards
    assert loose in cut(outline, model="D2").hazards


# One model


def test_what_is_only_for_another_model_goes() -> None:
    outline = with_node(sample(), "screen", models=("D3",))
    hazards = tuple(
        replace(hazard, models=("D3",)) if hazard.name == "cleaner" else hazard
        for hazard in outline.hazards
    )
    procedures = tuple(
        replace(procedure, models=("D3",)) if procedure.name == "fit-cover" else procedure
        for procedure in outline.procedures
    )
    symptoms = (outline.symptoms[0], replace(outline.symptoms[1], models=("D3",)))
    outline = replace(outline, hazards=hazards, procedures=procedures, symptoms=symptoms)
    part = cut(outline, model="D2")
    assert names(outline.nodes) - names(part.nodes) == {"screen"}
    assert [s.name for s in part.symptoms] == ["weak"]
    assert "fit-cover" not in {procedure.name for procedure in part.procedures}
    # `sharp-screen` stays for the fault that warns of it, too.
    assert {hazard.name for hazard in part.hazards} == {"live", "hot-jet", "sharp-screen"}
    same = cut(outline, model="D3")
    assert names(same.nodes) == names(outline.nodes)
    assert same.hazards == outline.hazards
    with pytest.raises(LookupError, match="this tree has no symptom dead for D2"):
        cut(outline, "dead", "D2")


def test_a_hazard_of_nothing_but_another_models_nodes_goes() -> None:
    outline = with_node(sample(), "top-up", models=("D3",))
    assert "cleaner" not in {hazard.name for hazard in cut(outline, model="D2").hazards}
    assert "cleaner" in {hazard.name for hazard in cut(outline, model="D3").hazards}


def test_a_node_reached_only_over_another_models_node_goes_with_the_symptom() -> None:
    outline = with_node(sample(), "open-cover", models=("D3",))
    assert "clogged-screen" not in names(cut(outline, "weak", "D2").nodes)
    assert "clogged-screen" in names(cut(outline, "weak", "D3").nodes)


def test_readings_keep_the_limits_of_the_model() -> None:
    part = cut(sample(), model="D3")
    assert [spec.models for spec in part.node("prime").specs] == [("D3",)]
    assert part.node("bath").specs == sample().node("bath").specs  # one for all models


def test_the_limit_behind_an_answer_is_that_of_the_model() -> None:
    limits = (("D2", (interval("9", "15"),)), ("*", (interval("16", "24"),)))
    outcome = Outcome(
        "within", "D2: 9 to 15 s; all others: 16 to 24 s",
        Asked("limit", "one", None, "within", limits), to("jets", kind="next"), True,
        (("D2", "9 to 15 s"), ("*", "16 to 24 s")),
    )  # fmt: skip
    outline = with_node(sample(), "prime", outcomes=(outcome,))
    for model, detail in (("D2", "9 to 15 s"), ("D3", "16 to 24 s")):
        settled = cut(outline, model=model).node("prime").outcomes[0]
        assert settled == replace(outcome, detail=detail, details=())
    assert cut(outline, "weak").node("prime").outcomes == (outcome,)


def test_a_way_that_differs_by_model_is_settled() -> None:
    way = Exit("next", (), "cold", (("D2", "cold"), ("D3", "no-supply")))
    outline = with_way(sample(), "contactor", 1, way)
    for model, target in (("D2", "cold"), ("D3", "no-supply")):
        settled = cut(outline, model=model).node("contactor").outcomes[1].exit
        assert settled == Exit("next", (), target)
    # No model: wherever it may lead.
    end = with_way(outline, "supply", 0, to("contactor", kind="next"))
    end = with_way(end, "supply", 1, to("contactor"))
    end = with_way(end, "contactor", 0, way)
    end = with_node(end, "cold", retest=None)
    assert names(cut(end, "dead").nodes) == {"supply", "contactor", "cold", "no-supply"}
    assert names(cut(end, "dead", "D2").nodes) == {"supply", "contactor", "cold"}
    assert targets(way) == ("cold", "no-supply")


def test_a_steps_own_way_is_settled() -> None:
    way = Exit("next", (), "screen", (("D2", "screen"), ("D3", None)))
    outline = with_node(sample(), "open-cover", exit=way)
    assert cut(outline, model="D3").node("open-cover").exit == Exit("next", (), None)
    assert "screen" not in names(cut(outline, "weak", "D3").nodes)
    assert targets(way) == ("screen",)


@pytest.mark.parametrize(("symptom", "model"), [("nowhere", None), (None, "D99"), ("weak", "D99")])
def test_unknown_symptom_or_model(symptom: str | None, model: str | None) -> None:
    with pytest.raises(LookupError, match="this tree has no"):
        cut(sample(), symptom, model)
