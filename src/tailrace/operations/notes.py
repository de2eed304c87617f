"""Notes with photos, the history of any row, and what came of advice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, datetime

from tailrace import __version__
from tailrace.advice.acts import Attention
from tailrace.errors import InputError, NotKnownError
from tailrace.estimation.today import Picture
from tailrace.observations import Entry
from tailrace.operations.logs import find_entry
from tailrace.records.kept import KeptAdvice, Outcome, Step
from tailrace.records.store import Store

MOST_PHOTOS = 10


@dataclass(frozen=True, slots=True)
class Note:
    """A note as a person writes it.

    Parameters
    ----------
    text
        Free words; may be empty with photos.
    taken_at
        When it was seen, aware.
    photos
        Bytes of photos as they came.
    who, sent_by
        Who wrote it, and who sent it where that is somebody else.
    place
        Where.
    """

    text: str
    taken_at: datetime
    photos: Sequence[bytes] = field(default=())
    who: str = ""
    sent_by: str = ""
    place: str = ""


def add_note(store: Store, name: str, note: Note, *, now: datetime, key: str = "") -> str:
    """Store a note with its photos, freed of position and device data.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    note
        The note.
    now
        When the record receives it.
    key
        Name of this act by the sender; sent again it is stored once.

    Returns
    -------
    str
        Name of the entry.

    Raises
    ------
    NotKnownError
        There is no such site.
    InputError
        There is neither text nor photo, too many photos, or one that cannot be taken.
    RecordError
        It cannot be written, or the key came before with another note.
    """
    if not note.text.strip() and not note.photos:
        raise InputError("the note is empty; write a few words, or add a photo.")
    if len(note.photos) > MOST_PHOTOS:
        message = f"the note has {len(note.photos)} photos; {MOST_PHOTOS} go with one note."
        raise InputError(message)
    hashes = tuple(
        store.add_photo(name, data, received_at=now, who=note.sent_by or note.who)
        for data in note.photos
    )
    entry = Entry(
        id="",
        subject="note",
        text="",
        unit="",
        meanings=(),
        taken_at=note.taken_at,
        place=note.place,
        who=note.who,
        sent_by=note.sent_by,
        note=note.text.strip(),
        photos=hashes,
    )
    return store.add_entries(name, (entry,), received_at=now, key=key)[0]


def history(store: Store, row: str) -> tuple[Step, ...]:
    """Return when a row was written, corrected, undone and redacted, by whom and why.

    Parameters
    ----------
    store
        The record.
    row
        Short name of any row, such as ``e17``.

    Returns
    -------
    tuple
        Steps, oldest first.

    Raises
    ------
    NotKnownError
        There is no such row.
    """
    return store.steps_of(row)


def keep_told(
    store: Store, seen: Picture, attention: Sequence[Attention], said: Sequence[str]
) -> None:
    """Keep what a round told to do, with the entries and the version it rests on.

    Parameters
    ----------
    store
        The record.
    seen
        What the round rests on.
    attention
        What needs attention.
    said
        The act of each in words.

    Raises
    ------
    RecordError
        The record cannot be written.
    """
    uids = {entry.id: entry.uid for entry in seen.now.entries}
    for line, text in zip(attention, said, strict=True):
        amounts = {**line.finding.amounts, **line.amounts}
        told = KeptAdvice(
            id="",
            at=seen.now.at,
            kind=line.act,
            text=text,
            entries=tuple(uids[name] for name in line.finding.entries if name in uids),
            body={
                "finding": line.finding.key,
                "weight": line.finding.weight.name.lower(),
                "by": line.by.isoformat(),
                "amounts": {name: asdict(amount) for name, amount in sorted(amounts.items())},
            },
            version=__version__,
        )
        store.keep_advice(seen.now.site.name, told, received_at=datetime.now(UTC))


def advice_given(store: Store, name: str) -> tuple[KeptAdvice, ...]:
    """Return the advice given to a site and what came of it, oldest first.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.

    Returns
    -------
    tuple
        Advice.

    Raises
    ------
    NotKnownError
        There is no such site.
    """
    return store.advice(name)


def what_came(store: Store, name: str, advice_id: str, came: Outcome) -> None:
    """Write down what came of an advice.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    advice_id
        Name of the advice, such as ``a5``.
    came
        What came of it; its entry is the local id of the one that shows it, or empty.

    Raises
    ------
    NotKnownError
        The site has no such advice or live entry.
    InputError
        It is said in another word than ``done``, ``partly`` or ``not done``.
    """
    if advice_id not in {advice.id for advice in store.advice(name)}:
        message = (
            f"{name} was given no advice {advice_id}; 'tailrace advise given {name}' lists it."
        )
        raise NotKnownError(message)
    uid = find_entry(store, name, came.entry).uid if came.entry else ""
    store.add_outcome(advice_id, replace(came, entry=uid))
