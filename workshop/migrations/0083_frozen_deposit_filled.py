from django.db import migrations

AGREED = ("accepted", "in work", "finished", "sent")


def freeze(apps, schema_editor):
    """Jobs accepted before go on owing the deposit that the settings ask today."""
    profile = apps.get_model("workshop", "WorkshopProfile").objects.first()
    if profile is not None and profile.deposit_pct is not None:
        jobs = apps.get_model("workshop", "Commission").objects.filter(state__in=AGREED)
        jobs.update(deposit_pct=profile.deposit_pct)


class Migration(migrations.Migration):
    dependencies = [
        ("workshop", "0082_frozen_deposit_reason_lining"),
    ]

    operations = [migrations.RunPython(freeze, migrations.RunPython.noop)]
