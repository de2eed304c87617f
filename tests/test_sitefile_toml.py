"""The reader agrees with `tomllib`, and finds faults that `tomllib` stops short of.

Reference: tomllib of the Python standard library, run beside it (TOML 1.0).
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailrace.errors import Fault, FileFaultsError
from tailrace.sitefile import read_site
from tailrace.sitefile.statements import statements
from tailrace.sitefile.tables import put_together

ROOT = Path(__file__).parents[1]
FILES = sorted([*ROOT.glob("demo/*/site.toml"), *ROOT.glob("tests/fixtures/*/site.toml")])


def read(text: str) -> tuple[dict[str, Any], list[Fault]]:
    found, faults = statements(text)
    return put_together(found, faults).plain(), faults


@pytest.mark.parametrize("path", [*FILES, ROOT / "pyproject.toml"], ids=lambda p: p.parent.name)
def test_whole_files_agree(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert read(text) == (tomllib.loads(text), [])


@pytest.mark.parametrize(
    "text",
    [
        "a.b = 1\na.c = 2\n",
        "x = [1,\n 2,\n # three\n {a = 1, b.c = []}]\n",
        "[[t]]\n[t.u]\nv = '''\n a\n[q]\nw = 1\n'''\n[[t]]\n'k k'.b = 1\n",
        "[a.b]\n[a]\nx = 1\n",
        "y = +1_000\nz = 0xff\nt = 07:32:00\nw = 1979-05-27 07:32:00Z\nf = 1e3\n",
        "s = \"a\\tb\\u00e9\"\nq = 'c:\\d'\n",
        '"" = 1\n',
        "# only a comment",
        "a = 1  # note\n[b] # note\nc = [ # note\n 1, # note\n] # note\n",
        "",
    ],
)
def test_forms_agree(text: str) -> None:
    assert read(text) == (tomllib.loads(text), [])


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[a]\nb = 1\n[a]\n", 3),
        ("a = 1\na.b = 2\n", 2),
        ("[x]\n[[x]]\n", 2),
        ("[[x]]\n[x]\n", 2),
        ("t = [{a = 1}]\n[[t]]\n", 2),
        ("a = {x = 1}\n[a.b]\n", 2),
        ("a = 1\n[a.b]\n", 2),
        ("a = {x = 1, x = 2}\n", 1),
        ("x = 1 y = 2\n", 1),
        ("d = 2026-02-30\n", 1),
        ('s = "a\\x"\n', 1),
        ("x = 1\x01\n", 1),
        ("caf\u00e9 = 1\n", 1),
    ],
)
def test_refused_by_both(text: str, line: int) -> None:
    with pytest.raises(tomllib.TOMLDecodeError):
        tomllib.loads(text)
    assert [fault.line for fault in read(text)[1]] == [line]


KEYS = st.text("abcdefg_-19", min_size=1, max_size=5)
SCALARS = st.one_of(
    st.integers(-(2**40), 2**40).map(str),
    st.floats(allow_nan=False, width=32).map(repr),
    st.booleans().map(lambda b: str(b).lower()),
    st.dates().map(lambda d: d.isoformat()),
    st.times().map(lambda t: t.replace(tzinfo=None).isoformat()),
    st.datetimes().map(lambda d: d.isoformat()),
    st.text("ab [#]={}'é\t,.", max_size=8).map(lambda s: f'"{s}"'),
    st.text('ab [#]={}"é\n\\', max_size=8).map(lambda s: f"'''\n{s}'''"),
)  # fmt: skip
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
    max_leaves=5,
)
PAIRS = st.tuples(KEYS, VALUES).map(" = ".join)
HEADERS = st.lists(KEYS, min_size=1, max_size=2).map(".".join).flatmap(
    lambda name: st.sampled_from([f"[{name}]", f"[[{name}]]"])
)  # fmt: skip
LINES = st.lists(st.one_of(PAIRS, HEADERS, st.just("# note"), st.just("")), max_size=8)


@given(LINES)
def test_any_document_agrees_or_is_refused_by_both(lines: list[str]) -> None:
    text = "\n".join(lines)
    try:
        wanted = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        wanted = None
    found, faults = read(text)
    if wanted is None:
        # what only tomllib sees is caught by its last word in read_site
        return
    assert faults == []
    assert repr(found) == repr(wanted)


@given(st.binary(max_size=200) | st.text(max_size=200))
def test_rubbish_is_refused_with_lines_and_never_breaks(content: bytes | str) -> None:
    with pytest.raises(FileFaultsError) as caught:
        read_site(content, "rubbish")
    assert all(fault.line >= 0 and fault.text for fault in caught.value.faults)


@given(st.data())
def test_a_damaged_file_never_breaks_and_a_sound_one_agrees(data: st.DataObject) -> None:
    text = FILES[0].read_text(encoding="utf-8")
    at = data.draw(st.integers(0, len(text) - 1))
    put = data.draw(st.text("\"'[]{}=#.\n\\a1é", max_size=3))
    damaged = text[:at] + put + text[at + data.draw(st.integers(0, 3)) :]
    try:
        wanted = tomllib.loads(damaged)
    except tomllib.TOMLDecodeError:
        with pytest.raises(FileFaultsError):
            read_site(damaged, "damaged")
        return
    assert read(damaged) == (wanted, [])


def test_a_broken_line_costs_only_itself() -> None:
    lines = FILES[0].read_text(encoding="utf-8").split("\n")
    for number, line in enumerate(lines):
        if not line or line[0] in "#[":
            continue
        damaged = "\n".join([*lines[:number], line.replace("=", "= ?"), *lines[number + 1 :]])
        assert [fault.line for fault in read(damaged)[1]] == [number + 1]
