"""Times as the database keeps them: text in UTC, always as long, so that it sorts."""

from __future__ import annotations

from datetime import UTC, datetime

from halfshaft.records.values import RecordError

_FORM = "%Y-%m-%dT%H:%M:%S.%fZ"


def as_text(at: datetime) -> str:
    """A time as it is kept.

    >>> as_text(datetime(2026, 11, 28, 9, 30, tzinfo=UTC))
    '2026-11-28T09:30:00.000000Z'
    """
    if at.tzinfo is None:
        raise RecordError("a time wants its time zone")
    return at.astimezone(UTC).strftime(_FORM)


def as_time(text: str) -> datetime:
    """The time that a text stands for."""
    return datetime.strptime(text, _FORM).replace(tzinfo=UTC)
