"""The steps in their order, and how they are run on one connection.

A step is a module ``m0002_what.py`` with ``revision``, ``down_revision``, ``upgrade()`` and
``downgrade()`` in Alembic's form. Steps spell out their own tables: what the program holds
today may change, a step may not. The record says its version itself (`record_schema`), so that
an older program can refuse it; step ``0001`` is version 3.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from types import ModuleType

import sqlalchemy as sa
from alembic.migration import MigrationContext
from alembic.operations import Operations

import tailrace.migrations as package

BEFORE_STEPS = 2  # versions 1 and 2 were made before there were steps
NAMES = {
    "ix": "%(table_name)s_%(column_0_N_name)s_ix",
    "uq": "%(table_name)s_%(column_0_N_name)s_uq",
    "ck": "%(table_name)s_%(constraint_name)s_ck",
    "fk": "%(table_name)s_%(column_0_N_name)s_fk",
    "pk": "%(table_name)s_pk",
}


@cache
def steps() -> tuple[ModuleType, ...]:
    """Return every step, the first one first.

    Returns
    -------
    tuple
        Modules; each follows the one before it.

    Raises
    ------
    RuntimeError
        A step does not name the one before it.
    """
    names = sorted(m.name for m in pkgutil.iter_modules(package.__path__) if _is_step(m.name))
    found = tuple(importlib.import_module(f"{package.__name__}.{name}") for name in names)
    for number, step in enumerate(found):
        before = found[number - 1].revision if number else None
        if step.down_revision != before or step.revision != f"{number + 1:04d}":
            raise RuntimeError(f"{step.__name__} does not follow step {before}")
    return found


def _is_step(name: str) -> bool:
    return name[:1] == "m" and name[1:5].isdigit() and name[5:6] == "_"


def newest() -> int:
    """Return the version of the record that the last step leads to.

    Returns
    -------
    int
        Version.
    """
    return BEFORE_STEPS + len(steps())


def version(connection: sa.Connection) -> int:
    """Return the version that a record says it has.

    Parameters
    ----------
    connection
        Connection to a record.

    Returns
    -------
    int
        Version; 0 when it says none.
    """
    found = connection.execute(sa.text("SELECT version FROM record_schema")).scalar()
    return int(found) if found is not None else 0


def climb(connection: sa.Connection, *, start: int, end: int | None = None) -> None:
    """Run the steps up.

    Parameters
    ----------
    connection
        Connection within a transaction.
    start
        Version that the record has; 0 when nothing is there yet.
    end
        Version to reach; None for the newest.
    """
    end = newest() if end is None else end
    with _operating(connection):
        if 0 < start <= BEFORE_STEPS:
            steps()[0].adopt()
            start = BEFORE_STEPS + 1
        for step in steps()[max(0, start - BEFORE_STEPS) : end - BEFORE_STEPS]:
            step.upgrade()
        _stamp(connection, end)


def descend(connection: sa.Connection, *, start: int, end: int) -> None:
    """Run the steps down.

    Parameters
    ----------
    connection
        Connection within a transaction.
    start
        Version that the record has.
    end
        Version to reach; `BEFORE_STEPS` removes every table.
    """
    with _operating(connection):
        for step in reversed(steps()[end - BEFORE_STEPS : start - BEFORE_STEPS]):
            step.downgrade()
        if end > BEFORE_STEPS:
            _stamp(connection, end)


def _stamp(connection: sa.Connection, reached: int) -> None:
    connection.execute(sa.text("UPDATE record_schema SET version = :v"), {"v": reached})


@contextmanager
def _operating(connection: sa.Connection) -> Iterator[None]:
    opts = {"target_metadata": sa.MetaData(naming_convention=NAMES), "render_as_batch": True}
    context = MigrationContext.configure(connection, opts=opts)
    with Operations.context(context):
        yield
