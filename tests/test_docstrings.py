"""The docstring is a contract: its names and units are those of the signature."""

from __future__ import annotations

import dataclasses
import inspect

import pytest

from tailrace.formula import Formula
from tailrace.quantities import split_suffix
from tailrace.sources import sources
from tests.docstrings import Sections, formulas, functions_and_classes, sections, unit_of


def _unit(name: str) -> str:
    suffix = split_suffix(name)[1]
    return suffix.unit if suffix else "-"


def formula_faults(formula: Formula) -> list[str]:
    doc = sections(formula.__doc__ or "")
    faults = []
    if list(doc.parameters) != list(formula.parameters):
        faults.append(f"documents {list(doc.parameters)}, takes {list(formula.parameters)}")
    for name, text in doc.parameters.items():
        if unit_of(text) != _unit(name):
            faults.append(f"{name}: documented [{unit_of(text)}], named [{_unit(name)}]")
    own = _unit(formula.name.rpartition(".")[2])
    if f"[{own}]" not in doc.returns:
        faults.append(f"Returns must name [{own}], says {doc.returns!r}")
    unknown = set(doc.references) - set(sources())
    if unknown or not doc.references:
        faults.append(f"References {sorted(doc.references)}: not in sources: {sorted(unknown)}")
    return faults + summary_faults(doc)


def summary_faults(doc: Sections) -> list[str]:
    return [] if doc.summary else ["has no summary"]


def function_faults(found: object) -> list[str]:
    doc = sections(inspect.getdoc(found) or "")
    faults = summary_faults(doc)
    if inspect.isclass(found):
        fields = _fields(found)
        if fields is not None and set(doc.parameters) != fields:
            faults.append(f"documents {sorted(doc.parameters)}, has {sorted(fields)}")
        return faults
    assert inspect.isfunction(found)
    signature = inspect.signature(found)
    if set(doc.parameters) != set(signature.parameters):
        faults.append(f"documents {sorted(doc.parameters)}, takes {sorted(signature.parameters)}")
    if signature.return_annotation not in (None, "None", "NoReturn") and not doc.returns:
        faults.append("has no Returns")
    return faults


def _fields(found: type) -> set[str] | None:
    if not dataclasses.is_dataclass(found):
        return None
    return {f.name for f in dataclasses.fields(found) if f.init and not f.name.startswith("_")}


@pytest.mark.parametrize("name", formulas())
def test_a_formula_documents_its_signature_units_and_sources(name: str) -> None:
    assert formula_faults(formulas()[name]) == []


@pytest.mark.parametrize("name", functions_and_classes())
def test_a_function_or_record_documents_its_signature(name: str) -> None:
    assert function_faults(functions_and_classes()[name]) == []


def _kernel(depth_m: float, ph: float) -> float:
    return depth_m + ph


GOOD = """Sum.

Parameters
----------
depth_m
    Depth [m].
ph
    pH [-].

Returns
-------
float
    Sum [-].

References
----------
judgement
"""


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (("Depth [m]", "Depth [cm]"), "documented [cm], named [m]"),
        (("pH [-]", "pH"), "documented [None]"),
        (("depth_m\n", "deep_m\n"), "documents ['deep_m', 'ph']"),
        (("Sum [-]", "Sum [m]"), "Returns must name [-]"),
        (("judgement", "nobody_1900"), "not in sources: ['nobody_1900']"),
        (("Sum.\n", "\n"), "has no summary"),
    ],
)
def test_the_contract_sees_a_fault(change: tuple[str, str], fault: str) -> None:
    kernel = Formula(_kernel, {})
    kernel.__doc__ = GOOD
    assert formula_faults(kernel) == []
    kernel.__doc__ = GOOD.replace(*change)
    assert any(fault in text for text in formula_faults(kernel))


def test_the_contract_sees_a_parameter_left_out() -> None:
    def adds(first: float, second: float) -> float:
        """Sum.

        Parameters
        ----------
        first
            One.

        Returns
        -------
        float
            Sum.
        """
        return first + second

    assert function_faults(adds) == ["documents ['first'], takes ['first', 'second']"]
