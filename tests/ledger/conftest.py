"""A ledger on SQLite, and on PostgreSQL too when PRICING_POSTGRES_URL names a server."""

import uuid
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
import sqlalchemy as sa

from pricing.ledger.entries import Took
from pricing.ledger.store import Ledger, open_ledger
from tests.conftest import POSTGRES

SERVERS = ["sqlite", pytest.param("postgresql", marks=pytest.mark.database)]
DAY = date(2026, 11, 25)


@pytest.fixture(params=SERVERS)
def url(request: pytest.FixtureRequest) -> Iterator[str | None]:
    """Address of an empty database; None is the file in the shop's folder."""
    if request.param == "sqlite":
        yield None
        return
    schema = f"test_{uuid.uuid4().hex[:12]}"
    address = sa.make_url(POSTGRES).set(drivername="postgresql")  # as an owner writes it
    admin = sa.create_engine(address.set(drivername="postgresql+psycopg"))
    with admin.begin() as link:
        link.execute(sa.schema.CreateSchema(schema))
    own = address.update_query_dict({"options": f"-csearch_path={schema}"})
    yield own.render_as_string(hide_password=False)
    with admin.begin() as link:
        link.execute(sa.schema.DropSchema(schema, cascade=True))
    admin.dispose()


@pytest.fixture
def ledger(tmp_path: Path, url: str | None) -> Iterator[Ledger]:
    with open_ledger(tmp_path, url) as opened:
        yield opened


def took(minutes: float = 30.0, job: str = "gate", step: str = "blast", **fields: object) -> Took:
    return Took(job=job, on=DAY, step=step, minutes=minutes, **{"amounts": {"m2": 2.0}, **fields})
