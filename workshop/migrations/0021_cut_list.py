"""Cut lists and their lines."""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("workshop", "0020_plan_by_hand"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="CutList",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("instance", models.JSONField()),
                ("style", models.CharField(max_length=120, verbose_name="style")),
                ("pair_count", models.PositiveSmallIntegerField(verbose_name="pairs")),
                ("drawn_foot", models.CharField(max_length=5)),
                (
                    "made_at",
                    models.DateTimeField(default=django.utils.timezone.now, editable=False),
                ),
                (
                    "commission",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="cut_lists",
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
                "verbose_name": "cut list",
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="CutLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveIntegerField()),
                ("piece", models.CharField(max_length=120, verbose_name="piece")),
                ("mirrored", models.BooleanField(default=False)),
                ("foot_side", models.CharField(blank=True, max_length=5)),
                ("number", models.PositiveSmallIntegerField(default=1)),
                ("of", models.PositiveSmallIntegerField(default=1)),
                ("material", models.CharField(max_length=10)),
                ("placement", models.JSONField(blank=True, default=dict)),
                (
                    "area_mm2",
                    models.DecimalField(decimal_places=1, max_digits=12, verbose_name="area (mm²)"),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[("open", "to cut"), ("cut", "cut"), ("scrapped", "scrapped")],
                        default="open",
                        max_length=10,
                    ),
                ),
                (
                    "reason",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("slipped", "the knife slipped"),
                            ("wrong side", "cut for the wrong foot"),
                            ("flaw", "a flaw in the leather"),
                            ("stretched", "stretched or torn in work"),
                            ("lost", "lost"),
                            ("other", "another reason"),
                        ],
                        max_length=10,
                        verbose_name="reason",
                    ),
                ),
                (
                    "reason_note",
                    models.CharField(blank=True, max_length=200, verbose_name="in words"),
                ),
                ("done_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "done_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "hide",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="cut_lines",
                        to="workshop.hide",
                    ),
                ),
                (
                    "recut_of",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recut",
                        to="workshop.cutline",
                    ),
                ),
                (
                    "cut_list",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="workshop.cutlist",
                    ),
                ),
            ],
            options={
                "verbose_name": "piece to cut",
                "ordering": ["cut_list_id", "position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("cut_list", "position"), name="cut_line_numbered_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "scrapped"), _negated=True),
                            models.Q(("reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="scrapped_with_a_reason",
                        violation_error_message="Say why the piece is thrown away.",
                    ),
                ],
            },
        ),
    ]
