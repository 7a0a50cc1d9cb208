import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("workshop", "0100_printers"),
    ]

    operations = [
        # A cache of averages alone; one of whole shelves takes its place.
        migrations.DeleteModel(name="AverageMark"),
        migrations.CreateModel(
            name="ShelfMark",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("way", models.CharField(max_length=10)),
                ("move_id", models.PositiveBigIntegerField()),
                ("shelf", models.JSONField()),
                (
                    "supply",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="shelf_marks",
                        to="workshop.supply",
                    ),
                ),
            ],
            options={
                "ordering": ["-move_id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("supply", "way", "move_id"), name="shelf_marked_once"
                    )
                ],
            },
        ),
        migrations.AddIndex(
            model_name="stockmove",
            index=models.Index(
                condition=models.Q(("commission__isnull", False)),
                fields=["on_hand_change"],
                name="stock_move_given_back",
            ),
        ),
        migrations.AddIndex(
            model_name="stockmove",
            index=models.Index(fields=["made_at"], name="stock_move_made_at"),
        ),
    ]
