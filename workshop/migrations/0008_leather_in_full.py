"""Everything a hide is known by, and what is left after one was cut."""

from decimal import Decimal

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("workshop", "0007_corrections"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Cutting",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("instance", models.JSONField()),
                ("layout", models.JSONField()),
                (
                    "pieces_area_mm2",
                    models.DecimalField(
                        decimal_places=1, max_digits=12, verbose_name="pieces (mm²)"
                    ),
                ),
                (
                    "least_width_mm",
                    models.DecimalField(
                        decimal_places=1, max_digits=6, verbose_name="smallest useful width (mm)"
                    ),
                ),
                (
                    "least_area_mm2",
                    models.DecimalField(
                        decimal_places=1, max_digits=12, verbose_name="smallest useful area (mm²)"
                    ),
                ),
                (
                    "used_cost",
                    models.DecimalField(
                        blank=True,
                        decimal_places=4,
                        max_digits=12,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(Decimal("0"))],
                        verbose_name="cost of what was used",
                    ),
                ),
                (
                    "made_at",
                    models.DateTimeField(default=django.utils.timezone.now, editable=False),
                ),
                ("settled_at", models.DateTimeField(blank=True, editable=False, null=True)),
            ],
            options={
                "verbose_name": "cutting",
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="LeftPiece",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("position", models.PositiveSmallIntegerField()),
                ("outline", models.JSONField()),
                ("defects", models.JSONField(blank=True, default=list)),
                ("areas", models.JSONField(blank=True, default=list)),
                (
                    "area_mm2",
                    models.DecimalField(
                        decimal_places=1, max_digits=12, verbose_name="usable area (mm²)"
                    ),
                ),
                (
                    "fate",
                    models.CharField(
                        choices=[
                            ("proposed", "not decided"),
                            ("kept", "kept"),
                            ("binned", "binned"),
                        ],
                        default="proposed",
                        max_length=10,
                    ),
                ),
            ],
            options={
                "ordering": ["cutting_id", "position"],
            },
        ),
        migrations.AddField(
            model_name="hide",
            name="photograph",
            field=models.JSONField(blank=True, default=dict, verbose_name="photograph"),
        ),
        migrations.AddField(
            model_name="hide",
            name="reserved_for",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="hides_reserved",
                to="workshop.commission",
                verbose_name="reserved for",
            ),
        ),
        migrations.AddField(
            model_name="hide",
            name="thickness_places",
            field=models.JSONField(blank=True, default=list, verbose_name="thickness by place"),
        ),
        migrations.AddField(
            model_name="leatherlot",
            name="finish",
            field=models.CharField(
                blank=True,
                choices=[
                    ("aniline", "aniline, unpainted"),
                    ("semi-aniline", "semi-aniline"),
                    ("pigmented", "pigmented"),
                    ("patent", "patent"),
                    ("suede", "suede, flesh side out"),
                    ("nubuck", "nubuck, buffed grain"),
                    ("waxed", "waxed or oiled"),
                    ("metallic", "metallic"),
                ],
                max_length=12,
                verbose_name="finish",
            ),
        ),
        migrations.AddField(
            model_name="leatherlot",
            name="smallest_sold_dm2",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                help_text="What has to be bought at least; empty for any amount.",
                max_digits=8,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(Decimal("0.01")),
                    django.core.validators.MaxValueValidator(Decimal("2000")),
                ],
                verbose_name="smallest amount sold (dm²)",
            ),
        ),
        migrations.AddField(
            model_name="leatherlot",
            name="tannage",
            field=models.CharField(
                blank=True,
                choices=[
                    ("vegetable", "vegetable"),
                    ("chrome", "chrome"),
                    ("chrome free", "chrome free, synthetic"),
                    ("combination", "combination"),
                    ("alum", "alum, tawed"),
                    ("oil", "oil"),
                ],
                max_length=12,
                verbose_name="tannage",
            ),
        ),
        migrations.AddField(
            model_name="leatherlot",
            name="whole_hide_dm2",
            field=models.DecimalField(
                blank=True,
                decimal_places=2,
                help_text="As the seller gives it; needed to quote an offer that is priced per hide.",
                max_digits=8,
                null=True,
                validators=[
                    django.core.validators.MinValueValidator(Decimal("0.01")),
                    django.core.validators.MaxValueValidator(Decimal("2000")),
                ],
                verbose_name="size of a whole hide (dm²)",
            ),
        ),
        migrations.AlterField(
            model_name="leatherlot",
            name="bought_on",
            field=models.DateField(
                blank=True,
                default=django.utils.timezone.localdate,
                help_text="Left empty, it is an offer: it can be quoted, but none is on the shelf.",
                null=True,
                verbose_name="bought on",
            ),
        ),
        migrations.AddConstraint(
            model_name="hide",
            constraint=models.CheckConstraint(
                condition=models.Q(("reserved_for", None), ("state", "reserved"), _connector="OR"),
                name="hide_reserved_for_a_job_says_so",
            ),
        ),
        migrations.AddField(
            model_name="cutting",
            name="commission",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cuttings",
                to="workshop.commission",
                verbose_name="job",
            ),
        ),
        migrations.AddField(
            model_name="cutting",
            name="hide",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="cuttings",
                to="workshop.hide",
                verbose_name="hide",
            ),
        ),
        migrations.AddField(
            model_name="cutting",
            name="made_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="leftpiece",
            name="cutting",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="left_pieces",
                to="workshop.cutting",
            ),
        ),
        migrations.AddField(
            model_name="leftpiece",
            name="hide",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="left_from",
                to="workshop.hide",
            ),
        ),
        migrations.AddConstraint(
            model_name="leftpiece",
            constraint=models.UniqueConstraint(
                fields=("cutting", "position"), name="left_piece_numbered_once"
            ),
        ),
    ]
