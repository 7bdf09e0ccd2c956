from django.db import migrations

from assessments.append_only import guard, unguard


def put_on(apps, schema_editor):
    guard(schema_editor)


def take_off(apps, schema_editor):
    unguard(schema_editor)


class Migration(migrations.Migration):
    # SQLite makes a table anew when one of its columns changes and loses the guard: such a change calls guard() again.
    dependencies = [("assessments", "0004_left_at_and_present_at")]
    operations = [migrations.RunPython(put_on, take_off)]
