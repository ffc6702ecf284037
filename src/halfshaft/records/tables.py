"""The tables of the database. Times are text, ISO 8601 in UTC to the microsecond, so that they sort and hash alike in every database."""

from __future__ import annotations

from sqlalchemy import BigInteger, Boolean, Column, ForeignKey, Index, Integer, LargeBinary, MetaData, String, Table, Text

metadata = MetaData()

_HASH = String(64)
_TIME = String(27)
_NAME = String(200)
# A running number: SQLite counts only in a column of exactly this type.
_NUMBER = BigInteger().with_variant(Integer, "sqlite")

# Files, and lists of files, by the SHA-256 of what they hold; packed by zlib.
blobs = Table("blobs", metadata, Column("hash", _HASH, primary_key=True), Column("data", LargeBinary, nullable=False))

conversions = Table("conversions", metadata, Column("ref", String(32), primary_key=True), Column("main", String(16), nullable=False))

revisions = Table(
    "revisions",
    metadata,
    Column("id", _HASH, primary_key=True),
    Column("conversion", ForeignKey("conversions.ref"), nullable=False),
    Column("tree", ForeignKey("blobs.hash"), nullable=False),
    Column("by", _NAME, nullable=False),
    Column("at", _TIME, nullable=False),
    Column("reason", Text, nullable=False),
)

parents = Table(
    "parents",
    metadata,
    Column("revision", ForeignKey("revisions.id"), primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("parent", ForeignKey("revisions.id"), nullable=False),
)

# `redo` holds the ids that can be had again, the next one first, with a space between them.
lines = Table(
    "lines",
    metadata,
    Column("id", String(16), primary_key=True),
    Column("conversion", ForeignKey("conversions.ref"), nullable=False, index=True),
    Column("kind", String(8), nullable=False),
    Column("name", _NAME, nullable=False),
    Column("state", String(8), nullable=False),
    Column("of", ForeignKey("lines.id")),
    Column("started_from", ForeignKey("revisions.id"), nullable=False),
    Column("head", ForeignKey("revisions.id"), nullable=False),
    Column("redo", Text, nullable=False),
    Column("by", _NAME, nullable=False),
    Column("at", _TIME, nullable=False),
)

moves = Table(
    "moves",
    metadata,
    Column("number", _NUMBER, primary_key=True, autoincrement=True),
    Column("line", ForeignKey("lines.id"), nullable=False, index=True),
    Column("act", String(8), nullable=False),
    Column("before", ForeignKey("revisions.id")),
    Column("after", ForeignKey("revisions.id"), nullable=False),
    Column("by", _NAME, nullable=False),
    Column("at", _TIME, nullable=False),
    Column("note", Text, nullable=False),
)

# `undo` and `redo` hold what was typed before, each a list of files like `tree`, the next one first.
drafts = Table(
    "drafts",
    metadata,
    Column("line", ForeignKey("lines.id"), primary_key=True),
    Column("by", _NAME, primary_key=True),
    Column("base", ForeignKey("revisions.id"), nullable=False),
    Column("tree", ForeignKey("blobs.hash"), nullable=False),
    Column("at", _TIME, nullable=False),
    Column("undo", Text, nullable=False, server_default=""),
    Column("redo", Text, nullable=False, server_default=""),
)

steps = Table(
    "steps",
    metadata,
    Column("number", _NUMBER, primary_key=True, autoincrement=True),
    Column("id", String(64), nullable=False, unique=True),
    Column("revision", ForeignKey("revisions.id"), nullable=False),
    Column("loom", _NAME, nullable=False),
    Column("work", String(8), nullable=False),
    Column("item", _NAME, nullable=False),
    Column("state", String(8), nullable=False),
    Column("by", _NAME, nullable=False),
    Column("at", _TIME, nullable=False),
    Column("note", Text, nullable=False),
    Index("ix_steps_revision_loom", "revision", "loom"),
)

# `about` is a list of refs as JSON. The latest row on a finding counts.
waivers = Table(
    "waivers",
    metadata,
    Column("number", _NUMBER, primary_key=True, autoincrement=True),
    Column("conversion", ForeignKey("conversions.ref"), nullable=False, index=True),
    Column("rule", _NAME, nullable=False),
    Column("about", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("revision", ForeignKey("revisions.id"), nullable=False),
    Column("stands", Boolean, nullable=False),
    Column("by", _NAME, nullable=False),
    Column("at", _TIME, nullable=False),
    Column("reason", Text, nullable=False),
)

accounts = Table(
    "accounts",
    metadata,
    Column("name", _NAME, primary_key=True),
    Column("password", Text, nullable=False),
    Column("role", String(8), nullable=False),
    Column("at", _TIME, nullable=False),
    Column("closed", Boolean, nullable=False),
)

# `token` is the SHA-256 of what is in the cookie: who reads the database cannot sign in by it.
sessions = Table(
    "sessions",
    metadata,
    Column("token", _HASH, primary_key=True),
    Column("csrf", String(64), nullable=False),
    Column("account", ForeignKey("accounts.name"), nullable=False),
    Column("expires", _TIME, nullable=False),
)

attempts = Table(
    "attempts",
    metadata,
    Column("number", _NUMBER, primary_key=True, autoincrement=True),
    Column("name", _NAME, nullable=False),
    Column("address", _NAME, nullable=False),
    Column("at", _TIME, nullable=False, index=True),
)
