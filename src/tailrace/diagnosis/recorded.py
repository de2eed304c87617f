"""Findings that the record fills by itself, each with the readings that say so.

What the record cannot say is left out and stays a question for the keeper.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from statistics import median

from tailrace.diagnosis.machine import COUNT_FRESH_S
from tailrace.diagnosis.upkeep import CROWDED_KG_M3
from tailrace.estimation.quality import newest
from tailrace.estimation.today import Picture
from tailrace.quantities import Amount

DAY_S = 86400.0
FRESH_S = 3 * DAY_S
BEFORE_S = 30 * DAY_S
RIPE_S = 70 * DAY_S
# A reading has moved when it differs from the median before by this share and this much
# [judgement: about twice the error of a colour kit].
_MOVED = {
    "total_ammonia": (0.5, 0.3),
    "nitrite": (0.5, 0.15),
    "nitrate": (0.4, 8.0),
    "ph": (0.0, 0.4),
}


@dataclass(frozen=True, slots=True)
class Evidence:
    """A finding that the record fills.

    Parameters
    ----------
    question
        Key of the question.
    level
        Its level.
    words
        What says so, with amounts in braces.
    amounts
        The amounts, by name.
    entries
        Ids of the entries behind it.
    """

    question: str
    level: str
    words: str
    amounts: Mapping[str, Amount] = field(default_factory=dict)
    entries: tuple[str, ...] = ()


def recorded(seen: Picture) -> tuple[Evidence, ...]:
    """Return every finding that the record fills.

    Parameters
    ----------
    seen
        Everything known about now.

    Returns
    -------
    tuple of Evidence
        At most one for a question; empty for an empty record.
    """
    made = [find(seen) for find in _FINDERS]
    made += [_moved(seen, subject) for subject in _MOVED]
    return tuple(evidence for evidence in made if evidence is not None)


def _air_float(seen: Picture) -> Evidence | None:
    check = seen.float_check
    if check is None:
        return None
    level = "low" if check.low else "high" if check.high else "set"
    return Evidence(
        "air_float",
        level,
        "read {read}, the machine as set would show {expected}",
        {
            "read": Amount("air_float", check.reading_m3_s),
            "expected": Amount("air_float", check.expected_m3_s),
        },
        tuple(entry.id for entry in check.entries),
    )


def _backwash_count(seen: Picture) -> Evidence | None:
    """Hold the count against the air balance at the float that was read."""
    entry, expected = newest(seen.now, "backwash_count"), seen.air.per_day
    stalled = seen.air.stalls or expected.p05 is None or expected.p95 is None
    if entry is None or entry.interval is None or seen.now.age_s(entry) > COUNT_FRESH_S:
        return None
    upset = seen.now.upset_at
    if stalled or (upset and (entry.taken_at - upset).total_seconds() < DAY_S):
        return None
    assert expected.p05 is not None
    assert expected.p95 is not None
    level = "expected"
    if entry.interval.high < expected.p05:
        level = "none" if entry.interval.high == 0.0 else "few"
    elif entry.interval.low > expected.p95:
        level = "many"
    return Evidence(
        "backwash_count",
        level,
        "{count} counted in a day, the air balance gives {expected}",
        {"count": Amount("count", entry.interval.middle), "expected": expected},
        (entry.id, *seen.air_float.entries),
    )


def _dead_fish(seen: Picture) -> Evidence | None:
    dead = [e for e in seen.now.of("fish_dead") if e.interval and seen.now.age_s(e) <= FRESH_S]
    count = sum(entry.interval.middle for entry in dead if entry.interval)
    if not count:
        return None  # nobody wrote one down; that is not the same as none
    return Evidence(
        "dead_fish",
        "few" if count <= 2 else "many",
        "{count} written down in three days",
        {"count": Amount("count", count)},
        tuple(entry.id for entry in dead),
    )


def _beyond(
    seen: Picture, question: str, subject: str, levels: tuple[str, str, str]
) -> Evidence | None:
    """Hold a fresh reading against its limits: low, usual and high level."""
    quality = seen.of(subject)
    if quality.interval is None or not quality.fresh:
        return None
    beyond = quality.beyond
    side = None if beyond is None or beyond.limit.level == "good" else beyond.limit.side
    level = {"low": levels[0], None: levels[1], "high": levels[2]}[side]
    if level == "":
        return None
    interval = quality.interval
    amounts = {"read": Amount(subject, interval.middle)}
    return Evidence(question, level, "read {read}", amounts, quality.entries)


def _moved(seen: Picture, subject: str) -> Evidence | None:
    """Hold the newest reading against the month before it; a limit passed counts as moved."""
    fresh = newest(seen.now, subject)
    if fresh is None or fresh.interval is None or seen.now.age_s(fresh) > FRESH_S:
        return None
    before = [
        entry.interval.middle
        for entry in seen.now.of(subject)
        if entry.interval and FRESH_S < seen.now.age_s(entry) <= BEFORE_S
    ]
    passed = _beyond(seen, subject, subject, ("low", "steady", "high"))
    if passed and passed.level == "high" and subject != "nitrate":
        return passed
    if len(before) < 2:
        return passed if subject == "ph" and passed and passed.level == "low" else None
    share, least = _MOVED[subject]
    usual, now = median(before), fresh.interval.middle
    far = abs(now - usual) > max(least, share * usual)
    falls = "low" if subject in ("nitrate", "ph") else "steady"
    level = "steady" if not far else "high" if now > usual else falls
    return Evidence(
        subject,
        level,
        "read {read}, in the weeks before about {before}",
        {"read": Amount(subject, now), "before": Amount(subject, usual)},
        (fresh.id,),
    )


def _days_since_drain(seen: Picture) -> Evidence | None:
    last = seen.sludge.last_drain
    if last is None:
        return None
    since = (seen.now.at - last).total_seconds()
    return Evidence(
        "days_since_drain",
        "overdue" if since > 2.0 * seen.sludge.plan.interval_s else "in_time",
        "drained {since} ago, due every {every}",
        {"since": Amount("days", since), "every": seen.sludge.interval},
        seen.sludge.entries[-1:],
    )


def _feed_amount(seen: Picture) -> Evidence | None:
    fed = seen.now.feeding
    if fed.days_written < 3:
        return None
    most = CROWDED_KG_M3 * seen.now.site.filter.machine.bed.volume_m3
    return Evidence(
        "feed_amount",
        "too_much" if fed.middle_kg > most else "within",
        "fed {fed}, these beads carry {most}",
        {
            "fed": Amount("feed_rate", fed.middle_kg / DAY_S),
            "most": Amount("feed_rate", most / DAY_S),
        },
        fed.entries,
    )


def _lately(question: str, subjects: tuple[str, ...], days: float, level: str) -> _Finder:
    """Make a finder of something that was done within some days."""

    def find(seen: Picture) -> Evidence | None:
        last = seen.now.last(*subjects)
        if last is None or seen.now.age_s(last) > days * DAY_S:
            return None
        age = Amount("days", seen.now.age_s(last))
        return Evidence(question, level, "written down {since} ago", {"since": age}, (last.id,))

    return find


def _stopped(question: str, what: str, level: str) -> _Finder:
    """Make a finder of something that was written down as stopped."""

    def find(seen: Picture) -> Evidence | None:
        for stopped in seen.now.stopped:
            if stopped.what == what:
                words = "written down as off, and not as on again"
                return Evidence(question, level, words, entries=(stopped.entry.id,))
        return None

    return find


def _needle(seen: Picture) -> Evidence | None:
    left = seen.now.needle_left_open
    if left is None:
        return None
    words = "the needle was opened fully and never written down as set back"
    return Evidence("needle_mark", "more_open", words, entries=(left.id,))


def _bead_age(seen: Picture) -> Evidence | None:
    began = seen.now.site.started_at
    if began is None:
        return None
    age = (seen.now.at - began).total_seconds()
    level = "new" if age < RIPE_S else "ripe"
    return Evidence("bead_age", level, "started {age} ago", {"age": Amount("days", age)})


def _unit(seen: Picture) -> Evidence | None:
    unclear = [q for q in seen.quality if q.fresh and not q.basis_known and not q.computed]
    if not unclear:
        return None
    words = "a reading does not say whether it counts as N or as the ion"
    return Evidence("unit_written", "mixed", words, entries=unclear[0].entries)


def _oxygen(seen: Picture) -> Evidence | None:
    return _beyond(seen, "oxygen", "oxygen", ("low", "enough", "enough"))


def _alkalinity(seen: Picture) -> Evidence | None:
    return _beyond(seen, "alkalinity", "alkalinity", ("low", "enough", ""))


def _temperature(seen: Picture) -> Evidence | None:
    return _beyond(seen, "temperature", "water_temperature", ("cold", "usual", "warm"))


_Finder = Callable[[Picture], Evidence | None]
_FINDERS: tuple[_Finder, ...] = (
    _air_float,
    _backwash_count,
    _dead_fish,
    _oxygen,
    _alkalinity,
    _temperature,
    _days_since_drain,
    _feed_amount,
    _lately("new_fish", ("fish_added",), 21.0, "yes"),
    _lately("crop_taken", ("crop_cut",), 14.0, "yes"),
    _stopped("supply", "power", "off"),
    _stopped("air_pump", "air_pump", "silent"),
    _stopped("water_pump", "water_pump", "silent"),
    _needle,
    _bead_age,
    _unit,
)
