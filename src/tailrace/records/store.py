"""The record of one installation: nothing in it is ever lost.

Rows are only added (`tailrace.records.tables`). Every method is one transaction. Each matter has
its own module; `Store` is all of them together.
"""

from __future__ import annotations

from pathlib import Path

from tailrace.errors import RecordError
from tailrace.records.answers_kept import AnswersPart
from tailrace.records.engine import make_engine, record_fault
from tailrace.records.entries_kept import EntriesPart
from tailrace.records.forecasts_kept import ForecastsPart
from tailrace.records.history import HistoryPart
from tailrace.records.home import find_place
from tailrace.records.imports_kept import ImportsPart
from tailrace.records.merging import MergingPart
from tailrace.records.photos import PhotosPart
from tailrace.records.redaction import RedactionPart
from tailrace.records.sites_kept import SitesPart
from tailrace.records.things import ThingsPart
from tailrace.records.upgrade import prepare


class Store(
    SitesPart,
    EntriesPart,
    ImportsPart,
    AnswersPart,
    ThingsPart,
    PhotosPart,
    ForecastsPart,
    HistoryPart,
    RedactionPart,
    MergingPart,
):
    """The record; open it with `Store.open`."""

    @classmethod
    def open(cls, address: Path | str, *, create: bool = True) -> Store:
        """Open a record, or begin one.

        Parameters
        ----------
        address
            Its folder, or the address of a database of PostgreSQL.
        create
            Whether to begin a record where there is none.

        Returns
        -------
        Store
            The record, of the newest form; an older one was copied and upgraded.

        Raises
        ------
        InputError
            The address is neither.
        RecordError
            It cannot be written, there is no record, or it is of another kind, locked,
            damaged or of a newer version.
        """
        place = find_place(address)
        if not create and place.file is not None and not place.file.exists():
            message = f"there is no record in {place}; load a site first, or name another folder."
            raise RecordError(message)
        try:
            place.home.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise record_fault(place.home, error) from error
        prepare(place, create=create)
        return cls(place.home, make_engine(place))
