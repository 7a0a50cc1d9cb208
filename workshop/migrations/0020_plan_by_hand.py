"""Layouts made by hand."""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("workshop", "0009_defect_kinds"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="HandLayout",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=64)),
                ("placements", models.JSONField(blank=True, default=list)),
                ("fixed", models.JSONField(blank=True, default=list)),
                (
                    "made_at",
                    models.DateTimeField(default=django.utils.timezone.now, editable=False),
                ),
                (
                    "commission",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hand_layouts",
                        to="workshop.commission",
                        verbose_name="job",
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "layout by hand",
                "ordering": ["-id"],
                "indexes": [
                    models.Index(fields=["commission", "key", "-id"], name="hand_layout_newest")
                ],
            },
        ),
    ]
