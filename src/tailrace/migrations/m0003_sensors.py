"""Series of sensors with their samples and roll-ups."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from tailrace.migrations.forms import NUMBER, guard, on_sqlite

revision = "0003"
down_revision = "0002"

TABLES = ("series", "series_meanings", "samples", "rollups", "sensor_asides", "deliveries")


def upgrade() -> None:
    """Make the tables; samples may be ignored when they are there, never changed."""
    _make_series()
    _make_samples()
    _make_messages()
    for table in ("series", "series_meanings", "sensor_asides"):
        guard(table, keys=("number", "uid"))
    _guard_samples()


def downgrade() -> None:
    """Remove the tables with all that sensors sent."""
    for table in reversed(TABLES):
        op.drop_table(table)


def _guard_samples() -> None:
    """Refuse change and removal; a sample that is there already may be sent again."""
    if not on_sqlite():
        guard("samples")
        return
    for act in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER samples_no_{act} BEFORE {act.upper()} ON samples "
            "BEGIN SELECT RAISE(ABORT, 'the record is append-only'); END"
        )


def _number() -> sa.Column[int]:
    return sa.Column("number", NUMBER, primary_key=True)


def _uid() -> sa.Column[str]:
    return sa.Column("uid", sa.String(32), nullable=False, unique=True)


def _series(*, primary_key: bool) -> sa.Column[int]:
    return sa.Column(
        "series",
        NUMBER,
        sa.ForeignKey("series.number"),
        primary_key=primary_key,
        autoincrement=False,
        nullable=False,
    )


def _whole(name: str) -> sa.Column[int]:
    return sa.Column(name, NUMBER, primary_key=True, autoincrement=False)


def _make_series() -> None:
    op.create_table(
        "series",
        _number(),
        _uid(),
        sa.Column("site", sa.String, sa.ForeignKey("sites.name"), nullable=False),
        sa.Column("name", sa.String, nullable=False),
        sa.Column("unit", sa.String, nullable=False),
        sa.Column("received_at", sa.String(27), nullable=False),
        sa.UniqueConstraint("site", "name", "unit", name="series_site_name_unit_uq"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "series_meanings",
        _number(),
        _uid(),
        _series(primary_key=False),
        *(
            sa.Column(name, sa.String, nullable=False)
            for name in ("subject", "place", "instrument", "who")
        ),
        sa.Column("received_at", sa.String(27), nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("series_meanings_series_ix", "series_meanings", ["series"])


def _make_samples() -> None:
    op.create_table(
        "samples",
        _series(primary_key=True),
        _whole("at"),
        sa.Column("value", sa.Double, nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "rollups",
        _series(primary_key=True),
        sa.Column("width", sa.Integer, primary_key=True, autoincrement=False),
        _whole("at"),
        sa.Column("n", NUMBER, nullable=False),
        *(sa.Column(name, sa.Double, nullable=False) for name in ("low", "high", "total", "last")),
        sa.Column("last_at", NUMBER, nullable=False),
        sa.CheckConstraint("width IN (60, 3600, 86400)", name="width"),
        sa.CheckConstraint("n > 0", name="some"),
        sqlite_with_rowid=False,
    )


def _make_messages() -> None:
    op.create_table(
        "sensor_asides",
        _number(),
        _uid(),
        sa.Column("site", sa.String, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("received_at", sa.String(27), nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("sensor_asides_site_ix", "sensor_asides", ["site", "number"])
    op.create_table(
        "deliveries",
        sa.Column("key", sa.String(64), primary_key=True),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("at", NUMBER, nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_index("deliveries_at_ix", "deliveries", ["at"])
