"""Exclusion constraints over an id and a period need btree_gist."""

from django.contrib.postgres.operations import BtreeGistExtension
from django.db import migrations


class Migration(migrations.Migration):
    """PostgreSQL extensions, before the first table."""

    initial = True
    dependencies = []
    operations = [BtreeGistExtension()]
