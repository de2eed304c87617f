"""Accounts, their sites, their keys, and attempts to sign in; these change in place."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from tailrace.migrations.forms import NUMBER

revision = "0004"
down_revision = "0003"

_MOMENT = sa.String(27)


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "accounts",
        sa.Column("number", NUMBER, primary_key=True),
        sa.Column("login", sa.String(60), nullable=False, unique=True),
        sa.Column("person", sa.String(60), nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("password", sa.String(200), nullable=False),
        sa.Column("created_at", _MOMENT, nullable=False),
        sa.Column("closed_at", _MOMENT),
    )
    op.create_table(
        "account_sites",
        sa.Column("account", NUMBER, sa.ForeignKey("accounts.number"), primary_key=True),
        sa.Column("site", sa.String, primary_key=True),
    )
    op.create_table(
        "keys",
        sa.Column("number", NUMBER, primary_key=True),
        sa.Column("sha256", sa.String(64), nullable=False, unique=True),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("account", NUMBER, sa.ForeignKey("accounts.number")),
        sa.Column("label", sa.String(100), nullable=False),
        sa.Column("created_at", _MOMENT, nullable=False),
        sa.Column("expires_at", _MOMENT),
        sa.Column("ended_at", _MOMENT),
    )
    op.create_table(
        "attempts",
        sa.Column("number", NUMBER, primary_key=True),
        sa.Column("login", sa.String(60), nullable=False),
        sa.Column("address", sa.String(60), nullable=False),
        sa.Column("at", _MOMENT, nullable=False),
        sa.Column("passed", sa.Boolean, nullable=False),
    )
    op.create_index("attempts_by_time", "attempts", ["at"])


def downgrade() -> None:
    """Remove them."""
    for table in ("attempts", "keys", "account_sites", "accounts"):
        op.drop_table(table)
