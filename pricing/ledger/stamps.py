"""When an entry was kept, and its id."""

import uuid
from datetime import UTC, datetime


def now() -> str:
    """Write the time in UTC, sortable as text."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def new_id() -> str:
    """Make the id of an entry; whoever may have to write it again keeps it."""
    return uuid.uuid4().hex
