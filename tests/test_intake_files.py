"""Tables of any shape: wide ones, workbooks, what their columns mean, slips that rows show."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from tailrace.errors import FileFaultsError, InputError
from tailrace.intake.columns import Mapping, date_order, decimal_sign, propose
from tailrace.intake.doubles import WINDOW
from tailrace.intake.logfile import open_log, read_log
from tailrace.intake.result import Aside, ImportResult, Taken
from tailrace.intake.sheet import Source
from tailrace.intake.tally import MOST_ASIDES, Tally, counted
from tailrace.observations import Entry, Instrument
from tests.test_log_import import NOW, SITE, US, read


def book(*rows: tuple[object, ...], title: str = "log") -> bytes:
    made = openpyxl.Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(row)
    out = BytesIO()
    made.save(out)
    return out.getvalue()


def ods(*rows: tuple[str, ...]) -> bytes:
    made, table = OpenDocumentSpreadsheet(), Table(name="log")
    for row in rows:
        line = TableRow()
        for cell in row:
            number = cell.replace(".", "", 1).isdigit()
            kept = (
                TableCell(valuetype="float", value=cell)
                if number
                else TableCell(valuetype="string")
            )
            kept.addElement(P(text=cell))
            line.addElement(kept)
        table.addElement(line)
    made.spreadsheet.addElement(table)
    out = BytesIO()
    made.save(out)
    return out.getvalue()


def said(result: ImportResult) -> list[tuple[int, str, str]]:
    return [(e.row, e.subject, e.as_typed) for e in result.entries]


# wide tables

WIDE = (
    "Date,Time,Temp (F),pH,NO2 ppm,Fed (scoops),Backwash,Notes\n"
    "3/14/2026,7:20 AM,78,7.2,0.2,2,x,ok\n"
    "3/15/2026,7:20 AM,77.5,,-,2,,\n"
    "3/15/2026,7:25 PM,76,7.3,abc,2.5,no,looked fine\n"
    "3/16/2026,,,,,,,\n"
)


def test_a_wide_table_gives_an_entry_for_each_cell_that_is_filled() -> None:
    found = read(WIDE, US)
    assert said(found) == [
        (2, "water_temperature", "78 F"),
        (2, "ph", "7.2"),
        (2, "nitrite", "0.2 ppm"),
        (2, "feed", "2 scoops"),
        (2, "backwash", ""),
        (3, "water_temperature", "77.5 F"),
        (3, "feed", "2 scoops"),
        (4, "water_temperature", "76 F"),
        (4, "ph", "7.3"),
        (4, "feed", "2.5 scoops"),
    ]
    assert [(a.row, a.reasons) for a in found.asides] == [
        (4, ("no2: 'abc' holds no number; write it such as 0.35, 1.5-2 or <0.02.",))
    ]
    assert [e.note for e in found.entries if e.note] == ["ok", "looked fine"]
    assert "rows with a date and nothing else: 1" in found.understood.remarks


def test_the_unit_in_a_cell_wins_over_that_of_its_column() -> None:
    found = read("date,temp (F),ph\n2026-03-14,25 C,7\n", US)
    assert found.entries[0].meanings[0].interval.middle == pytest.approx(25)


def test_a_place_in_the_name_of_a_column_is_the_place_of_its_values() -> None:
    found = read("date,temp tank,Sump temp,pH (tank)\n2026-03-14,25 C,24 C,7\n")
    assert [(e.place, e.as_typed) for e in found.entries] == [
        ("tank", "25 C"), ("sump", "24 C"), ("tank", "7"),
    ]  # fmt: skip


def test_a_note_without_values_is_a_note() -> None:
    found = read("date,ph,notes\n2026-03-14 8:00,,pump hums\n")
    assert [(e.subject, e.note) for e in found.entries] == [("note", "pump hums")]


def test_the_decimal_sign_is_settled_for_each_column_by_itself() -> None:
    text = 'date;ph;drain\n14.3.2026;7,25;1.5 L\n15.3.2026;7,1;"1,250 mL"\n'
    found = read(text)
    assert "each column is read by its own" in found.understood.decimal
    last = found.entries[-1]
    assert last.as_typed == "1,250 mL"
    assert last.meanings[0].interval.low == pytest.approx(1.25e-3)  # its column writes 1.5


# mapping


def test_columns_are_proposed_changed_and_kept() -> None:
    proposed = propose(["Day", "Temp", "NH3-N (mg/l)", "mood"], ["tank"])
    assert [use.said for use in proposed.uses] == [
        "date", "water temperature", "total ammonia (as N) in mg/l", "kept in the note",
    ]  # fmt: skip
    changed = proposed.changed("temp", "air temp degF").changed("4", "note")
    assert [use.said for use in changed.uses][1::2] == ["air temperature in degF", "note"]
    kept = Mapping.from_plain(changed.to_plain())
    assert (kept, kept.key) == (changed, proposed.key)
    assert changed.changed("mood", "nothing").uses[3].column == ""


@pytest.mark.parametrize(
    ("header", "use", "words"),
    [("Nope", "ph", "no column 'Nope'"), ("Temp", "wombat", "cannot be used for 'wombat'")],
)
def test_a_use_that_cannot_be_is_refused_with_what_can(header: str, use: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        propose(["Day", "Temp"]).changed(header, use)


def test_what_a_person_says_of_dates_and_signs_settles_them() -> None:
    text = b'date,what,value\n3/4/2026,drain,"1,250 L"\n'
    settled = lambda m: replace(m, order=date_order("day-first"), decimal=decimal_sign("comma"))  # noqa: E731
    log = open_log(Source.of(text, "x.csv"), SITE, received_at=NOW, settle=settled)
    (item,) = log.read()
    assert isinstance(item, Taken)
    assert item.entry.taken_at.month == 4
    assert item.entry.meanings[0].interval.low == pytest.approx(1.25e-3)
    for wrong in (date_order, decimal_sign):
        with pytest.raises(InputError, match="it is '"):
            wrong("sideways")


def test_rows_that_prove_the_other_order_are_asked_again() -> None:
    text = b"date,what\n3/4/2026,walked\n3/14/2026,walked\n"
    log = open_log(Source.of(text, "x.csv"), SITE, received_at=NOW,
                   settle=lambda m: replace(m, order="day first"))  # fmt: skip
    items = list(log.read())
    assert isinstance(items[0], Aside)
    assert "not settled" in log.understood.date_order


# workbooks


def test_a_workbook_is_read_like_a_text() -> None:
    rows = (
        ("Greenhouse log",),
        ("when", "what", "value", "unit", "who"),
        (datetime(2026, 3, 14, 8, 5), "ph", 7.25, None, "AB"),  # noqa: DTZ001  # as a sheet holds it
        (date(2026, 3, 4), "drain", 1.25, "gal", None),
        ("2026-03-15 8:00", "ammonia", "<0,02", "mg/L as N", None),
        (None,),
        ("2026-03-16 8:00", "wombat", 3, None, None),
    )
    found = read_log(book(*rows), "log.xlsx", SITE, received_at=NOW)
    assert said(found) == [
        (3, "ph", "7.25"), (4, "drain", "1.25 gal"), (5, "total_ammonia", "<0,02 mg/L as N"),
    ]  # fmt: skip
    assert found.entries[1].taken_at.astimezone(UTC).date() == date(2026, 3, 4)
    assert [a.row for a in found.asides] == [7]
    assert found.understood.encoding == "a spreadsheet, sheet 'log'"


def test_numbers_of_a_spreadsheet_have_a_point_whatever_its_texts_have() -> None:
    found = read_log(
        book(("date", "ph", "drain (L)"), ("14.3.2026", "7,2", 1.25), ("15.3.2026", "7,3", 1.5)),
        "log.xlsx", SITE, received_at=NOW,
    )  # fmt: skip
    drains = [e.meanings[0].interval.low for e in found.entries if e.subject == "drain"]
    assert drains == pytest.approx([1.25e-3, 1.5e-3])


def test_digits_that_a_number_format_shows_are_given_back_by_the_column() -> None:
    found = read_log(book(("date", "ph"), *((f"2026-03-{d} 8:00", v) for d, v in
                          ((14, 7.2), (15, 7.0), (16, 7.25)))),
                     "log.xlsx", SITE, received_at=NOW)  # fmt: skip
    assert [e.text for e in found.entries] == ["7.20", "7.00", "7.25"]


def test_times_in_cells_of_their_own_are_times_of_day() -> None:
    found = read_log(
        book(("date", "time", "what"), (date(2026, 3, 14), time(8, 5), "walked")),
        "log.xlsx", SITE, received_at=NOW,
    )  # fmt: skip
    assert found.entries[0].taken_at == datetime(2026, 3, 14, 7, 5, tzinfo=UTC)


def test_an_ods_is_read_too_and_a_sheet_can_be_named() -> None:
    found = read_log(ods(("when", "what", "value"), ("2026-03-14 8:00", "ph", "7.1")),
                     "log.ods", SITE, received_at=NOW)  # fmt: skip
    assert said(found) == [(2, "ph", "7.1")]
    data = book(("when", "what"), ("2026-03-14 8:00", "walked"), title="mine")
    source = Source.of(data, "log.xlsx", sheet="yours")
    with pytest.raises(FileFaultsError, match="no sheet 'yours'; the workbook has: mine"):
        open_log(source, SITE, received_at=NOW)


@pytest.mark.parametrize("data", [b"PK\x03\x04 broken", b"\xd0\xcf\x11\xe0" + b"x" * 600])
def test_a_damaged_workbook_is_one_sentence(data: bytes) -> None:
    with pytest.raises(FileFaultsError, match=r"cannot be read .*save it anew"):
        read_log(data, "log.xlsx", SITE, received_at=NOW)


def test_a_workbook_of_a_vast_rectangle_is_refused_before_it_is_opened() -> None:
    rows = (("when", "what", "value"), ("2026-03-14 8:00", "ph", 7.0))
    out = BytesIO()
    with ZipFile(BytesIO(book(*rows))) as packed, ZipFile(out, "w") as vast:
        for name in packed.namelist():
            vast.writestr(name, packed.read(name).replace(b'r="C2"', b'r="XFD1048576"'))
    with pytest.raises(FileFaultsError, match="too large to open; save the sheet as CSV"):
        read_log(out.getvalue(), "log.xlsx", SITE, received_at=NOW)


def test_a_cell_that_was_made_harmless_is_as_it_was() -> None:
    found = read("when,what,note\n2026-03-14 8:00,note,'=1+1\n2026-03-15 8:00,note,'tis cloudy\n")
    assert [e.note for e in found.entries] == ["=1+1", "'tis cloudy"]


# slips and doubts


def flags(rows: list[str], existing: tuple[Entry, ...] = ()) -> list[tuple[str, ...]]:
    found = read("\n".join(["when,what,value,unit,method,who", *rows]), SITE, existing)
    assert not found.asides, found.asides
    return [entry.flags for entry in found.entries]


def test_a_slip_between_am_and_pm_is_suspected_where_a_row_breaks_the_order() -> None:
    days = [f"2026-03-{d} {h}:00,walked,,,," for d in (1, 2, 3) for h in ("08", "18")]
    assert flags(days) == [()] * 6
    slipped = [*days[:4], "2026-03-03 8:00 pm,ph,7,,,", "2026-03-03 10:00,walked,,,,", *days[5:]]
    assert flags(slipped)[4] == ("am or pm in doubt",)
    later = [f"2026-03-{d} {h}:00,walked,,,," for d in (4, 5) for h in ("08", "18")]
    assert flags([*slipped, *later][::-1])[6] == ("am or pm in doubt",)


@pytest.mark.parametrize(
    ("rows", "flag", "words"),
    [
        (["ph,7.0", "ph,7.1", "ph,8.6"], "jump", "Measure pH once more"),
        (["tan,0.5 ppm as N", "tan,0.4 ppm as N", "tan,6 ppm as N"], "jump", "stands far from"),
        (["nitrate,10 ppm as N", "nitrate,10 ppm as N", "nitrate,44 ppm as N"],
         "wrong unit suspected", "Was it ppm as NO3?"),
        (["fed,100 g"] * 3 + ["fed,100 oz"], "wrong unit suspected", "Was it g?"),
        (["ec,800 uS/cm", "ec,810 uS/cm", "ec,3000 uS/cm"], "jump", "stands far from"),
    ],
)  # fmt: skip
def test_a_value_far_from_those_before_it_is_flagged(
    rows: list[str], flag: str, words: str
) -> None:
    text = [f"2026-03-{n:02} 8:{n:02},{row}" for n, row in enumerate(rows, 1)]
    found = read("\n".join(["when,what,value", *text]))
    assert [entry.flags for entry in found.entries] == [()] * (len(rows) - 1) + [(flag,)]
    assert words in found.doubts[-1].reasons[-1]


def test_stored_entries_count_as_the_values_before() -> None:
    before = read("when,what,value\n2026-03-01 8:00,ph,7.0\n").entries
    stored = tuple(replace(entry, id="e1") for entry in before)
    assert flags(["2026-03-01 12:00,ph,8.9,,,"], stored) == [("jump",)]


def test_a_meter_that_stands_still_is_flagged_and_a_chart_is_not() -> None:
    def row(n: int, kind: str) -> str:
        return f"2026-03-{n:02} 8:00,do,7.4,mg/L,{kind},"

    assert flags([row(n, "meter") for n in range(1, 12)])[9:] == [("stuck",)] * 2
    assert flags([row(n, "colour chart") for n in range(1, 12)]) == [()] * 11


def test_a_kit_lends_its_steps_its_unit_and_its_basis_until_it_expires() -> None:
    kit = Instrument("blue box", "colour chart", "nitrate", "ppm as NO3", (0, 10, 25, 50),
                     date(2026, 3, 31))  # fmt: skip
    text = (
        b"when,what,value,method\n"
        b"2026-03-31 8:00,nitrate,25,Blue box\n"
        b"2026-04-01 8:00,nitrate,25,blue box\n"
    )
    found = read_log(text, "x.csv", SITE, received_at=NOW, kits=(kit,))
    first, second = found.entries
    (meaning,) = first.meanings
    n = 14.007 / (14.007 + 3 * 15.999)  # molar masses: IUPAC, from memory
    assert meaning.basis == "NO3"
    assert (meaning.interval.low / n, meaning.interval.high / n) == pytest.approx(
        (17.5, 37.5), rel=1e-4
    )
    assert (first.instrument, first.flags) == ("blue box", ())
    assert second.flags == ("kit expired",)


def test_conductivity_in_ppm_keeps_both_scales() -> None:
    entry = read("when,what,value\n2026-03-01 8:00,ec,700 ppm\n").entries[0]
    assert [(m.basis, round(m.interval.middle, 6)) for m in entry.meanings] == [
        ("ppm (0.5)", 0.14), ("ppm (0.7)", 0.1),
    ]  # fmt: skip
    assert read("when,what,value\n2026-03-01 8:00,ec,700 ppm (0.7)\n").entries[0].flags == ()


def test_a_volume_of_something_weighed_says_how_to_declare_it() -> None:
    (aside,) = read("when,what,value\n2026-03-01 8:00,salt,2 cups\n").asides
    assert "declare it under [measures]" in aside.reasons[0]


# long files


def test_a_long_file_is_read_as_a_stream_with_a_tally_that_stays_small() -> None:
    rows = 3 * WINDOW // 2
    start = datetime(2020, 1, 1, tzinfo=UTC)
    lines = [
        f"{(start + timedelta(hours=n)).isoformat()},ph,{7 + n % 3 / 10 if n % 10 else 'x'}"
        for n in range(rows)
    ]
    data = "\n".join(["when,what,value", *lines, lines[1]]).encode()
    log = open_log(Source.of(data, "long.csv"), SITE, received_at=NOW)
    tally = Tally()
    numbers = [
        item.row if isinstance(item, Aside) else item.entry.row
        for item in counted(log.read(), tally)
    ]
    assert numbers == list(range(2, rows + 3))
    assert (tally.taken, tally.aside) == (rows - rows // 10, rows // 10 + 1)
    assert len(tally.asides) == MOST_ASIDES


def test_a_file_on_the_disk_is_read_as_its_bytes_are(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(WIDE, encoding="utf-8")
    log = open_log(Source.of(path, path.name), US, received_at=NOW)
    items = list(log.read())
    assert [i.entry for i in items if isinstance(i, Taken)] == list(read(WIDE, US).entries)


@given(
    st.lists(st.sampled_from(["ph", "Temp (F)", "note", "Day", "TAN ppm", "", "zz"]), max_size=6)
)
def test_any_header_gives_a_use_for_each_column_that_can_be_kept(names: list[str]) -> None:
    mapping = propose(names)
    assert mapping.names == tuple(names)
    assert Mapping.from_plain(mapping.to_plain()) == mapping
