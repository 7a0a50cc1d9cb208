from django.db import migrations, models

DRAWN = ("pieces", "worn", "instance", "layout")


def part(apps, schema_editor):
    """What is drawn of each quote leaves its figures for a field of its own."""
    quotes = apps.get_model("workshop", "Quote").objects
    for key in list(quotes.values_list("pk", flat=True)):
        figures = quotes.values_list("snapshot", flat=True).get(pk=key)
        drawings = {name: figures.pop(name) for name in DRAWN if name in figures}
        request = drawings.get("instance")
        figures.setdefault("spacing_mm", request["spacing_mm"] if request else None)
        quotes.filter(pk=key).update(snapshot=figures, drawings=drawings)


def join(apps, schema_editor):
    """Put it back among the figures."""
    quotes = apps.get_model("workshop", "Quote").objects
    for key in list(quotes.values_list("pk", flat=True)):
        figures, drawings = quotes.values_list("snapshot", "drawings").get(pk=key)
        figures.pop("spacing_mm", None)
        quotes.filter(pk=key).update(snapshot={**figures, **drawings})


class Migration(migrations.Migration):
    dependencies = [
        ("workshop", "0083_frozen_deposit_filled"),
    ]

    operations = [
        migrations.AddField(
            model_name="quote", name="drawings", field=models.JSONField(default=dict)
        ),
        migrations.RunPython(part, join),
    ]
