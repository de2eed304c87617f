"""SenML: the examples of the standard itself, and what is refused.

The text of RFC 8428 was opened; its JSON lists, resolved list and bytes of CBOR stand here.
"""

from __future__ import annotations

import base64
import json
from decimal import Decimal
from typing import Any

import cbor2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailrace.errors import InputError
from tailrace.intake.senml import CBOR_LABELS, Record, read_pack, to_json

NOW_US = 1_780_000_000_000_000

SINGLE = b'[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]'  # 5.1.1
SECONDS = (  # 5.1.2
    b'[{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,'
    b'"n":"voltage","u":"V","v":120.1},{"n":"current","t":-5,"v":1.2},'
    b'{"n":"current","t":-4,"v":1.3},{"n":"current","t":-3,"v":1.4},'
    b'{"n":"current","t":-2,"v":1.5},{"n":"current","t":-1,"v":1.6},{"n":"current","v":1.7}]'
)
SEVERAL = (  # 5.1.3
    b'[{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},'
    b'{"u":"lon","v":24.30621},{"u":"lat","v":60.07965},{"t":60,"v":20.3},'
    b'{"u":"lon","t":60,"v":24.30622},{"u":"lat","t":60,"v":60.07965},{"t":120,"v":20.7},'
    b'{"u":"lon","t":120,"v":24.30623},{"u":"lat","t":120,"v":60.07966},'
    b'{"u":"%EL","t":150,"v":98},{"t":180,"v":21.2},{"u":"lon","t":180,"v":24.30628},'
    b'{"u":"lat","t":180,"v":60.07967}]'
)
RESOLVED = (  # 5.1.4: unit, seconds after 1320067464, value
    *(("%RH", 0, 20), ("lon", 0, 24.30621), ("lat", 0, 60.07965)),
    *(("%RH", 60, 20.3), ("lon", 60, 24.30622), ("lat", 60, 60.07965)),
    *(("%RH", 120, 20.7), ("lon", 120, 24.30623), ("lat", 120, 60.07966)),
    ("%EL", 150, 98),
    *(("%RH", 180, 21.2), ("lon", 180, 24.30628), ("lat", 180, 60.07967)),
)
TYPES = (  # 5.1.5
    b'[{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},'
    b'{"n":"label","vs":"Machine Room"},{"n":"open","vb":false},{"n":"nfv-reader","vd":"aGkgCg"}]'
)
COLLECTION = (  # 5.1.6
    b'[{"bn":"2001:db8::2/","bt":1.320078429e+09,"n":"temperature","u":"Cel","v":25.2},'
    b'{"n":"humidity","u":"%RH","v":30},{"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3},'
    b'{"n":"humidity","u":"%RH","v":67}]'
)
BYTES = bytes.fromhex(  # 6: the dump of the example of 5.1.2
    "87a721781b75726e3a6465763a6f773a3130653230373361303130383030363a"
    "22fb41d303a15b00106223614120050067766f6c7461676501615602fb405e06"
    "6666666666a3006763757272656e74062402fb3ff3333333333333a300676375"
    "7272656e74062302fb3ff4cccccccccccda3006763757272656e74062202fb3f"
    "f6666666666666a3006763757272656e74062102f93e00a3006763757272656e"
    "74062002fb3ff999999999999aa3006763757272656e74060002fb3ffb333333"
    "333333"
)


def rows(payload: bytes) -> list[dict[str, Any]]:
    return to_json(read_pack(payload, now_us=NOW_US).records)


def test_a_single_point_is_of_now() -> None:
    pack = read_pack(SINGLE, now_us=NOW_US)
    assert pack.records == (Record("urn:dev:ow:10e2073a01080063", "Cel", NOW_US, 23.1),)
    assert pack.relative


def test_the_seconds_before_8_june_2010_18_01_16_001() -> None:
    name, at = "urn:dev:ow:10e2073a0108006:", 1_276_020_076_001_000
    assert read_pack(SECONDS, now_us=NOW_US).records == (
        *(Record(f"{name}current", "A", at - (5 - n) * 10**6, 1.2 + 0.1 * n) for n in range(3)),
        *(Record(f"{name}current", "A", at - (5 - n) * 10**6, v) for n, v in ((3, 1.5), (4, 1.6))),
        Record(f"{name}voltage", "V", at, 120.1),
        Record(f"{name}current", "A", at, 1.7),
    )


def test_several_measurements_resolve_as_the_standard_prints_them() -> None:
    name = "urn:dev:ow:10e2073a01080063"
    assert rows(SEVERAL) == [
        {"n": name, "u": unit, "t": 1320067464.0 + after, "v": value}
        for unit, after, value in RESOLVED
    ]
    assert not read_pack(SEVERAL, now_us=NOW_US).relative


def test_a_resolved_list_resolves_to_itself() -> None:
    once = rows(SEVERAL)
    assert rows(json.dumps(once).encode()) == once


def test_every_type_of_value_is_read() -> None:
    values = {
        record.name.rsplit(":", 1)[1]: record.value
        for record in read_pack(TYPES, now_us=1).records
    }
    assert values == {"temp": 23.1, "label": "Machine Room", "open": False, "nfv-reader": "aGkgCg"}


def test_a_later_record_keeps_the_base_time_of_the_first_and_the_base_name_of_the_third() -> None:
    last = rows(COLLECTION)[-1]
    assert last == {"n": "2001:db8::1/humidity", "u": "%RH", "t": 1320078429.0, "v": 67}


def test_the_bytes_that_the_standard_dumps_are_the_same_list() -> None:
    assert len(BYTES) == 0xC3
    assert read_pack(BYTES, now_us=NOW_US) == read_pack(SECONDS, now_us=NOW_US)


def test_base_value_and_sums_are_added() -> None:
    made = rows(
        b'[{"bn":"a","bt":1.4e9,"bv":20,"bs":100,"v":1,"s":5},{"t":1,"v":-2},{"t":2,"s":7}]'
    )
    assert [(row.get("v"), row["s"]) for row in made] == [(21, 105), (18, 100), (None, 107)]


@pytest.mark.parametrize("bt", [1_700_000_000, 1_700_000_000.25, 0])
def test_base_and_time_may_be_split_in_any_way(bt: float) -> None:
    whole = 1_700_000_123.456789
    other = {"n": "a", "bt": bt, "t": whole - bt, "v": 1}
    assert rows(json.dumps([other]).encode())[0]["t"] == pytest.approx(whole, abs=2e-6)


def test_times_below_2_to_the_28_count_from_now() -> None:
    made = read_pack(b'[{"n":"a","t":-60,"v":1},{"n":"b","t":268435456,"v":1}]', now_us=NOW_US)
    assert [record.at_us for record in made.records] == [268_435_456 * 10**6, NOW_US - 60 * 10**6]


@pytest.mark.parametrize(
    ("payload", "said"),
    [
        (b"", "neither JSON nor CBOR"),
        (b"hello", "neither JSON nor CBOR"),
        (b'{"n":"a","v":1}', "no list of records"),
        (b"[1]", "record 1 is no map"),
        (b'[{"n":"a","v":NaN}]', "NaN is no number of JSON"),
        (b'[{"bver":11,"n":"a","v":1}]', "its version is 11"),
        (b'[{"bver":5,"n":"a","v":1},{"bver":6,"n":"a","v":1}]', "a list has one version"),
        (b'[{"n":"a","v":1,"cal_":2}]', "must be understood"),
        (b'[{"bt":"noon","n":"a","v":1}]', "bt is 'noon'"),
        (b"\x81\xa1", "begins like CBOR"),
        (cbor2.dumps([{0: "a", 2: 1.0}]) + b"\x00", "goes on after"),
        (b"[" * 100_000, "neither JSON nor CBOR"),
    ],
)
def test_what_is_no_list_is_refused_whole(payload: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_pack(payload, now_us=NOW_US)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"n": "a"}, "has no value"),
        ({"n": "a", "v": 1, "vs": "b"}, "one value"),
        ({"n": "a", "v": "1"}, "it is a number"),
        ({"n": "a", "v": True}, "it is a number"),
        ({"n": "a", "v": 10**400}, "finite"),
        ({"n": "-a", "v": 1}, "begins with a letter"),
        ({"n": "a b", "v": 1}, "begins with a letter"),
        ({"v": 1}, "its name has 0"),
        ({"n": "a", "v": 1, "u": "x\x00"}, "cannot be printed"),
        ({"n": "a", "v": 1, "t": NOW_US // 10**6 + 100_000}, "a day ahead"),
        ({"n": "a", "v": 1, "t": 1e300}, "thousands of years"),
    ],
)
def test_one_bad_record_leaves_the_others(row: dict[str, Any], said: str) -> None:
    good = {"n": "good", "v": 2, "t": 1_700_000_000}
    pack = read_pack(json.dumps([row, good]).encode(), now_us=NOW_US)
    assert [record.name for record in pack.records] == ["good"]
    assert [(bad.position, said in bad.reason) for bad in pack.refused] == [(1, True)]


def test_cbor_may_hold_decimal_fractions_bytes_and_an_open_array() -> None:
    row = {0: "a", 2: Decimal("23.1"), 6: 1_700_000_000, 99: "unknown label", "x": 1}
    assert rows(cbor2.dumps([row])) == [{"n": "a", "t": 1_700_000_000.0, "v": 23.1}]
    assert rows(b"\x9f" + cbor2.dumps(row) + b"\xff") == rows(cbor2.dumps([row]))
    data = read_pack(cbor2.dumps([{0: "a", 8: b"hi \n"}]), now_us=1).records[0].value
    assert data == base64.urlsafe_b64decode("aGkgCg==") == b"hi \n"


LABELS = st.sampled_from(sorted(CBOR_LABELS.values())) | st.text(max_size=4)
SCALARS = (
    st.none() | st.booleans() | st.integers(-(10**12), 10**12) | st.floats() | st.text(max_size=8)
)


@given(st.lists(st.dictionaries(LABELS, SCALARS, max_size=6), max_size=6))
def test_any_list_is_read_or_refused_and_every_record_accounted_for(found: list[Any]) -> None:
    numbers = {label: key for key, label in CBOR_LABELS.items()}
    packed = cbor2.dumps([{numbers.get(k, k): v for k, v in row.items()} for row in found])
    try:
        pack = read_pack(packed, now_us=NOW_US)
    except InputError:
        return
    known = set(numbers)
    said = [row for row in found if any(k in known and k[0] != "b" for k in row)]
    assert len(pack.records) + len(pack.refused) == len(said)
    again = json.dumps(to_json([r for r in pack.records if not isinstance(r.value, bytes)]))
    assert rows(again.encode()) == json.loads(again)


@given(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(payload: bytes) -> None:
    try:
        read_pack(payload, now_us=NOW_US)
    except InputError:
        return
