"""A quote knows the hide it was reckoned on, so that a hide's page can name its quotes."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("workshop", "0001_first_records")]

    operations = [
        migrations.AddField(
            model_name="quote",
            name="hide",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="quotes",
                to="workshop.hide",
            ),
        ),
    ]
