"""Defects recorded before get a kind: each was an outline alone."""

from django.db import migrations


def name_kinds(apps, schema_editor):
    """Turn each bare outline into one with its kind, which nobody has said."""
    hides = apps.get_model("workshop", "Hide")
    for hide in hides.objects.exclude(defects=[]).only("pk", "defects").iterator(chunk_size=200):
        defects = [
            row if isinstance(row, dict) else {"kind": "other", "outer": row}
            for row in hide.defects
        ]
        hides.objects.filter(pk=hide.pk).update(defects=defects)


def drop_kinds(apps, schema_editor):
    """Turn them back into bare outlines."""
    hides = apps.get_model("workshop", "Hide")
    for hide in hides.objects.exclude(defects=[]).only("pk", "defects").iterator(chunk_size=200):
        defects = [row["outer"] if isinstance(row, dict) else row for row in hide.defects]
        hides.objects.filter(pk=hide.pk).update(defects=defects)


class Migration(migrations.Migration):
    dependencies = [("workshop", "0008_leather_in_full")]

    operations = [migrations.RunPython(name_kinds, drop_kinds)]
