"""Database guards of records that are only ever added to."""

import pgtrigger


def never_emptied() -> pgtrigger.Trigger:
    """Refuses TRUNCATE of the table."""
    return pgtrigger.Trigger(
        name="never_emptied",
        level=pgtrigger.Statement,
        when=pgtrigger.Before,
        operation=pgtrigger.Truncate,
        func="RAISE EXCEPTION 'pgtrigger: Cannot truncate rows from % table', TG_TABLE_NAME;",
    )


def append_only() -> list[pgtrigger.Trigger]:
    """Triggers that refuse update, delete and truncate, whoever asks."""
    return [
        pgtrigger.Protect(name="never_changed", operation=pgtrigger.Update | pgtrigger.Delete),
        never_emptied(),
    ]
