"""The tables as the newest migration leaves them."""

from sqlalchemy import Boolean, Column, Double, Integer, MetaData, Table, Text

_all = MetaData()

visits = Table(
    "diagnose_visits",
    _all,
    Column("id", Text, primary_key=True),
    Column("began", Text),
    Column("ended", Text),
    Column("changed", Text),
    Column("entries", Integer),  # the number of the last event: which of two versions is newer
    Column("site", Text),
    Column("role", Text),
    Column("complaint", Text),
    Column("words", Text),
    Column("knowledge", Text),
    Column("state", Text),
    Column("site_key", Text),  # the site folded, to compare
    Column("search", Text),  # all free text folded, to search
    Column("took", Double),
    Column("expected", Double),
    Column("lineage", Text),  # whether another file tells of the same visit
)

devices = Table("diagnose_devices", _all, Column("visit", Text), Column("n", Integer), Column("device", Text))

answers = Table(
    "diagnose_answers",
    _all,
    Column("visit", Text),
    Column("n", Integer),
    Column("check_id", Text),
    Column("word", Text),  # either a word
    Column("number", Double),  # or a number in the check's unit
    Column("sure", Boolean),
    Column("given_by", Text),
    Column("note", Text),
)

outcomes = Table(
    "diagnose_outcomes",
    _all,
    Column("visit", Text),
    Column("remedy", Text),
    Column("proof_passed", Boolean),
    Column("in_service", Boolean),
    Column("note", Text),
    Column("how", Text),
)

repairs = Table(
    "diagnose_repairs",
    _all,
    Column("visit", Text),
    Column("n", Integer),
    Column("cause", Text),
    Column("proof", Text),
    Column("note", Text),
)

causes = Table("diagnose_causes", _all, Column("visit", Text), Column("n", Integer), Column("cause", Text))

parts = (devices, answers, outcomes, causes, repairs)  # what hangs on a visit
files = Table(  # visit files that were taken in, as they were then
    "diagnose_files",
    _all,
    Column("path", Text, primary_key=True),
    Column("state", Text),
    Column("knowledge", Text),
    Column("visit", Text),
    Column("says", Text),  # what was wrong or missing
)
migrations = Table("diagnose_migrations", _all, Column("number", Integer, primary_key=True))
