"""How often a piece of background work was begun, so that one that is cut off ends at last."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("workshop", "0003_quote_hide_filled")]

    operations = [
        migrations.AddField(
            model_name="backgroundjob",
            name="attempts",
            field=models.PositiveSmallIntegerField(default=0),
        ),
    ]
