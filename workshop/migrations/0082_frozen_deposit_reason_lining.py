from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("workshop", "0081_knocks"),
    ]

    operations = [
        migrations.AddField(
            model_name="article",
            name="is_lined",
            field=models.BooleanField(default=True, verbose_name="lined where the colour may rub"),
        ),
        migrations.AddField(
            model_name="commission",
            name="deposit_pct",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                editable=False,
                max_digits=5,
                null=True,
                verbose_name="deposit asked (% of the price)",
            ),
        ),
        migrations.AddField(
            model_name="commission",
            name="end_reason",
            field=models.CharField(
                blank=True, max_length=300, verbose_name="why it was declined or withdrawn"
            ),
        ),
        migrations.AddField(
            model_name="stockline",
            name="is_lined",
            field=models.BooleanField(default=True, verbose_name="lined where the colour may rub"),
        ),
    ]
